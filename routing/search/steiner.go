package search

import (
	"context"
	"math"
	"slices"
)

// question asks the exact search to join starts to ends for less than most.
type question struct {
	starts []start
	goals  []target // price of an outlet included in its last pipe
	slots  int      // outlets that may be used; joins need none
	togo   *toGo
	most   float64 // dearer answers are not wanted
	labels int     // labels made at most
	coarse float64 // share of an invert's height above what is needed that is not told apart
}

// start is one thing to be joined: a source with its first pipes, or a node
// something already comes to.
type start struct {
	stems    []stem
	straight []straight
	dist     []float64 // by node: plan price at least, whichever way it flows
}

// straight is a source's pipe to an outlet and nothing else.
type straight struct {
	outlet, link int
	priced       float64
}

// stem is a label of the exact search: the starts of a subset joined and brought
// to a node, for a cost, at an invert. 0 is no stem.
type stem struct {
	cost, invert float64
	node         int32
	a, b         int32 // stems it is made of: two joined, or one and an arc, or none
	start, first int   // where made of none: the start and its first pipe
	below        int32 // next cheaper stem of this subset here
}

// top is the cheapest tree of a subset to an outlet, or to a tree it joins.
type top struct {
	cost         float64
	stem, target int32 // stem 0: a straight pipe
	start, first int   // of a straight pipe
}

// steiner finds the cheapest trees that join every subset of a few starts.
//
// A subset's stems at a node are stems of two parts of it joined there, where the
// lower invert rules, or stems of it at a neighbour and the arc between. A
// higher invert can do all that a lower one can, so of a subset's stems at a node
// only those neither dearer nor lower than another need be kept: what is found
// is exact on the lattice. Ways are dropped too where the invert reaches no
// end, and where cost and the least that can remain come to most.
type steiner struct {
	*Search
	question
	list    []stem
	head    [][]int32 // by subset and node: the highest stem settled
	reached [][]int32 // nodes with stems, by subset
	tops    [][]top   // by subset and outlet+1; 0: joined to a tree
	at      map[int32][]int32
	home    []float64  // least price of each start to an end
	span    []float64  // by subset: least tree over its starts and the ends
	made    []madeStem // last made at each node
	q       queue
	full    int
	// many tells that the answer may be more than one tree: then two starts may
	// be joined by nothing but the ends.
	many bool
}

type madeStem struct {
	subset       int
	cost, invert float64
}

// sameInvert is what a way must lie higher to be called higher, m: rounding of
// sums taken in different order.
const sameInvert = 1e-10

// coarseInvert is the least that is told apart where not all is, m: the slack
// pipes are laid to is no finer.
const coarseInvert = 1e-3

// answer answers a question: done is false where its labels ran out.
func (g *Search) answer(ctx context.Context, q question) (f *steiner, done bool, err error) {
	t := &steiner{Search: g, question: q, full: 1<<len(q.starts) - 1}
	t.list = make([]stem, 1, 1024)
	t.head, t.reached, t.tops = make([][]int32, t.full+1), make([][]int32, t.full+1), make([][]top, t.full+1)
	t.made = make([]madeStem, len(g.Usable))
	t.at = map[int32][]int32{}
	for k := range q.goals {
		t.at[int32(q.goals[k].node)] = append(t.at[int32(q.goals[k].node)], int32(k))
	}
	t.many = q.slots > 1 || slices.ContainsFunc(q.goals, func(x target) bool { return x.outlet < 0 })
	t.measure()
	if n := float64(len(q.starts) + 1); t.span[t.full]*n/(2*(n-1)) >= q.most-cheaper {
		return t, true, nil // a round about any tree is twice its length, less its longest part
	}
	for x := 1; x <= t.full; x++ {
		t.head[x] = make([]int32, len(g.Usable))
		t.tops[x] = make([]top, len(g.Outlets)+1)
		for o := range t.tops[x] {
			t.tops[x][o].cost = math.Inf(1)
		}
		t.seed(x)
		if ok, err := t.settleAll(ctx, x); !ok || err != nil {
			return nil, false, err
		}
	}
	return t, true, nil
}

// seed makes the first stems of a subset: a start's own, or two parts joined.
func (t *steiner) seed(x int) {
	low := x & -x
	if x == low {
		i := 0
		for 1<<i != x {
			i++
		}
		for _, w := range t.starts[i].stems {
			t.add(x, w)
		}
		for _, l := range t.starts[i].straight {
			if p := &t.tops[x][l.outlet+1]; l.priced < p.cost {
				*p = top{cost: l.priced, start: i, first: l.link}
			}
		}
		return
	}
	for a := (x - 1) & x; a > 0; a = (a - 1) & x {
		if a&low == 0 {
			continue
		}
		b := x ^ a
		nodes := t.reached[a]
		if len(t.reached[b]) < len(nodes) {
			nodes = t.reached[b]
		}
		for _, v := range nodes {
			if i, j := t.head[a][v], t.head[b][v]; i != 0 && j != 0 {
				t.merge(x, v, i, j)
			}
		}
	}
}

// merge joins two parts at a node: at every height the cheapest of either.
func (t *steiner) merge(x int, v, i, j int32) {
	under := func(i int32) float64 {
		if b := t.list[i].below; b != 0 {
			return t.list[b].invert
		}
		return math.Inf(-1)
	}
	for y := min(t.list[i].invert, t.list[j].invert); !math.IsInf(y, -1); y = max(under(i), under(j)) {
		for under(i) >= y {
			i = t.list[i].below
		}
		for under(j) >= y {
			j = t.list[j].below
		}
		a, b := &t.list[i], &t.list[j]
		t.add(x, stem{cost: a.cost + b.cost, invert: min(a.invert, b.invert), node: v, a: i, b: j})
	}
}

func (t *steiner) add(x int, w stem) {
	v := w.node
	if w.invert < t.togo.need[v]-admit || w.cost >= t.most {
		return
	}
	if h := t.head[x][v]; h != 0 && t.list[h].invert >= w.invert-t.grain(w) {
		return
	}
	m := &t.made[v]
	if m.subset == x && w.cost >= m.cost && w.invert <= m.invert {
		return
	}
	if w.cost+t.rest(x, v) >= t.most-cheaper {
		return
	}
	*m = madeStem{x, w.cost, w.invert}
	t.list = append(t.list, w)
	t.q.push(w.cost, len(t.list)-1)
}

// grain is how much higher a stem must lie than a cheaper one to be kept.
func (t *steiner) grain(w stem) float64 {
	if t.coarse == 0 {
		return sameInvert
	}
	return max(coarseInvert, t.coarse*(w.invert-t.togo.need[w.node]))
}

// settleAll settles a subset's stems, cheapest first; false where the labels run
// out. It looks at ctx first and every 4096 stems after.
func (t *steiner) settleAll(ctx context.Context, x int) (ok bool, err error) {
	head := t.head[x]
	for k := 0; k == 0 || t.q.len() > 0; k++ {
		if k%4096 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		if len(t.list) > t.labels || t.q.len() == 0 {
			return t.q.len() == 0, nil
		}
		_, i := t.q.pop()
		w := &t.list[i]
		v := w.node
		if h := head[v]; h == 0 {
			t.reached[x] = append(t.reached[x], v)
		} else if t.list[h].invert >= w.invert-t.grain(*w) {
			continue
		}
		w.below, head[v] = head[v], int32(i)
		for _, k := range t.at[v] {
			t.end(x, int32(i), k)
		}
		cost, invert := w.cost, w.invert
		t.neighbours(int(v), func(u int, out *arc) {
			if y, ok := out.down(invert, t.SlopeMin); ok {
				t.add(x, stem{cost: cost + out.priced, invert: y, node: int32(u), a: int32(i)})
			}
		})
	}
	return true, nil
}

// end brings a stem to a target.
func (t *steiner) end(x int, i, k int32) {
	w, e := &t.list[i], &t.goals[k]
	y, cost := w.invert, w.cost
	if e.outlet >= 0 {
		var ok bool
		if y, ok = e.arc.down(y, t.Outlets[e.outlet].Slope); !ok {
			return
		}
		cost += e.arc.priced
	}
	if p := &t.tops[x][e.outlet+1]; y >= e.min-admit && cost < p.cost {
		*p = top{cost: cost, stem: i, target: k}
		if x == t.full {
			t.most = min(t.most, cost)
		}
	}
}
