package search

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// Plan is a tree of straight pipes whose points may lie anywhere in the plane.
type Plan []Point

// Point is a vertex of a plan.
type Point struct {
	Vertex
	Along float64 // of an outlet that may slide: its station along the curb, m; else NaN
}

// Rules are what a plan must obey and what it costs.
type Rules struct {
	// Start is the highest invert at a source.
	Start func(source int) float64
	// Line answers for the pipe from a source, or -1, to an outlet at a station
	// along the curb, or -1, and gives its least slope.
	Line func(source, outlet int, along float64) (line constraint.Line, slope float64)
	// Outlet is where an outlet lies at a station along the curb, and the invert
	// it asks for; ok is false where none may be.
	Outlet func(outlet int, along float64) (at orb.Point, need float64, ok bool)
	// Turn prices, in metres of plain pipe, how water coming from a turns at b
	// toward c; joined tells that other water joins there.
	Turn func(a, b, c orb.Point, joined bool) float64
	// Most is the largest turn that needs nothing out of the ordinary, radians;
	// nil: any. Larger ones are rounded off where that is cheaper.
	Most func(joined bool) float64
	// A pipe shorter than Short costs TooShort for each metre it lacks.
	Short, TooShort float64
	// Split is the longest pipe that is not offered a bend midway, m.
	Split float64
	// Apart is how far pipes with no pipe between them keep from each other, m; 0:
	// they may cross. Where the plan given does not keep so far, they only may
	// not meet.
	Apart float64
}

// place is where a point might be moved.
type place struct {
	at    orb.Point
	along float64
}

// way is how the water above a pipe's end might come: what all of it costs,
// the invert it comes with, and the ways it is made of.
type way struct {
	cost, invert float64
	place        int32 // of the point it leaves
	left, right  int32 // -1: none
	point        int32 // -1: two ways put together
}

// mostWays bounds the ways kept for one pipe between two places. Dropping a
// middling one can only cost: what is left is laid as it says.
const mostWays = 16

type arcKey struct {
	source, outlet int
	a, b           orb.Point
}

// planner chooses places for all points of a plan at once.
type planner struct {
	Rules
	plan     Plan
	children [][]int
	order    []int // upstream first
	wait     []int // pipes each point waits for while that is found
	places   [][]place
	ways     []way
	arcs     map[arcKey]*slopedArc
	lines    map[int]slopedLine // from each source, and -1, to no outlet
	come     []float64          // inverts at the ends of the pipes of the plan as it is
	drawn    []*slopedArc       // pipes from each point of the plan as it is; nil: not asked yet
	st       []constraint.Station
	comes    [][]int32 // ways over the pipe of a point, by its place and the next one's
}

type slopedLine struct {
	line  constraint.Line
	slope float64
}

type slopedArc struct {
	arc
	slope float64
}

// take makes a plan the one worked on and finds what depends on the shape of
// its tree alone.
func (p *planner) take(plan Plan) {
	p.plan = plan
	n := len(p.plan)
	p.drawn = slices.Grow(p.drawn[:0], n)[:n]
	clear(p.drawn)
	p.children = slices.Grow(p.children[:0], n)[:n]
	for v := range p.children {
		p.children[v] = p.children[v][:0]
	}
	p.order, p.wait = slices.Grow(p.order[:0], n), slices.Grow(p.wait[:0], n)[:n]
	wait := p.wait
	clear(wait)
	for v, s := range p.plan {
		if s.Next >= 0 {
			p.children[s.Next] = append(p.children[s.Next], v)
			wait[s.Next]++
		}
	}
	for v := range p.plan {
		if wait[v] == 0 {
			p.order = append(p.order, v)
		}
	}
	for k := 0; k < len(p.order); k++ {
		if n := p.plan[p.order[k]].Next; n >= 0 {
			if wait[n]--; wait[n] == 0 {
				p.order = append(p.order, n)
			}
		}
	}
}

func (p *planner) arcOf(u, v int, from, to place) *slopedArc {
	k := arcKey{p.plan[u].Source, p.plan[v].Outlet, from.at, to.at}
	if a := p.arcs[k]; a != nil {
		return a
	}
	a := &slopedArc{}
	length := math.Hypot(to.at[0]-from.at[0], to.at[1]-from.at[1])
	if length > 0 {
		line, slope := p.line(k.source, k.outlet, to.along)
		if st, priced, ok := line(p.st[:0], from.at, to.at); ok {
			priced += p.TooShort * max(0, p.Short-length)
			*a = slopedArc{compress(st, length, priced, slope), slope}
			p.st = st
		}
	}
	p.arcs[k] = a
	return a
}

// line is Line, kept but for outlets, which slide.
func (p *planner) line(source, outlet int, along float64) (constraint.Line, float64) {
	if outlet >= 0 {
		return p.Line(source, outlet, along)
	}
	x, ok := p.lines[source]
	if !ok {
		x.line, x.slope = p.Line(source, outlet, along)
		if p.lines == nil {
			p.lines = map[int]slopedLine{}
		}
		p.lines[source] = x
	}
	return x.line, x.slope
}

// asDrawn is the pipe from point v of the plan as it is.
func (p *planner) asDrawn(v int) *slopedArc {
	if p.drawn[v] == nil {
		s := &p.plan[v]
		n := &p.plan[s.Next]
		p.drawn[v] = p.arcOf(v, s.Next, place{s.At, s.Along}, place{n.At, n.Along})
	}
	return p.drawn[v]
}

// known is that pipe where it was asked for before, else nil.
func (p *planner) known(v int) *slopedArc {
	if p.drawn[v] == nil {
		n := &p.plan[p.plan[v].Next]
		p.drawn[v] = p.arcs[arcKey{p.plan[v].Source, n.Outlet, p.plan[v].At, n.At}]
	}
	return p.drawn[v]
}

// cost is what the plan costs as it is.
func (p *planner) cost() float64 {
	sum := p.turns()
	for v, s := range p.plan {
		if s.Next >= 0 {
			sum += p.asDrawn(v).priced
		}
	}
	return sum
}

// turns prices all turns of the plan as it is.
func (p *planner) turns() (sum float64) {
	for v, s := range p.plan {
		if s.Next < 0 {
			continue
		}
		for _, c := range p.children[v] {
			sum += p.Turn(p.plan[c].At, s.At, p.plan[s.Next].At, len(p.children[v]) > 1)
		}
	}
	return sum
}

// lacks tells whether the plan as it is is admissible, heights too; where not, short
// is by how much its water, each pipe as high as can be, comes too low to outlets, m,
// more where it cannot come there at all.
func (p *planner) lacks() (short float64, ok bool) {
	p.come = slices.Grow(p.come[:0], len(p.plan))[:len(p.plan)]
	ok = true
	for _, v := range p.order {
		s := &p.plan[v]
		x := math.Inf(1)
		if s.Source >= 0 {
			x = p.Start(s.Source)
		}
		for _, c := range p.children[v] {
			x = min(x, p.come[c])
		}
		if s.Next < 0 {
			_, need, open := p.Outlet(s.Outlet, s.Along)
			ok = ok && open && x >= need-admit
			short += max(0, need-x)
			continue
		}
		a := p.asDrawn(v)
		y, passes := a.down(x, a.slope)
		if !passes {
			ok, y = false, x
			short++
		}
		p.come[v] = y
	}
	return short, ok
}

// cheapest chooses the places whose pipes cost least and carry all water to
// the outlets; chosen is nil where no choice does.
func (p *planner) cheapest() (cost float64, chosen []int32) {
	p.ways = p.ways[:0]
	p.comes = make([][]int32, 0, 64)
	index := make([]int, len(p.plan)) // first of a point's entries in comes
	chosen = make([]int32, len(p.plan))
	for _, v := range p.order {
		n := p.plan[v].Next
		if n < 0 {
			c, ok := p.end(v, index, chosen)
			if !ok {
				return math.Inf(1), nil
			}
			cost += c
			continue
		}
		index[v] = len(p.comes)
		any := false
		for i := range p.places[v] {
			for j := range p.places[n] {
				list := p.over(v, i, j, index)
				any = any || len(list) > 0
				p.comes = append(p.comes, list)
			}
		}
		if !any {
			return math.Inf(1), nil
		}
	}
	return cost, chosen
}

// over lists the ways over the pipe of point v from its place i to place j of
// the next.
func (p *planner) over(v, i, j int, index []int) []int32 {
	n := p.plan[v].Next
	a := p.arcOf(v, n, p.places[v][i], p.places[n][j])
	if !a.ok {
		return nil
	}
	var list []int32
	for _, w := range p.arriving(v, i, &p.places[n][j].at, index) {
		x := p.ways[w]
		y, ok := a.down(x.invert, a.slope)
		if !ok {
			continue
		}
		p.ways = append(p.ways, way{x.cost + a.priced, y, int32(i), w, -1, int32(v)})
		list = append(list, int32(len(p.ways)-1))
	}
	return p.pareto(list)
}

// arriving lists the ways the water comes to place i of point v; where it goes
// on to next its turns are priced.
func (p *planner) arriving(v, i int, next *orb.Point, index []int) []int32 {
	var all []int32
	if s := p.plan[v].Source; s >= 0 {
		p.ways = append(p.ways, way{0, p.Start(s), int32(i), -1, -1, -1})
		all = []int32{int32(len(p.ways) - 1)}
	}
	for k, c := range p.children[v] {
		var own []int32
		for m := range p.places[c] {
			turn := 0.0
			if next != nil {
				turn = p.Turn(p.places[c][m].at, p.places[v][i].at, *next, len(p.children[v]) > 1)
			}
			for _, w := range p.comes[index[c]+m*len(p.places[v])+i] {
				if turn == 0 {
					own = append(own, w)
					continue
				}
				x := p.ways[w]
				p.ways = append(p.ways, way{x.cost + turn, x.invert, x.place, w, -1, -1})
				own = append(own, int32(len(p.ways)-1))
			}
		}
		own = p.pareto(own)
		if k == 0 && all == nil {
			all = own
			continue
		}
		var both []int32
		for _, a := range all {
			for _, b := range own {
				x, y := p.ways[a], p.ways[b]
				p.ways = append(p.ways, way{x.cost + y.cost, min(x.invert, y.invert), -1, a, b, -1})
				both = append(both, int32(len(p.ways)-1))
			}
		}
		all = p.pareto(both)
	}
	return all
}

// end closes the tree at outlet v: it takes the cheapest place and way, and
// notes the places that way goes by.
func (p *planner) end(v int, index []int, chosen []int32) (float64, bool) {
	best, at, cost := int32(-1), 0, math.Inf(1)
	for i, x := range p.places[v] {
		_, need, ok := p.Outlet(p.plan[v].Outlet, x.along)
		if !ok {
			continue
		}
		for _, w := range p.arriving(v, i, nil, index) {
			if p.ways[w].invert >= need-admit && p.ways[w].cost < cost {
				best, at, cost = w, i, p.ways[w].cost
			}
		}
	}
	if best < 0 {
		return 0, false
	}
	chosen[v] = int32(at)
	for stack := []int32{best}; len(stack) > 0; {
		w := p.ways[stack[len(stack)-1]]
		stack = stack[:len(stack)-1]
		if w.point >= 0 {
			chosen[w.point] = w.place
		}
		for _, x := range []int32{w.left, w.right} {
			if x >= 0 {
				stack = append(stack, x)
			}
		}
	}
	return cost, true
}

// pareto keeps the ways that are cheaper or higher than every other, the
// cheapest first, at most mostWays of them.
func (p *planner) pareto(list []int32) []int32 {
	slices.SortFunc(list, func(a, b int32) int {
		x, y := p.ways[a], p.ways[b]
		return cmp.Or(cmp.Compare(x.cost, y.cost), cmp.Compare(y.invert, x.invert), cmp.Compare(a, b))
	})
	kept := list[:0]
	high := math.Inf(-1)
	for _, w := range list {
		if y := p.ways[w].invert; y > high {
			high = y
			kept = append(kept, w)
		}
	}
	if len(kept) <= mostWays {
		return kept
	}
	thin := make([]int32, 0, mostWays)
	for k := range mostWays {
		thin = append(thin, kept[k*(len(kept)-1)/(mostWays-1)])
	}
	return thin
}

// tangled tells whether pipes of the plan come together but at a point both end
// at: pipes next to each other nearer than a checker tells apart, others nearer
// than clear.
func (p Plan) tangled(clear float64) bool {
	for u := range p {
		for v := range u {
			if p[u].Next >= 0 && p[v].Next >= 0 && p.tooNear(u, v, clear) {
				return true
			}
		}
	}
	return false
}

// toldApart is how far pipes that share no point are at least, m: more than the
// 2 mm plans are read to.
const toldApart = 0.005

func (p Plan) tooNear(u, v int, clear float64) bool {
	m, n := p[u].Next, p[v].Next
	a, b, c, d := p[u].At, p[m].At, p[v].At, p[n].At
	if boxesApart(a, b, c, d, max(clear, toldApart)) {
		return false
	}
	switch {
	case m == n: // both end at one point
		return min(toSegment(a, c, d), toSegment(c, a, b)) < toldApart
	case m == v: // one after the other
		return min(toSegment(a, c, d), toSegment(d, a, b)) < toldApart
	case n == u:
		return min(toSegment(c, a, b), toSegment(b, c, d)) < toldApart
	case p[m].Next == v || p[n].Next == u || p[m].Next == n || p[n].Next == m: // a pipe between
		clear = toldApart
	}
	if meets(a, b, c, d) {
		return true
	}
	return min(toSegment(a, c, d), toSegment(b, c, d), toSegment(c, a, b), toSegment(d, a, b)) < clear
}

// toSegment is the distance of p from the segment from a to b.
func toSegment(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(1, max(0, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}

// Tangled tells whether pipes of some trees come together but at a vertex both
// end at.
func Tangled(list []Vertex) bool {
	p := make(Plan, len(list))
	for k, v := range list {
		p[k].Vertex = v
	}
	return p.tangled(toldApart)
}

// without is the plan with the pipes through point v, the only way from point
// above, drawn straight.
func (p Plan) without(v, above int) Plan {
	q := slices.Clone(p)
	q[above].Next = q[v].Next
	return q.gone(v)
}

// gone takes a point nothing comes to out of a plan it owns.
func (p Plan) gone(v int) Plan {
	p = slices.Delete(p, v, v+1)
	for k := range p {
		if p[k].Next > v {
			p[k].Next--
		}
	}
	return p
}
