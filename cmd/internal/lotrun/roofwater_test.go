package lotrun

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/criteria"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/network"
	"curbfall/terrain/grid"
)

// Where a roof's water comes down, by hand: at its drawn downspouts by their
// shares, the rest off its eaves; off the eaves alone where a design only proposes
// downspouts. As things are it is the same with a design and without, and none is
// lost, of a roof smaller than a cell too.
func TestRoofWater(t *testing.T) {
	ground := grid.New(grid.NewFrame(0.5, 19.5, 1, 1), 40, 20)
	for i := range ground.Z {
		ground.Z[i] = 10
	}
	roof := func(id string, x0, y0, x1, y1 float64) constraint.Roof {
		return constraint.Roof{ID: id, Outline: orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}, RunoffCoeff: 0.9}
	}
	site := &constraint.Site{
		Roofs: []constraint.Roof{roof("drawn", 2, 5, 12, 15), roof("proposed", 16, 5, 22.25, 15), roof("shed", 30.1, 9.1, 30.9, 9.9)},
		Downspouts: []constraint.Downspout{
			{ID: "a", At: orb.Point{1.5, 4.5}, Roof: "drawn", Share: 0.25},
			{ID: "b", At: orb.Point{12.5, 15.5}, Roof: "drawn", Share: 0.5},
		},
	}
	s := criteria.Default().Storm
	s.Intensity, s.Lawn = 0.1, 0 // 1 m2 of roof brings 0.09 m3/s, lawn nothing
	w := standing(ground, site)
	spout := func(id, roof string, x, y, area float64, assumed bool) design.Inflow {
		return design.Inflow{ID: id, Kind: network.Downspout, At: orb.Point{x, y}, Roof: roof, Area: area, Flow: 0.09 * area, Assumed: assumed, Status: design.Served}
	}
	d := &design.Result{Storm: s, Inflows: []design.Inflow{
		spout("p1", "proposed", 15.5, 10, 31.25, true), spout("p2", "proposed", 23, 10, 31.25, true),
	}}
	for says, d := range map[string]*design.Result{"nothing designed": nil, "a design for the second roof": d} {
		from := w.rainOn(site, s, d).sources()
		sum := func(x0, x1 int) (all float64) {
			for i, f := range from {
				if c, _ := ground.Cell(i); x0 <= c && c < x1 {
					all += f
				}
			}
			return all
		}
		at := func(x, y float64) float64 { i, _ := w.cellAt(orb.Point{x, y}); return from[i] }
		for _, v := range [][2]float64{
			{at(1.5, 4.5), 0.25 * 9}, {at(12.5, 15.5), 0.5 * 9}, {at(5.5, 8.5), 0.25 * 9 / 100}, // of 100 cells
			{sum(0, 14), 9},
			{sum(14, 25), 0.09 * 62.5}, {at(15.5, 10), 0}, {at(18.5, 8.5), 0.09 * 62.5 / 60}, // centres of 6 columns by 10 lie in it
			{at(30.5, 9.5), 0.09 * 0.64}, {sum(25, 40), 0.09 * 0.64},
		} {
			if math.Abs(v[0]-v[1]) > 1e-9 {
				t.Errorf("%s: %v m3/s, by hand %v", says, v[0], v[1])
			}
		}
	}
}
