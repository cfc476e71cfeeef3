package design

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// What fittings cost beside pipe, in metres of plain pipe; ours, common
// practice, no source.
const (
	bendPrice  = 0.3 // a bend, and the care it takes
	basinPrice = 3.0 // a basin, where water turns more than a fitting does
	tightPrice = 3.0 // a metre that a pipe is shorter than shortPipe
)

// shortPipe is the least length a crew can cut and join between two fittings,
// m; common practice, no source.
const shortPipe = 0.2

// pipesApart is how far pipes lie apart from middle to middle where they do not
// run into each other, m: two of 6 in side by side in one trench, hardly.
const pipesApart = 0.2

// joinMost is the largest turn water takes where pipes join: a wye of 45
// degrees. A joint gives a little, a checker's rounding far less.
const joinMost = math.Pi/4 + turnSlack

// turnSlack is rounding in an angle between two pipes, radians.
const turnSlack = 1e-9

// firstMove is how far points are moved at first, in lattice steps.
const firstMove = 2

// refined frees a tree found on the lattice from it.
func (d *job) refined(ctx context.Context, t tree, p *planned) tree {
	plan, _ := search.Refine(ctx, d.planOf(t), d.rules(p.bore), firstMove*p.step)
	return d.treeOf(plan)
}

// fitted turns a tree so that bends and wyes that are sold make it, as far as
// the law lets it.
func (d *job) fitted(ctx context.Context, t tree, p *planned) tree {
	plan, _ := search.Fit(ctx, d.planOf(t), d.rules(p.bore))
	return d.treeOf(plan)
}

// planOf is a tree as the search moves it.
func (d *job) planOf(t tree) search.Plan {
	plan := make(search.Plan, len(t))
	for v, x := range t {
		plan[v] = search.Point{Vertex: search.Vertex{At: x.at, Next: x.next, Source: x.inflow, Outlet: x.outlet}, Along: math.NaN()}
		if x.outlet >= 0 {
			if o := d.used[x.outlet]; o.curb != nil && o.id == "" {
				plan[v].Along = o.curb.Station
			}
		}
	}
	return plan
}

// treeOf is a plan as it is laid, its outlets where the plan has moved them.
func (d *job) treeOf(plan search.Plan) tree {
	used := slices.Clone(d.used)
	t := make(tree, len(plan))
	for v, s := range plan {
		t[v] = vertex{at: s.At, next: s.Next, inflow: s.Source, outlet: s.Outlet}
		if s.Outlet >= 0 {
			used[s.Outlet], _ = d.slid(s.Outlet, s.Along)
		}
	}
	d.used = used
	return t
}

// rules are the law and the prices for moving a plan's points.
func (d *job) rules(bore int) search.Rules {
	return search.Rules{
		Start: func(int) float64 { return math.Inf(1) },
		Line: func(source, outlet int, along float64) (constraint.Line, float64) {
			return d.lineOf(bore, source, outlet, along)
		},
		Outlet: func(outlet int, along float64) (orb.Point, float64, bool) {
			x, ok := d.slid(outlet, along)
			return x.at, x.minInvert, ok
		},
		Turn:     d.turnPrice,
		Most:     func(joined bool) float64 { return d.turnMost(joined) },
		Short:    shortPipe,
		TooShort: tightPrice,
		Split:    math.Inf(1),
		Apart:    pipesApart,
	}
}

// slid is an outlet moved to a station along the curb; one with a place of its
// own stays where it is.
func (d *job) slid(outlet int, along float64) (discharge, bool) {
	x := d.used[outlet]
	if math.IsNaN(along) || along == x.curb.Station {
		return x, true
	}
	from, to := d.law.CurbReach()
	if along < from || along > to {
		return x, false
	}
	p, ok := d.law.CurbPoint(along)
	x.at, x.curb, x.minInvert = p.At, &p, p.MinInvert
	return x, ok
}

// lineOf is the law for a pipe of a size, and its least slope.
func (d *job) lineOf(size, source, outlet int, along float64) (constraint.Line, float64) {
	bore := d.criteria.Catalogue.Bores[size]
	slope := d.slopeMin(bore)
	exit := constraint.Exit{}
	if source >= 0 {
		exit = d.exits[source]
	}
	if outlet >= 0 {
		switch x, _ := d.slid(outlet, along); {
		case x.curb != nil:
			slope = d.holeSlope(x.hole, x.holeFlow)
			return onOneGrade(d.law.LeaveToCurb(d.criteria.Catalogue.Bores[x.hole].Outlet, *x.curb, exit), slope, x.minInvert), slope
		case x.kind == constraint.Daylight:
			return d.law.EnterDaylight(bore, x.minInvert, slope), slope
		}
	}
	return d.law.Leave(bore, exit), slope
}

// turnMost is the largest turn a fitting takes, radians.
func (d *job) turnMost(joined bool) float64 {
	if joined {
		return joinMost
	}
	return d.criteria.Limits.BendMax + turnSlack
}

// turnPrice prices a turn of water coming from a at b toward c: nothing where
// the pipe runs straight or a wye takes it, a fitting, or a basin.
func (d *job) turnPrice(a, b, c orb.Point, joined bool) float64 {
	turn := turnAt(a, b, c)
	switch {
	case turn > d.turnMost(joined):
		return basinPrice
	case joined || turn < straightTurn:
		return 0
	}
	return bendPrice
}

// straightTurn is a turn that needs no fitting: a joint gives as much, radians.
// Common practice, no source.
const straightTurn = math.Pi / 180
