package design

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// The street of the test lot is level along its curb, so its gutter is taken to
// fall 0.2 %. 20 L/s run to it, and the roof brings 80 m2 x 0.95 x 4 in/h = 2.1449
// L/s: Q = 0.376 / 0.016 x 0.02^1.67 x 0.002^0.5 x T^2.67. 0.02^1.67 = 0.0014545,
// 0.002^0.5 = 0.0447214: Q = 0.0015286 T^2.67, and T = (0.0221449 / 0.0015286)^(1/2.67)
// = 14.487^0.374532 = e^(2.67325 x 0.374532) = 2.7216 m: 0.054432 m deep at the curb.
func TestStreetWaterByHand(t *testing.T) {
	ground, site := testLot(0.05)
	c := testCriteria()
	c.Tailwater = nothingGiven
	c.Tailwater.GutterFlow = true
	c.Street = Street{Roughness: 0.016, CrossSlope: 0.02}
	water := Water{Runoff: func(p orb.Point) (float64, float64) {
		if p[1] < -3 {
			return 1, 0.020 / c.Storm.Intensity
		}
		return 0, 0
	}}
	r, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.Network.Nodes {
		if v := &r.Network.Nodes[i]; v.Kind == network.OutletNode {
			if got := v.Street - v.Gutter; math.Abs(got-0.054432) > 1e-5 || v.HGL < v.Street {
				t.Errorf("%.6f m over the gutter, by hand 0.054432; the grade line ends at %.4f, the street's water stands at %.4f", got, v.HGL, v.Street)
			}
		}
	}
	if !strings.Contains(strings.Join(r.Assumed, "\n"), "0.054 m over the gutter: the flow that runs to it") {
		t.Errorf("%q", r.Assumed)
	}
}
