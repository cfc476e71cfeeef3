package search

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb/planar"
)

const (
	// exactMost is the number of sources up to which all are joined exactly: the
	// work grows threefold with each.
	exactMost = 8
	// exactArcs bounds the work of an exact answer in arcs looked at, 0.2 s of one
	// core, about; groupLabels that for a group, in labels.
	exactArcs   = 4_000_000
	groupLabels = 8_000
	// coarse is the share of an invert's height above what is needed that is not
	// told apart where telling all apart is too much work: what is far above its
	// need seldom comes to lack it.
	coarse = 0.1
	// groupMost is the number of pieces around a junction joined again together,
	// nearMost that of sources near each other.
	groupMost = 6
	nearMost  = 4
	// usualEffort is how many forests are improved as shipped.
	usualEffort = 1
	// usualWork is how many nodes times sources are gone over by all forests improved
	// together, some 50 ms of work; on small lattices that is up to roundsSmall of them.
	usualWork   = 32_000
	roundsSmall = 16
	// roundsMost bounds the rounds of one improvement; most end after two.
	roundsMost = 10
	// restartSeed fixes the orders of restarts, so that results repeat.
	restartSeed = 1
)

// net is the question of one network.
type net struct {
	*Search
	group
	dist  map[int][]float64 // plan price at least from each source to each node
	apart map[[2]int]float64
}

// solve finds the forest: by insertion, then exactly where the labels allow, or
// by improving it.
func (n *net) solve(ctx context.Context) (*forest, error) {
	best, err := n.insertion(ctx)
	if err != nil || len(n.sources) == 1 && best.in == 1 && n.outletsMax() == 1 {
		return best, err
	}
	n.measure(best)
	if n.small() {
		f, done, err := n.exchange(ctx, best, n.without(best, n.sources), n.budget(exactArcs), 0)
		if err == nil && !done {
			f, done, err = n.exchange(ctx, best, n.without(best, n.sources), n.budget(exactArcs), coarse)
		}
		if f != nil {
			best = f
		}
		if err != nil || done {
			return best, err
		}
	}
	return n.improve(ctx, best)
}

// budget is how many labels so many arcs allow.
func (g *Search) budget(arcs int) int { return arcs / (2 * len(g.offsets)) }

// small tells whether an exact answer for all at once may be had: no more labels
// are to be expected than one for each subset at each node.
func (n *net) small() bool {
	if len(n.sources) > exactMost {
		return false
	}
	nodes := 0
	for _, y := range n.base.need {
		if !math.IsInf(y, 1) {
			nodes++
		}
	}
	return nodes<<len(n.sources) <= n.budget(exactArcs)
}

// insertion is the best of several orders.
func (n *net) insertion(ctx context.Context) (*forest, error) {
	best := &forest{price: math.Inf(1)}
	for _, order := range n.orders(n.sources, n.base) {
		f, err := n.inserted(ctx, order)
		if err != nil {
			return nil, err
		}
		if f.better(best) {
			best = f
		}
	}
	if best.in < len(n.sources) {
		t, err := n.lowestTree(ctx)
		if err != nil {
			return nil, err
		}
		if f := n.forest(t); f.better(best) {
			best = f
		}
	}
	return best, nil
}

func (n *net) inserted(ctx context.Context, order []int) (*forest, error) {
	t, err := n.grow(ctx, order, n.goals, func(t *grown, s int) ([]int, *target) {
		if len(t.vertices) > 0 {
			return nil, nil // by the trees
		}
		return n.cheapestTo(s, n.goals, n.base)
	})
	if err != nil {
		return nil, err
	}
	return n.forest(t), nil
}

// measure finds plan distances from each source, no farther than what a whole
// network costs.
func (n *net) measure(best *forest) {
	most := math.Inf(1)
	if best.in == len(n.sources) {
		most = best.price
	}
	n.clearWalls()
	n.dist, n.apart = map[int][]float64{}, map[[2]int]float64{}
	for _, s := range n.sources {
		var from []stem
		for _, k := range n.links[s] {
			if k.node >= 0 {
				from = append(from, stem{cost: k.priced, node: int32(k.node)})
			}
		}
		n.dist[s] = n.plan.spread(from, most, nil)
	}
	for _, s := range n.sources {
		for _, r := range n.sources {
			d := math.Inf(1)
			for _, k := range n.links[s] {
				if k.node >= 0 {
					d = min(d, k.priced+n.dist[r][k.node])
				}
			}
			n.apart[[2]int{s, r}] = d
		}
	}
}

// exchange joins what was cut from a forest again, exactly, to what is left of it
// or to outlets still to be had. It returns the new forest where it is better,
// else none; done is false where the labels ran out or the new pipes cross each
// other. Pipes that stay bar the new ones' way only in a second attempt, where
// the first crosses them: few do.
func (n *net) exchange(ctx context.Context, best *forest, c *cutting, labels int, coarse float64) (f *forest, done bool, err error) {
	for _, walled := range []bool{false, true} {
		q := n.question(best, c, walled)
		q.labels, q.coarse = labels, coarse
		t, done, err := n.answer(ctx, q)
		if t == nil || err != nil {
			return nil, done, err
		}
		f := n.rejoin(t, c)
		if f == nil || !f.better(best) {
			return nil, true, nil
		}
		if n.MayCross || !n.crosses(f) {
			return f, true, nil
		}
	}
	return nil, false, nil
}

// rejoin adds the trees of an answer to what was kept; none where there are none
// or the whole does not hold.
func (n *net) rejoin(t *steiner, c *cutting) *forest {
	b := t.cheapestTrees()
	if b == nil {
		return nil
	}
	f := c.kept.clone()
	l := &laying{steiner: t, f: f}
	l.enter = func(i, first int, at int32) {
		m := &c.members[i]
		switch {
		case at == gone:
			f.straight = append(f.straight, entry{m.source, first})
		case m.source >= 0:
			f.strands[at].from = append(f.strands[at].from, entry{m.source, first})
		default:
			f.hang(m.piece, at)
		}
	}
	l.join = func(node int) int32 {
		return int32(slices.IndexFunc(f.strands, func(s strand) bool { return s.node == int32(node) }))
	}
	l.bundle(b)
	if !n.settle(f) {
		return nil
	}
	return f
}

// question asks for what was cut to be joined to what is kept, not across pipes
// that stay where walled.
func (n *net) question(best *forest, c *cutting, walled bool) question {
	n.clearWalls()
	if walled {
		n.pipes(c.kept, n.wall)
		for _, m := range c.members {
			n.pipes(&forest{strands: m.piece}, n.wall)
		}
	}
	used := n.usedBy(c.kept)
	q := question{togo: n.base, most: math.Inf(1), slots: n.outletsMax() - len(used)}
	served := best.served()
	if !slices.ContainsFunc(c.members, func(m member) bool { return m.source >= 0 && !slices.Contains(served, m.source) }) {
		q.most = c.saved // as many are to be served, so for less
	}
	for k := range n.goals {
		x := &n.goals[k]
		if q.slots > 0 && !slices.Contains(used, x.outlet) && !n.walled(n.At(x.node), n.Outlets[x.outlet].At) {
			q.goals = append(q.goals, *x)
		}
	}
	q.goals = append(q.goals, n.joins(c)...)
	for i, m := range c.members {
		if m.source >= 0 {
			q.starts = append(q.starts, n.start(i, m.source, used, q.slots))
		} else {
			q.starts = append(q.starts, start{stems: []stem{{invert: m.high, node: m.piece[0].node, start: i}}})
		}
	}
	if len(used) > 0 {
		q.togo = &toGo{need: n.base.need}
		q.togo.price = n.plan.spread(endsOf(q.goals), q.most, n.toStart(q.starts))
	}
	for i := range q.starts {
		if s := &q.starts[i]; s.dist == nil {
			s.dist = n.plan.spread(s.stems, q.most, q.beyond())
		}
	}
	return q
}

// beyond is by node by how much what remains from there comes to more than most. A tree
// that joins a node, a start and an end is at least half of the ways between them.
func (q *question) beyond() []float64 {
	list := make([]float64, len(q.togo.price))
	for v, p := range q.togo.price {
		if p > q.most {
			list[v] = p - q.most
		}
	}
	return list
}

// toStart is by node how far the nearest start lies, at least.
func (n *net) toStart(starts []start) []float64 {
	list := fill(len(n.Usable), math.Inf(1))
	for _, s := range starts {
		for v := range list {
			if s.dist != nil {
				list[v] = min(list[v], s.dist[v])
			} else {
				list[v] = min(list[v], planar.Distance(n.At(v), n.At(int(s.stems[0].node))))
			}
		}
	}
	return list
}

func (n *net) usedBy(f *forest) (used []int) {
	for _, s := range f.strands {
		if s.node != gone && s.next < 0 {
			used = append(used, n.ends[-1-s.next].outlet)
		}
	}
	for _, e := range f.straight {
		used = append(used, n.links[e.source][e.link].outlet)
	}
	return used
}

// joins are the nodes of what is kept with the inverts they need.
func (n *net) joins(c *cutting) (list []target) {
	f, order := c.kept, c.order
	need := make([]float64, len(f.strands))
	for k := len(order) - 1; k >= 0; k-- {
		s := &f.strands[order[k]]
		ok := false
		if s.next < 0 {
			e := &n.ends[-1-s.next]
			need[order[k]], ok = e.up(n.Outlets[e.outlet].MinInvert, n.Outlets[e.outlet].Slope)
		} else {
			a := n.between(int(s.node), int(f.strands[s.next].node))
			if need[order[k]], ok = a.up(need[s.next], n.SlopeMin); !ok {
				need[order[k]], ok = a.up(need[s.next]-admit, n.SlopeMin)
			}
		}
		if !ok {
			need[order[k]] = math.Inf(1)
			continue
		}
		list = append(list, target{node: int(s.node), outlet: -1, min: need[order[k]]})
	}
	return list
}

// start poses a source of a group.
func (n *net) start(i, s int, used []int, slots int) start {
	x := start{dist: n.dist[s]}
	for k, l := range n.links[s] {
		if l.node < 0 {
			o := &n.Outlets[l.outlet]
			if slots == 0 || slices.Contains(used, l.outlet) || n.walled(n.Sources[s].At, o.At) {
				continue
			}
			if y, ok := l.down(n.Sources[s].Start, o.Slope); ok && y >= o.MinInvert-admit {
				x.straight = append(x.straight, straight{l.outlet, k, l.priced + n.OutletCost})
			}
		} else if y, ok := l.down(n.Sources[s].Start, n.SlopeMin); ok && !n.walled(n.Sources[s].At, n.At(l.node)) {
			x.stems = append(x.stems, stem{cost: l.priced, invert: y, node: int32(l.node), start: i, first: k})
		}
	}
	return x
}
