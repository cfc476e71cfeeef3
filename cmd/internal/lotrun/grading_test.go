package lotrun

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/criteria"
	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// A lot below its street, falling 4 % to the house: the driveway is reverse, the
// street's water comes in, and what else is judged is counted.
func TestAudit(t *testing.T) {
	ground := grid.New(grid.NewFrame(0.25, 59.75, 0.5, 0.5), 120, 120)
	for i := range ground.Z {
		_, r := ground.Cell(i)
		y := 59.75 - float64(r)/2
		ground.Z[i] = float32(10 + 0.04*(y-50)) // falls south, from the street at 50 m and more
		if y > 50 {
			ground.Z[i] = float32(10 + 0.02*(y-50))
		}
	}
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
	}
	g := &given{ground: ground, criteria: criteria.Default(), site: &constraint.Site{
		Lots:  []constraint.Lot{{ID: "a", Area: rect(15, 10, 45, 48)}},
		Roofs: []constraint.Roof{{ID: "house", Outline: rect(20, 20, 32, 30)}},
		Curbs: []constraint.Curb{{ID: "c", Line: orb.LineString{{0, 50}, {60, 50}}, Type: constraint.VerticalCurb, Height: 0.15, StreetSide: constraint.Left}},
		Paved: []constraint.Paved{{ID: "drive", Kind: constraint.Driveway, Area: rect(25, 30.5, 29, 50)}},
	}}
	if to := toStreet(constraint.NewLaw(ground, g.site, 0, g.criteria.Limits).Frontage); to != (orb.Point{0, 1}) {
		t.Errorf("the street lies %v of the lot", to)
	}
	a := g.audit(standing(ground, g.site), []int{0})
	says := strings.Join(a.says, "\n")
	// Lawn by hand: of 6 by 8 squares the house with 10 ft round it has more than
	// half of 14, and the drive of 3.
	for _, want := range []string{
		"driveway drive falls toward the house by 4.0 %",
		"street water that stands to the top of curb c comes onto the lot along 30.0 m of its 30.0 m",
		"ground beside 4 walls: it falls away as it should at 0, too little or too much at 4, unknown at 0",
		"lawn: of 31 places it falls as it should at 31, too little or too much at 0, unknown at 0",
	} {
		if !strings.Contains(says, want) {
			t.Errorf("%q\nwant %q", says, want)
		}
	}
	for _, f := range a.findings {
		if f.Source == "" || f.Feature == "" || (f.Why == "") == (f.Status == "unknown") {
			t.Errorf("%+v", f)
		}
	}
}
