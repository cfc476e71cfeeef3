package hydraulics

import (
	"math"
	"testing"
)

// FHWA HEC-22, 4th ed. (2024), Examples 5.1 A and 5.2 A and B, in the feet
// and cfs they print; the rows S07 to S09 of the worked examples, here so that they are checked without the table too.
func TestHandbookGutter(t *testing.T) {
	const cfs = foot * foot * foot
	plain := Gutter{Roughness: 0.016, CrossSlope: 0.02, Grade: 0.01}
	depressed := plain
	depressed.Width, depressed.Depression = 2*foot, 2*inch
	for _, c := range []struct {
		what           string
		got, want, pct float64
	}{
		{"spread of 1.8 cfs, ft", plain.Spread(1.8*cfs) / foot, 9.0, 1},
		{"composite flow at 8.2 ft, cfs", depressed.Flow(8.2*foot) / cfs, 2.3, 2},
		{"composite front share at 8.2 ft", depressed.FrontShare(8.2 * foot), 0.7, 2},
		{"composite spread of 4.2 cfs, ft", depressed.Spread(4.2*cfs) / foot, 11.1, 1},
	} {
		if off := 100 * math.Abs(c.got-c.want) / c.want; off > c.pct {
			t.Errorf("%s: %.4g, handbook %g (%.2f %% off)", c.what, c.got, c.want, off)
		}
	}
}

// Flow rises with spread without a step, also where the water leaves the
// depressed strip, and Spread undoes Flow.
func TestGutterLaws(t *testing.T) {
	g := Gutter{Roughness: 0.016, CrossSlope: 0.02, Grade: 0.005, Width: 0.45, Depression: 0.05}
	last := 0.0
	for k := 1; k <= 4000; k++ {
		spread := float64(k) * 1e-3
		q := g.Flow(spread)
		if !(q > last) || k > 400 && q > last*1.02 {
			t.Fatalf("flow %g at %g m after %g", q, spread, last)
		}
		if back := g.Spread(q); math.Abs(back-spread) > 1e-6 {
			t.Fatalf("spread of the flow at %g m is %g", spread, back)
		}
		last = q
	}
	// By hand: 2 m spread on 2 % and 0.05 m: 0.09 m at the curb; 0.45 m of it on
	// 0.02 + 0.05/0.45 = 0.1311: 0.059 m.
	if d := g.Depth(2); math.Abs(d-0.09) > 1e-12 {
		t.Errorf("depth at 2 m %g, by hand 0.09", d)
	}
	if d := g.Depth(0.45); math.Abs(d-0.059) > 1e-12 {
		t.Errorf("depth at the strip's edge %g, by hand 0.059", d)
	}
	if (Gutter{Roughness: 0.016, CrossSlope: 0.02, Grade: 0.005}).Depth(2) != 0.04 {
		t.Error("one cross slope of 2 % over 2 m is 0.04 m deep")
	}
	// 1.8 cfs spreads 9.0 ft on 2 %, HEC-22 Example 5.1: 0.18 ft at the curb.
	plain := Gutter{Roughness: 0.016, CrossSlope: 0.02, Grade: 0.01}
	if d := plain.Tailwater(100, 1.8*foot*foot*foot) - 100; math.Abs(d-0.18*foot) > 0.01*0.18*foot {
		t.Errorf("1.8 cfs stand %.4f m at the curb, handbook 0.0549", d)
	}
}
