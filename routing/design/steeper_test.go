package design

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// tilted is the test lot with all ground, the street's too, falling east, and 9
// L/s from an inlet in the back: the way straight on is the shortest, with less
// fall than one to the curb's low end. One size, which carries 9 L/s at 2.8 %.
func tilted(t *testing.T, slopeMin float64, outlets ...constraint.Outlet) *Result {
	t.Helper()
	nan := math.NaN()
	ground, site := testLot(0.026)
	for i := range ground.Z {
		c, r := ground.Cell(i)
		x, _ := ground.ToSite(float64(c), float64(r))
		ground.Z[i] += float32(0.03 * (10 - x))
	}
	site.Roofs[0].Outline = rectangle(60, 12, 61, 13)
	site.Inlets = []constraint.Inlet{{ID: "ad", At: orb.Point{5, 27}, Rim: nan, GrateOpenArea: nan, GratePerimeter: nan}}
	site.Outlets = outlets
	c := testCriteria()
	c.Limits.SlopeMin, c.Limits.OutletsMax = slopeMin, 1
	c.Catalogue.Bores = c.Catalogue.Bores[:1]
	water := Water{Runoff: func(orb.Point) (float64, float64) { return 500, 0.009 / c.Storm.Intensity }}
	r, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, water, c)
	if err != nil || r.Status != Feasible {
		t.Fatal(err, r.Verdict)
	}
	return r
}

// A pipe allowed to lie flatter may still lie as steep: a smaller slope_min
// leaves no more of the flow over, but for the thirtieth that is not sought.
func TestFlatterAllowedLeavesNoMoreOver(t *testing.T) {
	steep := tilted(t, 0.02)
	t.Logf("slope_min 2 %%: %.2f L/s over, %.2f m", steep.Leftover*1000, steep.PlanLength)
	for _, slope := range []float64{0.002, 0.01} {
		r := tilted(t, slope)
		t.Logf("slope_min %g %%: %.2f L/s over, %.2f m", slope*100, r.Leftover*1000, r.PlanLength)
		if r.Leftover > steep.Leftover+0.009/30 {
			t.Errorf("slope_min %g %%: %.2f L/s left over, %.2f with 2 %%", slope*100, r.Leftover*1000, steep.Leftover*1000)
		}
	}
}

// An outlet drawn where the free curb's came to be leaves no more over.
func TestDrawnOutletLeavesNoMoreOver(t *testing.T) {
	free := tilted(t, 0.01)
	for _, v := range free.Network.Nodes {
		if v.Kind != network.OutletNode {
			continue
		}
		drawn := tilted(t, 0.01, constraint.Outlet{ID: "o", At: v.At, Type: constraint.CurbFace, Invert: math.NaN()})
		if drawn.Leftover > free.Leftover+0.009/30 {
			t.Errorf("%.2f L/s left over at %v, %.2f where the curb is free", drawn.Leftover*1000, v.At, free.Leftover*1000)
		}
	}
}
