package design

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// A yard so flat that no 4 in pipe comes down to the curb at 1 % is drained by one of
// 8 in at 0.5 %, and whether it rains more does not matter.
func TestLargeMainForFall(t *testing.T) {
	large := func() constraint.Bore {
		s := constraint.Size{Family: "pvc_sdr35", Material: "SDR 35", Nominal: "8 in", Diameter: 8 * 0.0254, Inside: 0.2017, Outside: 0.2134, Roughness: 0.012}
		return constraint.Bore{Nominal: s.Nominal, Diameter: s.Diameter, Lawn: s, Hard: s, Outlet: s}
	}()
	posed := func(flat, rain float64, bores ...constraint.Bore) *job {
		ground, site := testLot(0)
		for i := range ground.Z {
			c, r := ground.Cell(i)
			if _, y := ground.ToSite(float64(c), float64(r)); y > -3 {
				ground.Z[i] = float32(10 + 0.06*math.Min(y+3, 6) + flat)
			}
		}
		site.Roofs = nil
		nan := math.NaN()
		site.Inlets = []constraint.Inlet{{ID: "ad", At: orb.Point{10, 28}, Rim: nan, GrateOpenArea: nan, GratePerimeter: nan}}
		c := testCriteria()
		c.Catalogue.Bores = append(c.Catalogue.Bores, bores...)
		c.Storm.Intensity *= rain
		c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
		law := constraint.NewLaw(ground, site, 0, c.Limits)
		d, _, err := pose(law, site, Water{Runoff: func(orb.Point) (float64, float64) { return 30, 0.5 }}, c)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	short := func(d *job) float64 {
		v, err := d.now().verdict(t.Context(), 0, math.Inf(-1), true)
		if err != nil {
			t.Fatal(err)
		}
		return -v.margin()
	}
	// 31 m from the curb the 8 in pipe needs 0.12 m less fall, and lies 0.11 m deeper.
	const lacking = 0.004
	flat := short(posed(0, 1)) - lacking
	if x := short(posed(flat, 1)); math.Abs(x-lacking) > 0.001 {
		t.Fatalf("without 8 in short by %.4f m, want %.3f m", x, lacking)
	}
	for _, rain := range []float64{0.2, 3} {
		d := posed(flat, rain, large)
		wide, err := Lot(t.Context(), d.law, d.site, d.water, d.criteria)
		if err != nil {
			t.Fatal(err)
		}
		if wide.Status != Feasible {
			t.Errorf("rain times %g: %s", rain, wide.Verdict)
			continue
		}
		if p := wide.Network.Pipes[0]; p.Size.Nominal != "8 in" || p.Slope() > 0.01 {
			t.Errorf("rain times %g: the first pipe is %s at %.2f %%, want 8 in under 1 %%", rain, p.Size.Nominal, 100*p.Slope())
		}
		if !slices.ContainsFunc(wide.Notes, func(s string) bool { return strings.Contains(s, "8 in for fall") }) {
			t.Errorf("rain times %g: no note says what the 8 in pipe is for: %q", rain, wide.Notes)
		}
	}
}
