package hydraulics

import (
	"math"
	"testing"
)

// A grate 0.3 m square, a third of it open, half clogged: perimeter 0.6 m and
// opening 0.015 m2 count. By hand at 0.02 m: weir 1.66 x 0.6 x 0.02^1.5 =
// 0.996 x 0.0028284 = 2.817 L/s; orifice 0.67 x 0.015 x (2 x 9.80665 x 0.02)^0.5 =
// 0.01005 x 0.62631 = 6.294 L/s: the weir. At 0.20 m: weir 89.1, orifice 0.01005 x
// 1.98057 = 19.905 L/s: the orifice.
func TestGrateByHand(t *testing.T) {
	g := Grate{Perimeter: 1.2, OpenArea: 0.03, Clogged: GrateClogged}
	for _, c := range []struct{ depth, want float64 }{{0.02, 0.002817}, {0.20, 0.019905}, {0, 0}} {
		got := g.Capacity(c.depth)
		if math.Abs(got-c.want) > 1e-6 {
			t.Errorf("at %g m: %.6f m3/s, by hand %.6f", c.depth, got, c.want)
		}
		if c.depth > 0 {
			need := g.Needed(got, c.depth)
			if took := need.Capacity(c.depth); math.Abs(took-got) > 1e-12 || need.Perimeter > g.Perimeter+1e-12 || need.OpenArea > g.OpenArea+1e-12 {
				t.Errorf("at %g m %g m3/s needs %+v, which takes %g; %+v does", c.depth, got, need, took, g)
			}
		}
		if back := g.Depth(got); math.Abs(back-c.depth) > 1e-12 {
			t.Errorf("Depth(%g) = %g, want %g", got, back, c.depth)
		}
	}
	if !math.IsInf(Grate{Perimeter: 1, OpenArea: 1, Clogged: 1}.Depth(1e-3), 1) {
		t.Error("a grate clogged altogether takes water at some depth")
	}
}

// Rim 10.00, water at 10.20 over it. Pipe level 9.90: the free orifice, 19.905
// L/s. Pipe level 10.15: 0.05 m drive 0.01005 x (2 x 9.80665 x 0.05)^0.5 =
// 0.01005 x 0.99029 = 9.952 L/s. Pipe level 10.30: nothing goes in.
func TestDrownedGrateByHand(t *testing.T) {
	g := Grate{Perimeter: 1.2, OpenArea: 0.03, Clogged: GrateClogged}
	for _, c := range []struct{ pipe, want float64 }{{9.90, 0.019905}, {10.15, 0.009952}, {10.30, 0}} {
		if got := g.DrownedCapacity(10.20, c.pipe, 10); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("pipe level %g: %.6f m3/s, by hand %.6f", c.pipe, got, c.want)
		}
	}
}

// At the published angles the published loss; between, between. Bend: 0.0033 x
// 45 = 0.1485.
func TestLossCoefficients(t *testing.T) {
	const degree = math.Pi / 180
	for angle, want := range map[float64]float64{0: 0, 15: 0.19, 30: 0.35, 45: 0.47, 60: 0.56, 75: 0.64, 90: 0.70, 120: 0.70, 37.5: 0.41} {
		if got := WyeLoss(angle * degree); math.Abs(got-want) > 1e-12 {
			t.Errorf("wye at %g degrees: %g, want %g", angle, got, want)
		}
	}
	if got := BendLoss(45 * degree); math.Abs(got-0.1485) > 1e-12 {
		t.Errorf("bend of 45 degrees: %g, by hand 0.1485", got)
	}
}
