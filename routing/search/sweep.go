package search

import "math"

// slot is where the arcs between node i and its neighbour k of offsets are kept.
func (g *Search) slot(i, k int) *arcPair {
	if g.arcs[i] == nil {
		g.arcs[i] = make([]arcPair, len(g.offsets))
	}
	return &g.arcs[i][k]
}

// pair returns the arcs between node i and its neighbour k of offsets.
func (g *Search) pair(i, k int) *arcPair {
	p := g.slot(i, k)
	if p.asked {
		return p
	}
	p.asked = true
	j := i + g.offsets[k][1]*g.Cols + g.offsets[k][0]
	a, b := g.At(i), g.At(j)
	length := math.Hypot(b[0]-a[0], b[1]-a[1])
	st, priced, ok := g.Interior(g.st[:0], a, b)
	g.st = st
	if !ok {
		return p
	}
	p.open, p.priced = true, priced
	g.keep(p, i, k, there, compress(st, length, priced, g.SlopeMin))
	for x, y := 0, len(st)-1; x <= y; x, y = x+1, y-1 {
		st[x], st[y] = st[y], st[x]
	}
	for x := range st {
		st[x].S = length - st[x].S
	}
	g.keep(p, i, k, back, compress(st, length, priced, g.SlopeMin))
	return p
}

// keep notes an arc of the pair between node i and its neighbour k of offsets.
func (g *Search) keep(p *arcPair, i, k, direction int, a arc) {
	p.ceil[direction], p.need[direction], p.ok[direction] = a.ceil, a.need, a.ok
	if a.stations != nil {
		p.ways[direction] = true
		g.stations[stationed{i, k, direction}] = a.stations
	}
}

// kept is an arc of the pair between node i and its neighbour k of offsets.
func (g *Search) kept(a *arc, p *arcPair, i, k, direction int) {
	switch {
	case !p.open:
		*a = arc{}
	case !p.ok[direction]:
		*a = arc{length: g.lengths[k]}
	default:
		*a = arc{length: g.lengths[k], priced: p.priced, ceil: p.ceil[direction], need: p.need[direction], ok: true}
		if p.ways[direction] {
			a.stations = g.stations[stationed{i, k, direction}]
		}
	}
}

// neighbours calls f with each neighbour of node i, the arc from it to i and
// the arc from i to it, which hold until f returns.
func (g *Search) neighbours(i int, f func(j int, in, out *arc)) {
	col, row := i%g.Cols, i/g.Cols
	for k, d := range g.offsets {
		if c, r := col+d[0], row+d[1]; c >= 0 && c < g.Cols && r >= 0 && r < g.Rows {
			if j := r*g.Cols + c; g.Usable[j] {
				if p := g.pair(i, k); !p.crossed {
					g.kept(&g.in, p, i, k, back)
					g.kept(&g.out, p, i, k, there)
					f(j, &g.in, &g.out)
				}
			}
		}
		if c, r := col-d[0], row-d[1]; c >= 0 && c < g.Cols && r >= 0 && r < g.Rows {
			if j := r*g.Cols + c; g.Usable[j] {
				if p := g.pair(j, k); !p.crossed {
					g.kept(&g.in, p, j, k, there)
					g.kept(&g.out, p, j, k, back)
					f(j, &g.in, &g.out)
				}
			}
		}
	}
}

// target is a node a route may end at, by an outlet or by joining pipes laid.
type target struct {
	node   int
	outlet int // -1: the node is on the tree
	arc    arc // of the last pipe; none for a join
	min    float64
	end    int // index of the last pipe among the search's ends
}

func (t *target) need(slope float64) (float64, bool) {
	if t.outlet < 0 {
		return t.min, true
	}
	return t.arc.up(t.min, slope)
}

// toGo is what remains from each node: the lowest invert that still reaches a
// target, and the least price.
type toGo struct {
	need  []float64 // +Inf: no way
	price []float64 // without inverts, over nodes with a need
	next  []int32   // node after this on the way of lowest need; -1-k: target k
}

// reverse settles the lowest needed invert of every node, lowest first; what
// lies above most no source can come to.
func (g *Search) reverse(targets []target, most float64) *toGo {
	n := len(g.Usable)
	t := &toGo{need: fill(n, math.Inf(1)), price: fill(n, math.Inf(1)), next: make([]int32, n)}
	var q queue
	for k := range targets {
		x := &targets[k]
		slope := g.SlopeMin
		if x.outlet >= 0 {
			slope = g.Outlets[x.outlet].Slope
		}
		if r, ok := x.need(slope); ok && r < t.need[x.node] && r <= most+admit {
			t.need[x.node], t.next[x.node] = r, int32(-1-k)
			q.push(r, x.node)
		}
	}
	done := make([]bool, n)
	for q.len() > 0 {
		_, v := q.pop()
		if done[v] {
			continue
		}
		done[v] = true
		g.neighbours(v, func(u int, in, _ *arc) {
			if done[u] {
				return
			}
			if r, ok := in.up(t.need[v], g.SlopeMin); ok && r < t.need[u] && r <= most+admit {
				t.need[u], t.next[u] = r, int32(v)
				q.push(r, u)
			}
		})
	}
	g.prices(t, targets)
	return t
}

// highestStart is the highest invert any source comes to the lattice with.
func (g *Search) highestStart() float64 {
	most := math.Inf(-1)
	for _, links := range g.links {
		for _, k := range links {
			most = math.Max(most, k.ceil)
		}
	}
	return most
}

// prices settles the least price from each node to a target, inverts aside,
// over nodes with a need.
func (g *Search) prices(t *toGo, targets []target) {
	var q queue
	for k := range targets {
		x := &targets[k]
		if p := x.arc.priced; !math.IsInf(t.need[x.node], 1) && p < t.price[x.node] {
			t.price[x.node] = p
			q.push(p, x.node)
		}
	}
	done := make([]bool, len(g.Usable))
	for q.len() > 0 {
		_, v := q.pop()
		if done[v] {
			continue
		}
		done[v] = true
		g.neighbours(v, func(u int, in, _ *arc) {
			if in.ok && !done[u] && !math.IsInf(t.need[u], 1) {
				if p := t.price[v] + in.priced; p < t.price[u] {
					t.price[u] = p
					q.push(p, u)
				}
			}
		})
	}
}

func fill(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// queue is a binary heap of nodes by value, equal values by lower node.
type queue struct {
	v []float64
	n []int32
}

func (q *queue) len() int { return len(q.v) }

func (q *queue) before(i, j int) bool {
	return q.v[i] < q.v[j] || q.v[i] == q.v[j] && q.n[i] < q.n[j]
}

func (q *queue) swap(i, j int) {
	q.v[i], q.v[j] = q.v[j], q.v[i]
	q.n[i], q.n[j] = q.n[j], q.n[i]
}

func (q *queue) push(v float64, node int) {
	q.v, q.n = append(q.v, v), append(q.n, int32(node))
	for i := len(q.v) - 1; i > 0; {
		p := (i - 1) / 2
		if !q.before(i, p) {
			break
		}
		q.swap(i, p)
		i = p
	}
}

func (q *queue) pop() (float64, int) {
	v, n := q.v[0], q.n[0]
	last := len(q.v) - 1
	q.swap(0, last)
	q.v, q.n = q.v[:last], q.n[:last]
	for i := 0; ; {
		c := 2*i + 1
		if c >= last {
			break
		}
		if c+1 < last && q.before(c+1, c) {
			c++
		}
		if !q.before(c, i) {
			break
		}
		q.swap(i, c)
		i = c
	}
	return v, int(n)
}
