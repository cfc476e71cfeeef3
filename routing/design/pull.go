package design

import (
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/search"

	"github.com/paulmach/orb"
)

// puller straightens a tree found on the lattice, chain by chain.
type puller struct {
	*job
	a      attempt
	t      tree
	chains []chain
}

// pulled returns the tree with every chain straightened, the outlet's first:
// what a chain then needs at its head, those above it must still bring.
func (d *job) pulled(t tree, a attempt) tree {
	p := &puller{job: d, a: a, t: t, chains: t.chains()}
	arrive := p.arrivals()
	need := make([]float64, len(t))
	for v := range need {
		need[v] = math.Inf(-1)
		if o := t[v].outlet; o >= 0 {
			need[v] = d.out[o].minInvert
		}
	}
	for k := len(p.chains) - 1; k >= 0; k-- {
		c := &p.chains[k]
		points := make([]orb.Point, len(c.vertices))
		for i, v := range c.vertices {
			points[i] = t[v].at
		}
		keep, least, ok := search.Pull(search.Chain{
			Points: points, StartHigh: arrive[c.head()], Need: need[c.foot()],
			Line:   func(i, j int) (constraint.Line, float64) { return p.line(c.vertices[i], c.vertices[j]) },
			Barred: func(a, b orb.Point) bool { return p.meets(k, a, b) },
		})
		if !ok {
			return t // rounding at the very limit: the lattice's own tree stands
		}
		need[c.head()] = least
		vertices := make([]int, len(keep))
		for i, m := range keep {
			vertices[i] = c.vertices[m]
		}
		c.vertices = vertices
	}
	return p.rebuilt()
}

// line is the law for a pipe from vertex u to vertex v, and its least slope.
func (p *puller) line(u, v int) (constraint.Line, float64) {
	bore := p.criteria.Catalogue.Bores[p.a.bore]
	slope := p.slopeMin(bore)
	exit := constraint.Exit{}
	if i := p.t[u].inflow; i >= 0 {
		exit = p.exits[i]
	}
	if o := p.t[v].outlet; o >= 0 && p.out[o].curb != nil {
		hole := p.criteria.Catalogue.Bores[p.a.hole]
		last := p.slopeMin(hole)
		if p.a.capacity {
			last = math.Max(last, hydraulics.SlopeForFlow(p.totalFlow(), hole.Outlet.Inside, hole.Outlet.Roughness))
		}
		return p.law.LeaveToCurb(hole.Outlet, *p.out[o].curb, exit), last
	} else if o >= 0 && p.out[o].kind == constraint.Daylight {
		return p.law.EnterDaylight(bore, p.out[o].minInvert, slope), slope
	}
	return p.law.Leave(bore, exit), slope
}

// arrivals is the highest invert that comes to each vertex of the tree as
// found; no bound where nothing comes from above.
func (p *puller) arrivals() []float64 {
	arrive := make([]float64, len(p.t))
	for v := range arrive {
		arrive[v] = math.Inf(1)
	}
	for _, v := range p.t.downstream() {
		n := p.t[v].next
		if n < 0 {
			continue
		}
		line, slope := p.line(v, n)
		if y, ok := search.Down(line, p.t[v].at, p.t[n].at, arrive[v], slope); ok {
			arrive[n] = math.Min(arrive[n], y)
		}
	}
	return arrive
}

// meets tells whether a line meets a pipe of another chain than k.
func (p *puller) meets(k int, a, b orb.Point) bool {
	for m := range p.chains {
		if m == k {
			continue
		}
		v := p.chains[m].vertices
		for i := 1; i < len(v); i++ {
			if search.Meets(a, b, p.t[v[i-1]].at, p.t[v[i]].at) {
				return true
			}
		}
	}
	return false
}

// rebuilt is the tree over the vertices kept.
func (p *puller) rebuilt() tree {
	place := map[int]int{}
	var t tree
	put := func(v int) int {
		if _, ok := place[v]; !ok {
			place[v] = len(t)
			x := p.t[v]
			x.next = -1
			t = append(t, x)
		}
		return place[v]
	}
	for _, c := range p.chains {
		for i := 1; i < len(c.vertices); i++ {
			u, v := put(c.vertices[i-1]), put(c.vertices[i])
			t[u].next = v
		}
	}
	return t
}
