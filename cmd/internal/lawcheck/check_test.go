package lawcheck

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

func checkLot(t *testing.T, l *lot) []Violation {
	t.Helper()
	dir := t.TempDir()
	dem, sitePath := l.write(t, dir)
	v, err := Check(dem, sitePath, "lot-1", dir)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// sharpWye has p4 meet the main at 50 degrees; in a trap at b1 water turns.
func (l *lot) sharpWye() {
	l.move("b1", 10, 22)
	l.kinds["b1"] = "sediment_trap"
}

// The turns of the lot made by hand: 45 degrees into n1, none at b1, 45 into
// the wye. A way of 12 east and 10 south turns by atan 1.2, 50 degrees.
func TestTurns(t *testing.T) {
	for _, tt := range []struct {
		name   string
		rule   Rule // "" where lawful
		change func(l *lot)
	}{
		{"as drawn", "", func(*lot) {}},
		{"a bend of 50 degrees", BendMax, func(l *lot) { l.move("n1", 22.4, 22) }}, // 2.4 east, 2 south
		{"a cleanout is a fitting", BendMax, func(l *lot) { l.move("n1", 22.4, 22); l.kinds["n1"] = "cleanout" }},
		{"a grade break is no excuse", BendMax, func(l *lot) { l.move("n1", 22.4, 22); l.kinds["n1"] = "grade_break" }},
		{"a trap turns freely", "", func(l *lot) { l.move("n1", 22.4, 22); l.kinds["n1"] = "sediment_trap" }},
		{"a basin turns freely", "", func(l *lot) { l.move("n1", 22.4, 22); l.kinds["n1"] = "inlet" }},
		{"the limit printed holds", BendMax, func(l *lot) { l.limits["bend_max"] = 0.5 }},
		{"a wider limit for bends", "", func(l *lot) { l.move("n1", 22.4, 22); l.limits["bend_max"] = 1 }},
		{"a wye at 50 degrees", WyeAngle, func(l *lot) { l.sharpWye() }},
		{"a wye keeps to 45 whatever bends may", WyeAngle, func(l *lot) { l.sharpWye(); l.limits["bend_max"] = 1 }},
		{"two pipes into a node are a wye by any name", WyeAngle, func(l *lot) { l.sharpWye(); l.kinds["w"] = "bend" }},
		{"back on itself", BendMax, func(l *lot) { l.move("n2", 22, 13); l.kinds["w"] = "sediment_trap" }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			l := goodLot()
			tt.change(l)
			found := false
			for _, v := range checkLot(t, l) {
				if v.Rule == BendMax || v.Rule == WyeAngle {
					if v.Rule != tt.rule {
						t.Errorf("reported: %v", v)
					}
					found = true
				}
			}
			if found != (tt.rule != "") {
				t.Errorf("turns reported: %v", found)
			}
		})
	}
}

// Depth and flow of a part-full circle against landmarks of its geometry
// (Q/Qf 0.5 and V/Vf 1 at half depth; 0.977 and 1.140 at 0.8; the flow of the
// full pipe again at 0.82), computed from theta apart from this code.
func TestPartFull(t *testing.T) {
	for _, c := range []struct{ ratio, flow, velocity, within float64 }{
		{0.5, 0.5, 1, 1e-9}, {0.8, 0.977, 1.140, 1e-3}, {0.82, 1, 1.140, 2e-3}, {1, 1, 1, 1e-9}, {0, 0, 0, 0},
	} {
		flow, area := partFull(c.ratio)
		velocity := 0.0
		if area > 0 {
			velocity = flow / area
		}
		if math.Abs(flow-c.flow) > c.within || math.Abs(velocity-c.velocity) > c.within {
			t.Errorf("at %g: flow %.4f, velocity %.4f; want %.4f, %.4f", c.ratio, flow, velocity, c.flow, c.velocity)
		}
	}
}

// What the law allows is not reported: the mildest case of each rule.
func TestLawful(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(l *lot)
	}{
		{"as drawn", func(*lot) {}},
		{"raster in degrees", func(l *lot) { l.degrees = true }},
		// The Laplace surface in a plane is the plane.
		{"enclosed void under the main", func(l *lot) { l.hole = [4]int{60, 70, 90, 100} }},
		{"a smaller outlet pipe", func(l *lot) { l.sizes["p6"], l.flow = "3 in", 1; l.inverts["p6"] = [2]float64{99.936, 99.866} }},
		{"capacity short and said", func(l *lot) { l.flow, l.left, l.verdict = 4, 3, "3 L/s are left over." }},
		{"an incoming drop", func(l *lot) { l.inverts["p4"] = [2]float64{100.40, 100.10} }},
		// 1.524 m inside the lot line carried to the curb, at least 1.524 m.
		{"an outlet on the margin", func(l *lot) { l.lines[0] = polygon("lot", "lot-1", "", 0, 4, 23.524, 44) }},
		// From n1 at 100.275 m a fall of 1.02 % meets the ground at y 2.5, z 100.075 m.
		{"daylight", func(l *lot) { *l = *yardLot("daylight", 2.5, 100.076); l.limits["daylight_zone"] = 20 }},
		{"emitter", func(l *lot) { *l = *yardLot("emitter", 6, 99.92) }},
		{"storm inlet", func(l *lot) { *l = *yardLot("storm_inlet", 6, 99.92) }},
		{"street side by the ground", func(l *lot) {
			l.lines[5] = line("curb", "curb", `,"gutter_elevation":99.85`, -8, 0, 45, 0)
		}},
		// 0.9144 m from the driveway, at least 0.9144 m.
		{"a driveway just clear of the outlet", func(l *lot) { l.lines[4] = polygon("driveway", "drive", "", 22.9144, 0, 28, 20) }},
		{"a tree just clear", func(l *lot) { l.lines[7] = point("tree", "oak", `,"trunk_diameter":0.3`, 23.5, 17) }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			l := goodLot()
			tt.change(l)
			for _, v := range checkLot(t, l) {
				t.Errorf("reported: %v", v)
			}
		})
	}
}

func (l *lot) move(id string, x, y float64) { l.points[id] = orb.Point{x, y} }

// Designs whose figures agree with each other and break one rule.
func TestUnlawful(t *testing.T) {
	for _, tt := range []struct {
		name  string
		rule  Rule
		spoil func(l *lot)
	}{
		{"invert raised 5 mm at the wye", NodeInverts, func(l *lot) { l.inverts["p5"] = [2]float64{100.105, 99.936} }},
		{"wye incoming 11 mm below outgoing", NodeInverts, func(l *lot) { l.inverts["p4"] = [2]float64{100.40, 100.07} }},
		{"fall reversed", SlopeMin, func(l *lot) { l.inverts["p5"] = [2]float64{99.936, 100.081} }},
		{"fall of 0.99 %", SlopeMin, func(l *lot) { l.inverts["p6"] = [2]float64{99.9353, 99.866} }},
		// The least cover allows an invert of 100.4636 at ds1.
		{"cover short by 5 mm", CoverMin, func(l *lot) { l.inverts["p1"] = [2]float64{100.4686, 100.4176} }},
		// On the driveway twice the cover is asked.
		{"lawn cover under a driveway", CoverMin, func(l *lot) { l.lines[4] = polygon("driveway", "drive", "", 12, 14, 18, 20) }},
		// 99.8687 m is the highest invert under the top of curb.
		{"outlet cover short by 5 mm", OutletCover, func(l *lot) { l.inverts["p6"] = [2]float64{99.945, 99.8737} }},
		// Slanting by 31 degrees it is no outlet pipe.
		{"outlet pipe not square", CoverMin, func(l *lot) { l.move("n2", 22-4.0*0.6009, 4) }},
		{"outlet pipe too long", CoverMin, func(l *lot) { l.move("n2", 22, 8) }},
		{"5 mm too deep", DepthMax, func(l *lot) { l.inverts["p2"] = [2]float64{100.371, 99.2882} }},
		{"in the setback beyond the exit", RoofSetback, func(l *lot) { l.move("b1", 11, 23.5) }},
		{"under the roof", RoofSetback, func(l *lot) { l.move("n1", 15, 30) }},
		{"through the keep-out", KeepOut, func(l *lot) { l.move("b1", 4.5, 12) }},
		{"over the neighbour's lot", OtherLot, func(l *lot) { l.move("n1", 31, 22) }},
		{"beside the side lot line", LotLine, func(l *lot) { l.move("n1", 29.75, 22) }},
		{"through a root plate", RootPlate, func(l *lot) { l.lines[7] = point("tree", "oak", `,"trunk_diameter_in":14`, 23.5, 17) }},
		{"behind the lot", Frontage, func(l *lot) { l.move("n1", 22, 45) }},
		{"outside the frontage", Frontage, func(l *lot) { l.move("out", 31, 0) }},
		{"outlet outside the frontage margin", FrontageMargin, func(l *lot) { l.lines[0] = polygon("lot", "lot-1", "", 0, 4, 23.5, 44) }},
		{"past the curb", CurbPassed, func(l *lot) { l.move("out", 22, -0.5) }},
		{"outlet beside the driveway", CurbDriveway, func(l *lot) { l.move("out", 23.2, 0) }},
		{"outlet behind the curb", OutletPlace, func(l *lot) { l.move("out", 22, 0.01) }},
		{"the street on the lot's side", OutletPlace, func(l *lot) {
			l.lines[5] = line("curb", "curb", `,"gutter_elevation":99.85,"street_side":"left"`, -8, 0, 45, 0)
		}},
		{"outlet 5 mm too low", AboveGutter, func(l *lot) { l.inverts["p6"] = [2]float64{99.936, 99.8577} }},
		// Without a level the gutter is the lowest ground 0.3 to 1 m into the street.
		{"a gutter read from the ground", AboveGutter, func(l *lot) {
			l.lines[5] = line("curb", "curb", `,"street_side":"right"`, -8, 0, 45, 0)
		}},
		{"crossing without a node", Crossing, func(l *lot) {
			l.points["x"], l.kinds["x"] = orb.Point{25, 9}, "bend"
			l.ends["p4"], l.ends["p7"] = [2]string{"b1", "x"}, [2]string{"x", "n2"}
			l.inverts["p7"] = [2]float64{100.09, 100}
		}},
		{"a node on another pipe", Crossing, func(l *lot) { l.move("b1", 22, 17) }},
		{"size shrinking", SizeShrinks, func(l *lot) { l.sizes["p2"] = "6 in" }},
		{"utility clearance 5 mm short", Utility, func(l *lot) {
			// Within reach, at y 14.65, p2 has its underside at 100.1548 m: 0.2998 m clear.
			l.lines[6] = line("utility", "water", `,"top":99.855,"outside_diameter":0.05`, 1, 15, 29, 15)
		}},
		{"utility of unknown depth", Utility, func(l *lot) { l.lines[6] = line("utility", "gas", "", 1, 15, 29, 15) }},
		{"capacity short", Capacity, func(l *lot) { l.flow = 4 }},
		{"an open void on the way", Ground, func(l *lot) { l.hole = [4]int{60, 130, 90, 100} }},
		{"an outlet pipe too large", OutletSize, func(l *lot) { l.sizes["p6"] = "6 in" }},
		{"daylight 5 mm in the ground", Daylight, func(l *lot) { *l = *yardLot("daylight", 2.5, 100.07) }},
		{"daylight with short cover before its zone", CoverMin, func(l *lot) { *l = *yardLot("daylight", 2.5, 100.076) }},
		// z is 100.18 m at y 6: 0.36 m of rise, at most 0.3556 m.
		{"an emitter that rises too far", Emitter, func(l *lot) { *l = *yardLot("emitter", 6, 99.82) }},
		{"an emitter nobody drew", OutletPlace, func(l *lot) { *l = *yardLot("emitter", 6, 99.92); l.lines = l.lines[:len(l.lines)-1] }},
		{"under the storm inlet's invert", StormInlet, func(l *lot) { *l = *yardLot("storm_inlet", 6, 99.915) }},
		{"a downspout forgotten", Served, func(l *lot) { l.lines = append(l.lines, point("downspout", "ds3", "", 20, 34)) }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			l := goodLot()
			tt.spoil(l)
			found := checkLot(t, l)
			if !slices.ContainsFunc(found, func(v Violation) bool { return v.Rule == tt.rule }) {
				t.Errorf("not reported as %s; found %v", tt.rule, found)
			}
		})
	}
}

// The table for printed folders finds something to spoil here, every time, and
// each spoiled copy is reported.
func TestSpoils(t *testing.T) {
	for _, s := range Spoils() {
		t.Run(s.Name, func(t *testing.T) {
			dir := t.TempDir()
			dem, sitePath := goodLot().write(t, dir)
			f, err := Load(sitePath, dir)
			if err != nil {
				t.Fatal(err)
			}
			if !s.Do(f) {
				t.Fatal("nothing here to spoil so")
			}
			spoiled := t.TempDir()
			if sitePath, err = f.Write(spoiled); err != nil {
				t.Fatal(err)
			}
			found, err := Check(dem, sitePath, "lot-1", spoiled)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(found, func(v Violation) bool { return v.Rule == s.Rule }) {
				t.Errorf("not reported as %s; found %v", s.Rule, found)
			}
		})
	}
}
