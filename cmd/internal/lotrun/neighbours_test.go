package lotrun

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/criteria"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// A valley falls east over two lots: all that runs onto the western one, and what
// starts there, leaves it in the valley's line onto the other.
func TestConcentrated(t *testing.T) {
	ground := grid.New(grid.NewFrame(0.5, 39.5, 1, 1), 60, 40)
	for i := range ground.Z {
		c, r := ground.Cell(i)
		ground.Z[i] = float32(10 - 0.01*float64(c) + 0.1*math.Abs(float64(r)-20))
	}
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
	}
	c := criteria.Default()
	c.Storm.Intensity = 0.1 / 3600
	site := &constraint.Site{Lots: []constraint.Lot{{ID: "west", Area: rect(10, 10, 30, 30)}, {ID: "east", Area: rect(30, 10, 50, 30)}}}
	y := &yard{water: standing(ground, site), ground: ground, site: site, criteria: c}
	sides := y.boundaryFlows(site, y.rainOn(site, c.Storm, nil), nil, nil)
	each := 0.35 * c.Storm.Intensity // from a cell
	// By hand: columns 1 to 29 and rows 1 to 38 drain to the valley and along it; the
	// ground known ends round them. Of those, columns 1 to 9 come in along the valley
	// and rows 1 to 9 and 30 to 38 of 20 columns over the lot's other sides.
	for k, want := range []vector.Over{
		{Net: -20 * 9 * each, In: 20 * 9 * each},
		{Net: 29 * 38 * each, Most: 29 * 38 * each, MostAt: 9.5},
		{Net: -20 * 9 * each, In: 20 * 9 * each},
		{Net: -9 * 38 * each, In: 9 * 38 * each},
	} {
		got := sides[k].Before
		for _, v := range [][2]float64{{got.Net, want.Net}, {got.In, want.In}, {got.Most, want.Most}} {
			if math.Abs(v[0]-v[1]) > 1e-6*29*38*each {
				t.Errorf("side %d: %+v, by hand %+v", k+1, got, want)
			}
		}
		if want.Most > 0 && math.Abs(got.MostAt-want.MostAt) > 1 {
			t.Errorf("side %d: most of it at %v m, by hand %v", k+1, got.MostAt, want.MostAt)
		}
	}
	for k := range sides {
		sides[k].After = &sides[k].Before
	}
	says := strings.Join(y.neighbourWords("today", sides), "\n")
	for _, want := range []string{
		"today 6.8 L/s run onto the lot: 1.7 L/s over its south side (side 1), 1.7 L/s over its north side (side 3), 3.3 L/s over its west side (side 4)",
		"today 10.7 L/s leave the lot in one place over its east side (side 2), 9.5 m along it, onto east; as much as it is: ",
	} {
		if !strings.Contains(says, want) {
			t.Errorf("%q, want %q", says, want)
		}
	}
	y.lot = 1 // its water leaves where nobody's lot is drawn
	if says := strings.Join(y.neighbourWords("today", sides), "\n"); strings.Contains(says, "one place") || !strings.Contains(says, "run onto the lot") {
		t.Errorf("%q", says)
	}
}

// Over one side alone the figure is told once, and so is one that stays.
func TestToldOnce(t *testing.T) {
	y := &yard{site: &constraint.Site{Lots: []constraint.Lot{
		{ID: "lot", Area: orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}}}, {ID: "east", Area: orb.Polygon{{{10, 0}, {20, 0}, {20, 10}, {10, 10}, {10, 0}}}}}}}
	before := vector.Over{In: 0.0005, Most: 0.00502, MostAt: 5}
	side := func(after float64) []vector.BoundaryFlow {
		return []vector.BoundaryFlow{{Lot: "lot", Side: 2, Line: orb.LineString{{10, 0}, {10, 10}}, Before: before, After: &vector.Over{Most: after, MostAt: 5}}}
	}
	for after, want := range map[float64]string{0.00501: "onto east; as much as it is: ", 0.003: "onto east; 5.0 L/s as it is: "} {
		says := strings.Join(y.neighbourWords("today", side(after)), "\n")
		for _, w := range []string{want, "today 0.5 L/s run onto the lot over its east side (side 2)"} {
			if !strings.Contains(says, w) {
				t.Errorf("%q does not say %q", says, w)
			}
		}
	}
}
