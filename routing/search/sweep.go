package search

import (
	"context"
	"maps"
	"math"

	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/routing/parallel"
)

// slot is where the arcs between node i and its neighbour k of offsets are kept.
func (g *Search) slot(i, k int) *arcPair {
	if g.Forget {
		g.scratch = arcPair{}
		return &g.scratch
	}
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

// askAll asks for the arcs between all usable nodes on all cores, as a search from
// several sources comes by most of them. It errs where ctx ends.
func (g *Search) askAll(ctx context.Context) error {
	if g.whole || g.Forget || g.Another == nil {
		return nil
	}
	stations := make([]map[stationed]*[]constraint.Station, g.Rows)
	parallel.Each(g.Rows, func(row int) {
		own := *g
		own.Interior, own.st, own.stations = g.Another(), nil, map[stationed]*[]constraint.Station{}
		for i := row * g.Cols; i < (row+1)*g.Cols; i++ {
			if !g.Usable[i] || ctx.Err() != nil {
				continue
			}
			own.each(i, func(_ int, s *step) {
				if !s.back {
					own.pair(i, s.offset)
				}
			})
		}
		stations[row] = own.stations
	})
	for _, m := range stations {
		maps.Copy(g.stations, m)
	}
	g.whole = ctx.Err() == nil
	return ctx.Err()
}

// keep notes an arc of the pair between node i and its neighbour k of offsets.
func (g *Search) keep(p *arcPair, i, k, direction int, a arc) {
	p.ceil[direction], p.need[direction], p.ok[direction] = a.ceil, a.need, a.ok
	if a.stations != nil {
		p.ways[direction] = true
		g.stations[stationed{i, k, direction}] = a.stations
	}
}

// lengthTo is the length of the arc between nodes i and j, which lie at offset k of
// each other, m.
func (g *Search) lengthTo(i, j, k int) float64 {
	if !g.isBent(i) && !g.isBent(j) {
		return g.lengths[k]
	}
	return planar.Distance(g.At(i), g.At(j))
}

// kept is an arc of the pair between node i and its neighbour k of offsets.
func (g *Search) kept(a *arc, p *arcPair, i, k, direction int) {
	length := g.lengthTo(i, i+g.offsets[k][1]*g.Cols+g.offsets[k][0], k)
	switch {
	case !p.open:
		*a = arc{}
	case !p.ok[direction]:
		*a = arc{length: length}
	default:
		*a = arc{length: length, priced: p.priced, ceil: p.ceil[direction], need: p.need[direction], ok: true}
		if p.ways[direction] {
			a.stations = g.stations[stationed{i, k, direction}]
		}
	}
}

// step is a way from a node to a neighbour: to that of an offset or, back, to
// the one opposite.
type step struct {
	cols, rows, nodes int
	offset            int
	back              bool
}

// steps lists the ways to all neighbours.
func (g *Search) steps() (list []step) {
	for k, d := range g.offsets {
		nodes := d[1]*g.Cols + d[0]
		list = append(list, step{d[0], d[1], nodes, k, false}, step{-d[0], -d[1], -nodes, k, true})
	}
	return list
}

// each calls f with each usable neighbour of node i and the step to it.
func (g *Search) each(i int, f func(j int, s *step)) {
	col, row := i%g.Cols, i/g.Cols
	for k := range g.around {
		s := &g.around[k]
		if c, r := col+s.cols, row+s.rows; c >= 0 && c < g.Cols && r >= 0 && r < g.Rows && g.Usable[i+s.nodes] {
			f(i+s.nodes, s)
		}
	}
}

// leaving is the arc from node i by a step, and arriving the one to i against
// it; they hold until the next is asked for, and are nil where a pipe laid bars
// them.
func (g *Search) leaving(i int, s *step) *arc { return g.along(i, i+s.nodes, s, s.back) }

func (g *Search) arriving(i int, s *step) *arc { return g.along(i+s.nodes, i, s, !s.back) }

// along is the arc from node i to node j, in the direction of an offset or back.
func (g *Search) along(i, j int, s *step, against bool) *arc {
	if g.Forget {
		return g.anew(i, j, g.lengthTo(i, j, s.offset))
	}
	direction := there
	if against {
		i, direction = j, back
	}
	p := g.pair(i, s.offset)
	if p.crossed {
		return nil
	}
	g.kept(&g.last, p, i, s.offset, direction)
	return &g.last
}

// anew asks for an arc that is not kept.
func (g *Search) anew(i, j int, length float64) *arc {
	a, b := g.At(i), g.At(j)
	if g.walled(a, b) {
		return nil
	}
	g.last = g.spanning(a, b)
	if g.last.length > 0 {
		g.last.length = length
	}
	return &g.last
}

// neighbours calls f with each neighbour of node i and the arc to it, which
// holds until f returns.
func (g *Search) neighbours(i int, f func(j int, out *arc)) {
	g.each(i, func(j int, s *step) {
		if a := g.leaving(i, s); a != nil {
			f(j, a)
		}
	})
}

// span is what no invert at node i lies outside of.
func (g *Search) span(i int) (low, high float64) {
	if g.Span == nil {
		return math.Inf(-1), math.Inf(1)
	}
	if g.spans == nil {
		g.spans = make([][2]float64, len(g.Usable))
	}
	x := &g.spans[i]
	if *x == [2]float64{} {
		x[0], x[1] = g.Span(g.At(i))
	}
	return x[0], x[1]
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
	t := g.needs(targets, most)
	t.price = fill(len(g.Usable), math.Inf(1))
	g.prices(t, targets)
	return t
}

// needs is reverse without the prices.
func (g *Search) needs(targets []target, most float64) *toGo {
	t := &toGo{need: fill(len(g.Usable), math.Inf(1)), next: make([]int32, len(g.Usable))}
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
	for q.len() > 0 {
		r, v := q.pop()
		if r > t.need[v] {
			continue // settled before
		}
		g.each(v, func(u int, s *step) {
			// What no arc could better is not asked for.
			least := r + g.SlopeMin*g.lengthTo(u, v, s.offset)
			if least >= t.need[u] {
				return
			}
			if low, high := g.span(u); low >= t.need[u] || least > high+constraint.Tolerance || max(least, low) > most+admit {
				return
			}
			a := g.arriving(v, s)
			if a == nil {
				return
			}
			if r, ok := a.up(r, g.SlopeMin); ok && r < t.need[u] && r <= most+admit {
				t.need[u], t.next[u] = r, int32(v)
				q.push(r, u)
			}
		})
	}
	return t
}

// highestStart is the highest invert any source comes to the lattice with.
func (g *Search) highestStart() float64 {
	most := math.Inf(-1)
	for _, links := range g.links {
		for _, k := range links {
			most = max(most, k.ceil)
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
	for q.len() > 0 {
		c, v := q.pop()
		if c > t.price[v] {
			continue // settled before
		}
		g.each(v, func(u int, s *step) {
			if c+g.lengthTo(u, v, s.offset) >= t.price[u] || math.IsInf(t.need[u], 1) {
				return // no metre is cheaper than one
			}
			if a := g.arriving(v, s); a != nil && a.ok && c+a.priced < t.price[u] {
				t.price[u] = c + a.priced
				q.push(t.price[u], u)
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
