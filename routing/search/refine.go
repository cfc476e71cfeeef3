package search

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Refine moves the points of a plan freely in the plane, drops those that do
// no good, and returns the cheapest plan it comes to with its cost; cost is
// +Inf and the plan unchanged where what is given is not admissible. step is
// how far points are moved at first, m.
//
// All points move at once: each is offered its own place and one to either
// side, and of all choices together the cheapest admissible one is taken,
// exactly, by ways of (cost, invert) from the inflows down. So a corner that
// can only move if its neighbours do is moved, which no rule that moves one
// point at a time would find where inverts bind.
func Refine(ctx context.Context, plan Plan, r Rules, step float64) (Plan, float64) {
	p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
	if r.Apart > 0 && plan.tangled(r.Apart) {
		p.Apart = toldApart
	}
	cost, ok := p.try(slices.Clone(plan))
	if !ok {
		return plan, cost
	}
	cost = p.round(cost)
	for d := step; d > finestMove && ctx.Err() == nil; d /= 2 {
		cost = p.split(cost)
		for round, idle := 0, 0; round < movesEach && idle < len(shares); round++ {
			before := cost
			for turn := range offers {
				cost = p.move(d, turn, round, cost)
			}
			if idle++; cost < before-worthMoving {
				idle = 0
			}
		}
		cost = p.round(p.drop(cost))
	}
	return p.plan, cost
}

// shares are the parts of a step that neighbouring points are moved by: one
// pressed to a corner can give way by little while the next goes far.
var shares = [...]float64{1, 1. / 8}

const (
	// finestMove is the last step a point is moved by, m: what is gained below it
	// no crew can lay.
	finestMove = 0.002
	// movesEach bounds the rounds at one step: gains shrink geometrically.
	movesEach = 6
	// worthMoving is the least gain worth another round, m of plain pipe.
	worthMoving = 1e-5
	// offers are the directions points are moved in, one after the other.
	offers = 4
)

// try takes a plan as it stands and returns what it costs; ok is false where it
// is not admissible.
func (p *planner) try(plan Plan) (cost float64, ok bool) {
	p.take(plan)
	if _, ok := p.lacks(); !ok {
		return math.Inf(1), false
	}
	return p.cost(), !(p.Apart > 0 && plan.tangled(p.Apart))
}

// move offers every point a place to either side, across its pipes or along
// them, and takes the cheapest choice of all.
func (p *planner) move(d float64, turn, round int, cost float64) float64 {
	p.places = make([][]place, len(p.plan))
	for v, s := range p.plan {
		p.places[v] = p.offered(v, s, d*shares[(v+round)%len(shares)], turn)
	}
	c, chosen := p.cheapest()
	if chosen == nil || c >= cost-worthMoving/100 {
		return cost
	}
	moved := slices.Clone(p.plan)
	for v := range moved {
		x := p.places[v][chosen[v]]
		moved[v].At, moved[v].Along = x.at, x.along
	}
	if p.Apart > 0 && moved.tangled(p.Apart) {
		return cost
	}
	p.plan = moved
	return c
}

func (p *planner) offered(v int, s Point, d float64, turn int) []place {
	list := []place{{s.At, s.Along}}
	switch {
	case s.Source >= 0:
	case s.Next < 0:
		if math.IsNaN(s.Along) {
			break
		}
		for _, along := range []float64{s.Along - d, s.Along + d} {
			if at, _, ok := p.Outlet(s.Outlet, along); ok {
				list = append(list, place{at, along})
			}
		}
	default:
		x := p.direction(v, turn)
		for _, k := range []float64{-d, d} {
			list = append(list, place{orb.Point{s.At[0] + k*x[0], s.At[1] + k*x[1]}, s.Along})
		}
	}
	return list
}

// direction is a direction a point may be moved in: across its pipes, along the
// mean of them, along the one that goes, along the one that comes.
func (p *planner) direction(v, turn int) orb.Point {
	s := p.plan[v]
	out := unit(s.At, p.plan[s.Next].At)
	in := out
	if len(p.children[v]) > 0 {
		in = unit(p.plan[p.children[v][0]].At, s.At)
	}
	mean := orb.Point{in[0] + out[0], in[1] + out[1]}
	if l := math.Hypot(mean[0], mean[1]); l > 1e-3 {
		mean = orb.Point{mean[0] / l, mean[1] / l}
	} else {
		mean = out
	}
	switch turn {
	case 0:
		return orb.Point{-mean[1], mean[0]}
	case 1:
		return mean
	case 2:
		return out
	}
	return in
}

func unit(a, b orb.Point) orb.Point {
	l := math.Hypot(b[0]-a[0], b[1]-a[1])
	return orb.Point{(b[0] - a[0]) / l, (b[1] - a[1]) / l}
}

// halved is the plan with a point in the middle of every pipe longer than Split,
// but the last.
func (p *planner) halved() Plan {
	q := slices.Clone(p.plan)
	for v := 0; v < len(q); v++ {
		n := q[v].Next
		if n < 0 || q[n].Outlet >= 0 {
			continue
		}
		if a, b := q[v].At, q[n].At; math.Hypot(b[0]-a[0], b[1]-a[1]) > p.Split {
			q = append(q, Point{Vertex{orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}, n, -1, -1}, math.NaN()})
			q[v].Next = len(q) - 1
			v--
		}
	}
	return q
}

// split puts a point into the middle of every long pipe.
func (p *planner) split(cost float64) float64 {
	whole := p.plan
	if c, ok := p.try(p.halved()); ok {
		return c
	}
	p.take(whole)
	return cost
}

// drop takes out every point between two pipes that costs more than it saves.
func (p *planner) drop(cost float64) float64 {
	whole := p.plan
	for v := 0; v < len(whole); v++ {
		if whole[v].Source >= 0 || whole[v].Next < 0 || len(p.children[v]) != 1 {
			continue
		}
		if c, ok := p.try(whole.without(v, p.children[v][0])); ok && c <= cost {
			whole, cost = p.plan, c
			v--
		} else {
			p.take(whole)
		}
	}
	return cost
}

// The lengths of pipe taken off either side of a turn to round it off, m, the
// gentlest first.
var roundings = [...]float64{1.5, 0.8, 0.4}

// roundedMost is the most parts a turn is made in: 90 degrees by fittings of
// 11.25.
const roundedMost = 8

// round replaces turns larger than allowed by several smaller ones, and joins
// larger than allowed by a bend and a join farther down, where that is cheaper.
func (p *planner) round(cost float64) float64 {
	if p.Most == nil {
		return cost
	}
	whole := p.plan
	for v := range len(whole) {
		for k := 0; k < len(p.children[v]) && whole[v].Next >= 0; k++ {
			u := p.children[v][k]
			for _, r := range roundings {
				q, ok := p.rounded(whole, v, u, r)
				if !ok && r == roundings[len(roundings)-1] {
					q, ok = p.slanted(whole, v, u)
				}
				if !ok {
					continue
				}
				c, fits := p.try(q)
				if fits && c < cost-worthMoving {
					whole, cost = q, c
					k = -1
					break
				}
				p.take(whole)
			}
		}
	}
	return cost
}

// slanted is the plan with the pipe from point u led straight to where it joins
// the pipe after v at the largest angle allowed; ok is false where it joins so
// already, or there is no such place.
func (p *planner) slanted(plan Plan, v, u int) (Plan, bool) {
	a, b, c := plan[u].At, plan[v].At, plan[plan[v].Next].At
	in, out := unit(a, b), unit(b, c)
	most := p.Most(true)
	if len(p.children[v]) < 2 || in[0]*out[0]+in[1]*out[1] >= math.Cos(most) {
		return nil, false
	}
	x, y := (b[0]-a[0])*out[0]+(b[1]-a[1])*out[1], math.Abs((b[0]-a[0])*out[1]-(b[1]-a[1])*out[0])
	t := y/math.Tan(most) - x
	if math.Hypot(c[0]-b[0], c[1]-b[1]) < t+p.Short {
		return nil, false
	}
	q := append(slices.Clone(plan), Point{Vertex{orb.Point{b[0] + t*out[0], b[1] + t*out[1]}, plan[v].Next, -1, -1}, math.NaN()})
	q[u].Next, q[v].Next = len(q)-1, len(q)-1
	return q, true
}

// rounded is the plan with the way from point u through v turning in equal parts
// over r metres of either pipe, each part small enough; ok is false where it
// turns little enough already or the pipes are too short.
func (p *planner) rounded(plan Plan, v, u int, r float64) (Plan, bool) {
	w := plan[v].Next
	joined := len(p.children[v]) > 1
	a, b, c := plan[u].At, plan[v].At, plan[w].At
	in, out := unit(a, b), unit(b, c)
	cross, dot := in[0]*out[1]-in[1]*out[0], in[0]*out[0]+in[1]*out[1]
	turn := math.Atan2(cross, dot)
	most := p.Most(joined)
	if math.Abs(turn) <= most || math.Abs(turn) > 0.95*math.Pi {
		return nil, false
	}
	if math.Hypot(b[0]-a[0], b[1]-a[1]) < r+p.Short || math.Hypot(c[0]-b[0], c[1]-b[1]) < r+p.Short {
		return nil, false
	}
	// The turn in n equal parts goes over n+1 directions, n-1 of them new: a
	// polygon about the circle that touches both pipes r from b.
	most = min(p.Most(false), p.Most(true))
	n := int(math.Ceil(math.Abs(turn)/most - 1e-9))
	if n > roundedMost {
		return nil, false
	}
	q := slices.Clone(plan)
	at := orb.Point{b[0] - r*in[0], b[1] - r*in[1]}
	part := turn / float64(n)
	// n-1 equal pipes whose sum joins the two touching points.
	sum := orb.Point{}
	for k := 1; k < n; k++ {
		s, o := math.Sincos(part * float64(k))
		sum[0] += in[0]*o - in[1]*s
		sum[1] += in[0]*s + in[1]*o
	}
	far := orb.Point{b[0] + r*out[0], b[1] + r*out[1]}
	l := math.Hypot(far[0]-at[0], far[1]-at[1]) / math.Hypot(sum[0], sum[1])
	before := u
	for k := 1; k <= n; k++ {
		q = append(q, Point{Vertex{at, -1, -1, -1}, math.NaN()})
		q[before].Next = len(q) - 1
		before = len(q) - 1
		s, o := math.Sincos(part * float64(k))
		at = orb.Point{at[0] + l*(in[0]*o-in[1]*s), at[1] + l*(in[0]*s+in[1]*o)}
	}
	q[before].Next = w
	if joined {
		q[v].Next = before
		return q, true
	}
	return q.gone(v), true
}
