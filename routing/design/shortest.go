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
	boundNodes = 3e6
	// The lattice's spacing, m: at most as fine as helps, at least as tells.
	boundFinest   = 0.06
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
	var outlets []orb.Point
	spread := 0.0
	for _, o := range d.out {
		outlets = append(outlets, o.at)
		if o.curb != nil && o.id == "" {
			spread = curbStep
		}
	}
	box := d.law.Bound()
	area := (box.Max[0] - box.Min[0]) * (box.Max[1] - box.Min[1])
	step := math.Sqrt(area * float64(int(1)<<len(inflows)) / boundNodes)
	length, err := bound.Length(ctx, bound.Plane{
		Bound: box, Step: math.Min(boundCoarsest, math.Max(boundFinest, step)), Shut: d.law.Shut,
	}, inflows, outlets, x.outlets, spread, known)
	if length >= known*(1-notBelow) {
		return math.NaN(), err // nothing shorter than known was found: it says nothing of longer plans
	}
	return length, err
}

// notBelow is the share of a length under which a bound counts as equal to it.
const notBelow = 1e-6

// guessedLong is how much longer than straight lines a plan is expected at most.
const guessedLong = 1.7

// early seeks the bound that is most likely to be asked for, all inflows to one
// outlet, while the plan is made. ask waits for it and gives the bound asked
// for, that one or another; end ends the search.
func (d *job) early(ctx context.Context) (ask func(x drained, known float64) (float64, error), end func()) {
	all := drained{everyOf(len(d.in)), 1}
	known := guessedLong * d.looksLong(all.inflows)
	within, stop := context.WithCancel(ctx)
	var length float64
	var err error
	done := make(chan struct{})
	go func() {
		defer close(done)
		length, err = d.lengthBound(within, all, known)
	}()
	end = func() {
		stop()
		<-done
	}
	ask = func(x drained, known float64) (float64, error) {
		if !slices.Equal(x.inflows, all.inflows) || x.outlets != all.outlets {
			end()
			return d.lengthBound(ctx, x, known)
		}
		<-done
		if err == nil && math.IsNaN(length) {
			return d.lengthBound(ctx, x, known)
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
