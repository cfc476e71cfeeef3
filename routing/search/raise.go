package search

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb/planar"
)

// Raise moves the points of a way, a plan of one source, freely in the plane so
// that it comes to its outlet as high over the invert asked for there as it can,
// or by enough. It returns the way it comes to and that margin, m; -Inf and the
// way unchanged where what is given is not admissible. step is how far points are
// moved at first, m. A way that has no prospect of least is not moved to the end.
//
// All points move at once, as Refine moves them, but a higher invert can do all
// that a lower one can and nothing else counts: one number tells of each place.
func Raise(ctx context.Context, way Plan, r Rules, step, enough, least float64) (Plan, float64) {
	p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
	margin := p.margin(way)
	for d := step; d > finestMove && margin < enough && ctx.Err() == nil; d /= 2 {
		if math.IsInf(margin, -1) || d < prospectFrom && margin+2*d*prospect < least {
			break
		}
		margin = p.parted(p.pulled(margin))
		for round, idle := 0, 0; round < movesEach && idle < len(shares) && margin < enough; round++ {
			before := margin
			for turn := range offers {
				margin = p.raise(d, turn, round, margin)
			}
			if idle++; margin > before+worthRaising {
				idle = 0
			}
		}
	}
	if !math.IsInf(margin, -1) {
		margin = p.pulled(margin)
	}
	return p.plan, margin
}

// prospect is more height than a way still comes to for each metre its points were
// moved by last, once they are moved by less than prospectFrom, m: of 2500 ways none
// came to more than 0.039. With longer moves a way may yet get off ground that asks
// for more cover.
const (
	prospect     = 0.05
	prospectFrom = 0.25
)

// worthRaising is the least gain in height worth another round, m: a fraction of
// what missing height is told to.
const worthRaising = 2e-5

// margin takes a way as it stands and tells how high it comes.
func (p *planner) margin(way Plan) float64 {
	p.take(way)
	p.stay()
	margin, _ := p.highest()
	return margin
}

// stay offers every point its own place alone.
func (p *planner) stay() {
	p.places = make([][]place, len(p.plan))
	for v, s := range p.plan {
		p.places[v] = []place{{s.At, s.Along}}
	}
}

// raise offers a place to either side to every point from the pipe on that
// decides how high the way comes, and takes the choice of all that comes highest.
func (p *planner) raise(d float64, turn, round int, margin float64) float64 {
	p.stay()
	for k := p.deciding(); k < len(p.order); k++ {
		v := p.order[k]
		p.places[v] = p.offered(v, p.plan[v], d*shares[(k+round)%len(shares)], turn)
	}
	m, chosen := p.highest()
	if m <= margin {
		return margin
	}
	moved := slices.Clone(p.plan)
	for k, v := range p.order {
		x := p.places[v][chosen[k]]
		moved[v].At, moved[v].Along = x.at, x.along
	}
	p.plan = moved
	return m
}

// deciding is the last pipe in which the law presses the way's invert down, by
// the place of its upper end along the way.
func (p *planner) deciding() (at int) {
	y := p.Start(p.plan[p.order[0]].Source)
	for k := 1; k < len(p.order); k++ {
		u, v := p.order[k-1], p.order[k]
		a := p.arcOf(u, v, p.places[u][0], p.places[v][0])
		free := y - a.slope*a.length
		if y, _ = a.down(y, a.slope); y < free {
			at = k - 1
		}
	}
	return at
}

// highest chooses the places, by point along the way, over which it comes to its
// outlet highest; the first of a point's where others do no better.
func (p *planner) highest() (margin float64, chosen []int) {
	n := len(p.order)
	high, from := make([][]float64, n), make([][]int, n)
	high[0] = []float64{p.Start(p.plan[p.order[0]].Source)}
	for k := 1; k < n; k++ {
		u, v := p.order[k-1], p.order[k]
		slope := 0.0
		if p.plan[v].Outlet < 0 {
			_, slope = p.line(p.plan[u].Source, -1, math.NaN())
		}
		high[k], from[k] = fill(len(p.places[v]), math.Inf(-1)), make([]int, len(p.places[v]))
		for j, to := range p.places[v] {
			for i, at := range p.places[u] {
				// What no arc could better is not asked for.
				if high[k-1][i]-slope*planar.Distance(at.at, to.at) <= high[k][j] {
					continue
				}
				a := p.arcOf(u, v, at, to)
				if y, ok := a.down(high[k-1][i], a.slope); ok && y > high[k][j] {
					high[k][j], from[k][j] = y, i
				}
			}
		}
	}
	margin, best := math.Inf(-1), 0
	end := p.order[n-1]
	for j, to := range p.places[end] {
		if _, need, ok := p.Outlet(p.plan[end].Outlet, to.along); ok && high[n-1][j]-need > margin {
			margin, best = high[n-1][j]-need, j
		}
	}
	chosen = make([]int, n)
	for k := n - 1; k > 0; k-- {
		chosen[k], best = best, from[k][best]
	}
	return margin, chosen
}

// pulled takes out every point without which the way comes as high.
func (p *planner) pulled(margin float64) float64 {
	whole := p.plan
	for v := 0; v < len(whole); v++ {
		if whole[v].Source >= 0 || whole[v].Next < 0 {
			continue
		}
		if m := p.margin(whole.without(v, p.children[v][0])); m >= margin {
			whole, margin = p.plan, m
			v--
		} else {
			p.take(whole)
		}
	}
	return margin
}

// parted puts a point into the middle of every long pipe.
func (p *planner) parted(margin float64) float64 {
	whole := p.plan
	if m := p.margin(p.halved()); m >= margin-worthRaising {
		return m
	}
	p.take(whole)
	return margin
}
