package design

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/bound"
)

const (
	// boundNodes is the number of lattice nodes times sets of inflows the bound on
	// the length is sought over: some tenths of a second.
	boundNodes = 4e6
	// The lattice's spacing, m: at most as fine as helps, at least as tells.
	boundFinest   = 0.02
	boundCoarsest = 0.5
)

// drained is what a bound on the length is for: inflows by index, and the
// number of outlets.
type drained struct {
	inflows []int
	outlets int
}

// lengthBound is a plan length, m, that no plan draining the inflows to so many
// outlets goes below; NaN where there are more than a bound is found for, or
// where it is not below known. known is the length of a plan.
func (d *job) lengthBound(ctx context.Context, x drained, known float64) (float64, error) {
	var inflows []bound.Inflow
	for _, i := range x.inflows {
		inflows = append(inflows, bound.Inflow{At: d.in[i].At, Exit: d.exits[i].Length})
	}
	if len(inflows) > bound.Most {
		return math.NaN(), nil
	}
	var barriers []bound.Barrier
	for _, w := range d.law.Barriers() {
		barriers = append(barriers, bound.Barrier(w))
	}
	trees := bound.Trees{Inflows: inflows, Outlets: d.outletLines(), Number: x.outlets, Known: known}
	var err error
	if trees.Apart, err = bound.Ways(ctx, barriers, inflows, trees.Outlets, known); err != nil {
		return 0, err
	}
	if len(inflows) == 1 {
		if way := trees.Apart[0][1]; !math.IsInf(way, 1) {
			return way, nil
		}
		return math.NaN(), nil
	}
	plane := bound.Plane{Bound: d.law.Bound(), Step: boundCoarsest, Shut: d.law.Shut}
	plane.Step = math.Min(boundCoarsest, math.Max(boundFinest, bound.StepFor(plane, trees, boundNodes)))
	length, err := bound.Length(ctx, plane, trees)
	if length >= known*(1-notBelow) {
		return math.NaN(), err // nothing shorter than known was found: it says nothing of longer plans
	}
	return length, err
}

// outletLines are the places an outlet may have: points that are given, or the
// stretches of curb between neighbouring places tried and as far beyond.
func (d *job) outletLines() (lines []orb.LineString) {
	if !d.mayDivide() {
		for _, o := range d.out {
			lines = append(lines, orb.LineString{o.at, o.at})
		}
		return lines
	}
	from, to := d.law.CurbReach()
	for first, k := 0, 1; k <= len(d.out); k++ {
		if k < len(d.out) && d.out[k].curb.Station-d.out[k-1].curb.Station < 1.5*curbStep {
			continue
		}
		lines = append(lines, d.law.CurbLine(math.Max(from, d.out[first].curb.Station-curbStep), math.Min(to, d.out[k-1].curb.Station+curbStep)))
		first = k
	}
	return lines
}

// notBelow is the share of a length under which a bound counts as equal to it.
const notBelow = 1e-6

// early seeks the bound that is most likely to be asked for while a plan found
// on the lattice is made better; known is that plan's length. ask waits for it
// and gives the bound asked for, that one or another; end ends the search.
func (d *job) early(ctx context.Context, likely drained, known float64) (ask func(x drained, known float64) (float64, error), end func()) {
	if len(likely.inflows) == 1 { // soon found
		return func(x drained, known float64) (float64, error) { return d.lengthBound(ctx, x, known) }, func() {}
	}
	within, stop := context.WithCancel(ctx)
	var length float64
	var err error
	done := make(chan struct{})
	go func() {
		defer close(done)
		length, err = d.lengthBound(within, likely, known)
	}()
	end = func() {
		stop()
		<-done
	}
	ask = func(x drained, known float64) (float64, error) {
		if !slices.Equal(x.inflows, likely.inflows) || x.outlets != likely.outlets {
			end()
			return d.lengthBound(ctx, x, known)
		}
		<-done
		if length >= known*(1-notBelow) {
			return math.NaN(), err
		}
		return length, err
	}
	return ask, end
}

func everyOf(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}
