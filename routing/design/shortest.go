package design

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/bound"
)

const (
	// boundNodes is the number of lattice nodes times sets of inflows the bound on
	// the length is sought over: some tenths of a second.
	boundNodes = 5e6
	// The lattice's spacing, m: at most as fine as helps, at least as tells.
	boundFinest   = 0.06
	boundCoarsest = 0.5
)

// lengthBound is a plan length, m, that no plan draining the served inflows to
// as many outlets as the plan goes below; NaN where more are served than a
// bound is found for. known is the length of a plan.
func (d *job) lengthBound(ctx context.Context, known float64) (float64, error) {
	var inflows []bound.Inflow
	var outlets []orb.Point
	for i, in := range d.in {
		if in.Status == Served {
			inflows = append(inflows, bound.Inflow{At: in.At, Exit: d.exits[i].Length})
		}
	}
	if len(inflows) > bound.Most {
		return math.NaN(), nil
	}
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
	return bound.Length(ctx, bound.Plane{
		Bound: box, Step: math.Min(boundCoarsest, math.Max(boundFinest, step)),
		Shut: d.law.Shut,
	}, inflows, outlets, len(d.used), spread, known)
}
