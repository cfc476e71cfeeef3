package units

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What is printed to a side reads back on that side, within its last digit.
func TestSides(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, tt := range []struct {
		name  string
		print func(Rounding, float64, System) string
		as    Dimension
		most  float64
		digit [2]float64 // in SI, in feet; the last of the largest
	}{
		{"length", Rounding.Length, Length, 50, [2]float64{0.01, 0.1 * metresPerFoot}},
		{"elevation", Rounding.Elevation, Length, 50, [2]float64{0.001, 0.01 * metresPerFoot}},
		{"depth", Rounding.Depth, Length, 1, [2]float64{0.001, 0.1 * metresPerInch}},
		{"area", Rounding.Area, Area, 0.09, [2]float64{0.01, squareInch}},
		{"slope", func(r Rounding, v float64, _ System) string { return r.Slope(v) }, Slope, 0.1, [2]float64{1e-4, 1e-4}},
	} {
		for range 1000 {
			v := tt.most * rng.Float64()
			for k, s := range []System{SI, IntlFoot} {
				up, down := tt.print(Up, v, s), tt.print(Down, v, s)
				high, err := Parse(up, tt.as)
				low, err2 := Parse(down, tt.as)
				const slack = 1e-9
				if err != nil || err2 != nil || high < v-slack || low > v+slack || math.Abs(high-low-tt.digit[k]) > slack {
					t.Fatalf("%s: %v between %q and %q, %v %v", tt.name, v, down, up, err, err2)
				}
			}
		}
	}
}

// A number that is a digit stays, whatever sums of floats make of it.
func TestSidesOfDigits(t *testing.T) {
	for k := range 2000 {
		v := 0.1524 - 0.0004 + float64(k)*0.001
		if up, down := Up.Elevation(v, SI), Down.Elevation(v, SI); up != down {
			t.Errorf("%v between %s and %s", v, down, up)
		}
	}
	for _, tt := range []struct{ got, want string }{
		{Up.Depth(0.0032, SI), "4 mm"}, {Down.Depth(0.0038, SI), "3 mm"},
		{Up.Depth(0.0003, USFoot), "0.1 in"}, {Up.Depth(0, SI), "0 mm"}, {Down.Depth(-0.0003, SI), "-1 mm"},
		// 3.1817 L/s are 50.43 gal/min, of 231 cubic inches.
		{Up.Flow(0.0031812, SI), "3.19 L/s"}, {Up.Flow(0.0031817, USFoot), "50.5 gpm"}, {Down.Flow(0.0031817, USFoot), "50.4 gpm"},
		{Up.Length(math.NaN(), SI), NoData},
	} {
		if tt.got != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
}
