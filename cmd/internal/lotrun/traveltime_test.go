package lotrun

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/criteria"
	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// slopingLawn falls 2 % southward over 60 m, at cells of a metre, its southernmost
// row at y = 0.
func slopingLawn() *grid.Grid {
	g := grid.New(grid.NewFrame(0, 60, 1, 1), 21, 61)
	for i := range g.Z {
		_, r := g.Cell(i)
		g.Z[i] = float32(10 - 0.02*float64(r))
	}
	return g
}

// rain24h is a 2-year rain of 24 hours, 3.05 in.
const rain24h = 3.05 * 0.0254

// By hand, TR-55 Eq. 3-3 and Fig. 3-1. Straight down 49 m of lawn to y = 10, for the
// row at the raster's edge drains out: 100 ft
// as a sheet take 0.007 x (0.15 x 100)^0.8 / (3.05^0.5 x 0.02^0.4) = 0.007 x 8.7272 /
// (1.74642 x 0.209128) = 0.167269 h = 602.17 s; the other 18.52 m run at 16.1345 x
// 0.02^0.5 = 2.28176 ft/s = 0.695482 m/s: 26.63 s. Paved all the way, 0.011 makes the
// sheet (0.011/0.15)^0.8 = 0.123690 as slow, 74.48 s, and the rest runs at 20.3282 x
// 0.02^0.5 ft/s = 0.876252 m/s: 21.14 s.
func TestTravelTimeByHand(t *testing.T) {
	lawn := slopingLawn()
	for name, c := range map[string]struct {
		site *constraint.Site
		want float64
	}{
		"lawn":  {&constraint.Site{}, 602.17 + 26.63},
		"paved": {&constraint.Site{Paved: []constraint.Paved{{ID: "p", Kind: constraint.Patio, Area: orb.Polygon{{{-1, -1}, {21, -1}, {21, 61}, {-1, 61}, {-1, -1}}}}}}, 74.48 + 21.14},
	} {
		w := standing(lawn, nil)
		travel := w.travelOver(c.site, rain24h)
		if got := travel.to(orb.Point{10, 10}, c.site); math.Abs(got-c.want) > 0.05 {
			t.Errorf("%s: %.2f s to a point, by hand %.2f", name, got, c.want)
		}
		// A line across takes the same way, from whichever of its cells.
		if got := travel.to(orb.LineString{{5, 10}, {15, 10}}, c.site); math.Abs(got-c.want) > 0.05 {
			t.Errorf("%s: %.2f s to a line, by hand %.2f", name, got, c.want)
		}
	}
}

// Level ground is taken to fall by what lidar can tell: 40 m at 0.5 %, the sheet
// 602.17 x 4^0.4 = 1048.46 s, and 9.52 m at half of 0.695482 m/s: 27.38 s.
func TestTravelTimeOnLevelGround(t *testing.T) {
	w := standing(slopingLawn(), nil)
	var s, g stretch
	s.add(sheetMost, 0, false)
	g.add(9.52, 0.001, false)
	if got := s.asSheet(rain24h) + g.gathered(); math.Abs(got-1075.84) > 0.1 {
		t.Errorf("%.2f s, by hand 1075.84", got)
	}
	travel := w.travelOver(&constraint.Site{}, rain24h)
	if got := travel.to(orb.Point{10, 60}, &constraint.Site{}); got != 0 {
		t.Errorf("%v s to where nothing comes from", got)
	}
}

// A hollow's water is there once it stands; what stands in the way of a roof goes
// round it and is timed from its wall. Both are less than the whole way.
func TestTravelTimeEnds(t *testing.T) {
	g := slopingLawn()
	for i := range g.Z {
		if c, r := g.Cell(i); r >= 40 && r <= 50 && c >= 5 && c <= 15 {
			g.Z[i] -= 0.4
		}
	}
	w := standing(g, nil)
	travel := w.travelOver(&constraint.Site{}, rain24h)
	got := travel.to(orb.Point{10, 12}, &constraint.Site{}) // y = 12 is row 48, the hollow's north wall row 40
	if got < 602 || got > 602+28 {
		t.Errorf("%.1f s to a hollow 40 m down, its floor 8 m further", got)
	}
	house := &constraint.Site{Roofs: []constraint.Roof{{ID: "h", Outline: orb.Polygon{{{-1, 25}, {21, 25}, {21, 61}, {-1, 61}, {-1, 25}}}, RunoffCoeff: math.NaN()}}}
	plain := standing(slopingLawn(), house)
	if got, whole := plain.travelOver(house, rain24h).to(orb.Point{10, 10}, house), 628.80; math.Abs(got-602.17*math.Pow(14/sheetMost, 0.8)) > 1 || got > 0.6*whole {
		t.Errorf("%.1f s from a wall, whose nearest free cell is 14 m up, %.1f from the top of the lawn", got, whole)
	}
}

// What lies in a catchment says what runs off it, by its coefficient in the storm;
// gravel sheds as gravel, whatever it is laid for, and not as fast as a pavement.
func TestCoefficients(t *testing.T) {
	square := func(x float64) orb.Polygon {
		return orb.Polygon{{{x - 1, 29}, {x + 1, 29}, {x + 1, 31}, {x - 1, 31}, {x - 1, 29}}}
	}
	site := &constraint.Site{Paved: []constraint.Paved{
		{ID: "w", Kind: constraint.Walk, Area: square(2)}, {ID: "d", Kind: constraint.Driveway, Area: square(6)},
		{ID: "p", Kind: constraint.Patio, Area: square(10)}, {ID: "g", Kind: constraint.Driveway, Area: square(14), Gravel: true},
	}, Roofs: []constraint.Roof{{ID: "h", Outline: square(18), RunoffCoeff: math.NaN()}}}
	w, s := standing(slopingLawn(), site), criteria.Default().Storm
	for years, want := range map[float64][]float64{
		10:  {0.9, 0.9, 0.85, 0.6, -1, 0.35},
		100: {1, 1, 1, 0.75, -1, 0.4375},
	} {
		s.Years = years
		c := w.coefficients(site, s)
		for k, x := range []float64{2, 6, 10, 14, 18, 12} {
			if got := c[cellIn(w, x)]; math.Abs(got-want[k]) > 1e-12 {
				t.Errorf("%g years, x %g: %g runs off, want %g", years, x, got, want[k])
			}
		}
	}
	if paved := w.travelOver(site, rain24h).paved; !paved[cellIn(w, 6)] || paved[cellIn(w, 14)] {
		t.Error("water runs over gravel as over a pavement, or over a pavement as over lawn")
	}
}

func cellIn(w *water, x float64) int {
	i, _ := w.cellAt(orb.Point{x, 30})
	return i
}

// Only a table's rain asks for times.
func TestTravelTimeAsked(t *testing.T) {
	w, s := standing(slopingLawn(), nil), criteria.Default().Storm
	if w.forDesign(&constraint.Site{}, s).Travel != nil {
		t.Error("times for one figure")
	}
	s.Rain, s.Rain24h = s.Over, rain24h
	if w.forDesign(&constraint.Site{}, s).Travel == nil {
		t.Error("no times for a table")
	}
	s.Rain24h = 0
	if w.forDesign(&constraint.Site{}, s).Travel != nil {
		t.Error("times without the rain that tells them")
	}
}

// The demo by a rainfall table, from its file to what is printed: lawful by the
// checker that shares no code; the lawn's drain has the lighter rain of its time,
// each inflow's and each pipe's flow what its time brings by the table as written;
// the storm's water is all found again.
func TestDesignByTable(t *testing.T) {
	folder := demoFolder(t)
	table, err := filepath.Abs(filepath.Join("..", "..", "..", "io", "atlas", "testdata", "invented_depth_in.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, DemoCriteria), []byte("storm:\n  return_period: 1 year\n  table: "+table+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	designed(t, folder)
	var printed struct {
		Inflows []struct {
			ID, Kind  string
			Area      float64 `json:"area_m2"`
			Coeff     float64 `json:"runoff_coeff"`
			Time      float64 `json:"time_of_conc_min"`
			Intensity float64 `json:"intensity_mm_per_h"`
			Flow      float64 `json:"design_flow_lps"`
		}
		Flows []struct {
			Pipe string
			Flow float64 `json:"design_flow_lps"`
		} `json:"pipe_flows"`
	}
	data, err := os.ReadFile(filepath.Join(folder, "out", "summary.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &printed); err != nil {
		t.Fatal(err)
	}
	// The 1-year column: 0.387 in of 5 minutes, 0.548 of 10, 0.671 of 15, 0.949 of 30.
	depths := []struct{ minutes, inches float64 }{{5, 0.387}, {10, 0.548}, {15, 0.671}, {30, 0.949}}
	intensity := func(minutes float64) float64 {
		for k := 1; k < len(depths); k++ {
			a, b := depths[k-1], depths[k]
			if minutes <= b.minutes {
				i, j := a.inches*25.4*60/a.minutes, b.inches*25.4*60/b.minutes
				return i * math.Pow(j/i, math.Log(minutes/a.minutes)/math.Log(b.minutes/a.minutes))
			}
		}
		return math.NaN()
	}
	slow, sum := 0, 0.0
	for _, in := range printed.Inflows {
		if in.Kind == "inlet" && in.Time > 10 {
			slow++
		} else if in.Kind == "downspout" && in.Time != 5 {
			t.Errorf("%s: a roof's water takes %v minutes", in.ID, in.Time)
		}
		want := intensity(in.Time)
		if math.Abs(in.Intensity-want) > 1e-6*want || math.Abs(in.Flow-in.Area*in.Coeff*want/3600) > 1e-6*in.Flow {
			t.Errorf("%+v, by the table %v mm/h", in, want)
		}
		sum += in.Flow
	}
	most := 0.0
	for _, p := range printed.Flows {
		most = math.Max(most, p.Flow)
	}
	if slow != 1 || most >= sum {
		t.Errorf("%d slow inlets; %v L/s in the fullest pipe of %v that enter", slow, most, sum)
	}
	balanced(t, Inputs{DEM: filepath.Join(folder, DemoGround), Site: filepath.Join(folder, DemoSite), Criteria: filepath.Join(folder, DemoCriteria)})
}
