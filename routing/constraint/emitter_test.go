package constraint

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

// A lot of 20 by 30 m over a curb to the south, its roof 10 m back, a septic line
// along its east; setbacks of 3 m each. By hand.
func TestEmitterNear(t *testing.T) {
	nan := math.NaN()
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}, {x0, y0}}} // clockwise
	}
	site := &Site{
		Lots:      []Lot{{ID: "lot", Area: rect(0, 0, 20, 30)}},
		Roofs:     []Roof{{ID: "house", Outline: rect(5, 10, 15, 20), RunoffCoeff: nan, FinishedFloor: nan}},
		Curbs:     []Curb{{ID: "curb", Line: orb.LineString{{-5, -3}, {25, -3}}, Type: VerticalCurb, Height: nan}},
		Utilities: []Utility{{ID: "field", Type: Septic, Line: orb.LineString{{17, 0}, {17, 30}}, Top: nan, Depth: nan, OutsideDiameter: nan, Clearance: nan}},
	}
	limits := Limits{CurbHeight: 0.15, EmitterSetbackBuilding: 3, EmitterSetbackLotLine: 3, EmitterSetbackStreet: 3, SepticSetback: 3}
	w := NewLaw(grid.New(grid.NewFrame(-9.5, 39.5, 1, 1), 40, 50), site, 0, limits)
	for _, tt := range []struct {
		at   orb.Point
		want map[string]float64
	}{
		{orb.Point{10, 5}, map[string]float64{}},
		{orb.Point{10, 8}, map[string]float64{"emitter_setback_building": 2}},
		{orb.Point{10, 2.5}, map[string]float64{"emitter_setback_street": 2.5}},
		{orb.Point{1, 6}, map[string]float64{"emitter_setback_lot_line": 1}},
		{orb.Point{15, 25}, map[string]float64{"septic_setback": 2}},
		{orb.Point{18.5, 1}, map[string]float64{"emitter_setback_street": 1, "emitter_setback_lot_line": 1.5, "septic_setback": 1.5}},
		{orb.Point{10, 15}, map[string]float64{"emitter_setback_building": 0}},
	} {
		near := w.EmitterNear(tt.at)
		if len(near) != len(tt.want) {
			t.Errorf("at %v: %+v, want %v", tt.at, near, tt.want)
		}
		for _, n := range near {
			if want, ok := tt.want[n.Rule]; !ok || math.Abs(n.Away-want) > 1e-9 || n.Limit != 3 {
				t.Errorf("at %v: %+v, want %v", tt.at, n, want)
			}
		}
	}
}
