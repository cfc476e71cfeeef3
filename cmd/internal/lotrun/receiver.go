package lotrun

import (
	"math"
	"sync"

	"github.com/paulmach/orb"

	"curbfall/routing/hydraulics"
	"curbfall/terrain/flow"
)

// receiver tells what area drains to a place, roofs left out, m2, and the same
// times its runoff coefficients.
type receiver struct {
	*water
	coefficient []float64 // by cell; below 0 under roofs
	// overland is both as they run over each cell in shares, in flow.Parts.
	// Seldom asked, so it is made when it first is.
	overland func() (area, weighted []uint64)
}

func (w *water) receiver(coefficient []float64) *receiver {
	return &receiver{w, coefficient, sync.OnceValues(func() (area, weighted []uint64) {
		area = flow.Disperse(w.filled, w.dir, func(i int) float64 {
			if coefficient[i] < 0 {
				return 0
			}
			return 1
		})
		return area, flow.Disperse(w.filled, w.dir, func(i int) float64 { return math.Max(0, coefficient[i]) })
	})}
}

// at is what comes to a point: to the low spot it lies in, else over the slope.
// There, single ways gather what a swale brings, but over even lawn they pass
// most places by, wherever the raster's noise will have it; shares give each
// place its part of the lawn. The more of the two is what a drain has to take.
func (r *receiver) at(p orb.Point) (area, weighted float64) {
	at, ok := r.cellAt(p)
	if !ok {
		return 0, 0
	}
	if spot := r.water.at[at]; spot >= 0 {
		return r.sum(r.catchment(spot))
	}
	area, weighted = r.sum(flow.Upstream(r.filled, r.dir, at))
	bare, running := r.overland()
	metres := r.surface.CellArea() / flow.Parts
	return math.Max(area, float64(bare[at])*metres), math.Max(weighted, float64(running[at])*metres)
}

// sum is what comes from some cells.
func (r *receiver) sum(cells []int) (area, weighted float64) {
	var all hydraulics.Catchment
	for _, i := range cells {
		if c := r.coefficient[i]; c >= 0 {
			all.Add(r.surface.CellArea(), c)
		}
	}
	return all.Area, all.Weighted
}
