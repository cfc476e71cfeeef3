package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// Shut tells that no pipe but an inflow's own exit comes within by metres of p,
// at any depth: one rule bars all of that disc, or all of it lies outside where
// pipes may run.
func (w *Law) Shut(p orb.Point, by float64) bool {
	outside := math.Inf(1)
	for _, r := range w.region {
		outside = min(outside, r.distance(p))
	}
	if outside >= by {
		return true
	}
	for _, b := range w.bars {
		if b.bound.Contains(p) && b.distance(p) <= -by {
			return true
		}
	}
	return false
}
