package grading_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/grading"
)

// facingSouth is a house of 10 by 10 m on a plane that falls so much to the
// street in the south.
func facingSouth(slope float64) *grading.Site {
	s := tilted(0.5, 0, -slope, 0)
	for i := range s.Ground.Z {
		s.Ground.Z[i] -= float32(200 * slope) // about 100 m: float32 tells slopes to 1e-5
	}
	s.Roofs, s.Street = []orb.Polygon{rect(15, 15, 25, 25)}, orb.Point{0, -1}
	return s
}

// Before and behind a house ground steeper than 10 % is judged by that, not beside
// it, nor paving, nor where no street tells front from side.
func TestSteepWalls(t *testing.T) {
	for _, c := range []struct {
		slope  float64
		change func(s *grading.Site)
		rule   grading.Rule
		status grading.Status
	}{
		{0.12, nil, grading.NearMost, grading.Fail},
		{0.099, nil, grading.Away, grading.Pass},
		{0.101, nil, grading.NearMost, grading.Fail},
		{0.12, func(s *grading.Site) { s.Street = orb.Point{0, 1} }, grading.NearMost, grading.Fail},
		{0.12, func(s *grading.Site) { s.Street = orb.Point{1, 0} }, grading.Away, grading.Pass},
		{0.12, func(s *grading.Site) { s.Street = orb.Point{} }, grading.Away, grading.Pass},
		{0.12, func(s *grading.Site) { s.Paved = []orb.Polygon{rect(15, 10, 25, 15)} }, grading.Paved, grading.Pass},
	} {
		s := facingSouth(c.slope)
		if c.change != nil {
			c.change(s)
		}
		walls := grading.Walls(s, 0)
		if w := walls[0]; w.Rule != c.rule || w.Status != c.status || math.Abs(w.Measured-c.slope) > 1e-5 {
			t.Errorf("south wall, %v: %+v", c.slope, w)
		}
		for _, w := range walls[1:] {
			if w.Rule != grading.Away || w.Status != grading.Fail {
				t.Errorf("%v: %+v", c.slope, w)
			}
		}
	}
}

// On a slope of 12 % the lawn within 20 ft before and behind the house is too
// steep, all other is not; 8 % is nowhere.
func TestLawnsNearHouse(t *testing.T) {
	steep := 0
	for _, f := range grading.Lawns(facingSouth(0.12)) {
		x, y := (f.Line[0][0]+f.Line[1][0])/2, (f.Line[0][1]+f.Line[1][1])/2
		// How far beyond the house's sides; squares of 5 m start at 2 m, and only one
		// cut by the lot's edge or the house has its ground's middle elsewhere.
		x, y = 2+5*math.Floor((x-2)/5)+2.5, 2+5*math.Floor((y-2)/5)+2.5
		across, along := math.Max(0, math.Abs(x-20)-5), math.Max(0, math.Abs(y-20)-5)
		near := along >= across && math.Hypot(across, along) <= 6.096
		if near {
			steep++
		}
		if near != (f.Rule == grading.NearMost && f.Status == grading.Fail) || !near && (f.Rule != grading.LawnLeast || f.Status != grading.Pass) {
			t.Errorf("%v m beside, %v m before the house: %+v", across, along, f)
		}
	}
	if steep < 4 {
		t.Errorf("%d squares before and behind the house", steep)
	}
	for _, f := range grading.Lawns(facingSouth(0.08)) {
		if f.Rule != grading.LawnLeast || f.Status != grading.Pass {
			t.Errorf("8 %%: %+v", f)
		}
	}
}

// A swale down the side yard: 1 to 7 %, 2 to 7 % within 10 ft of the house; before
// and behind the house no more than before.
func TestSideYardSwales(t *testing.T) {
	for _, c := range []struct {
		off, slope float64
		rule       grading.Rule
		status     grading.Status
	}{
		{5, 0.008, grading.SwaleSide, grading.Fail},
		{5, 0.02, grading.SwaleSide, grading.Pass},
		{5, 0.069, grading.SwaleSide, grading.Pass},
		{5, 0.071, grading.SwaleSideMost, grading.Fail},
		{2, 0.015, grading.SwaleNear, grading.Fail},
		{2, 0.03, grading.SwaleNear, grading.Pass},
		{2, 0.09, grading.SwaleSideMost, grading.Fail},
	} {
		s := facingSouth(c.slope)
		var line orb.LineString
		for y := 24.0; y >= 16; y -= 0.5 {
			line = append(line, orb.Point{25 + c.off, y})
		}
		if list := grading.Swales(s, []orb.LineString{line}); len(list) != 1 || list[0].Rule != c.rule || list[0].Status != c.status || math.Abs(list[0].Measured-c.slope) > 1e-5 {
			t.Errorf("%+v: %+v", c, list)
		}
		s.Street = orb.Point{}
		if list := grading.Swales(s, []orb.LineString{line}); len(list) != 1 || list[0].Rule == grading.SwaleSide || list[0].Rule == grading.SwaleSideMost {
			t.Errorf("%+v, no street: %+v", c, list)
		}
	}
	s := facingSouth(0.09)
	var line orb.LineString
	for y := 8.0; y >= 3; y -= 0.5 {
		line = append(line, orb.Point{20, y})
	}
	if list := grading.Swales(s, []orb.LineString{line}); len(list) != 1 || list[0].Rule != grading.Swale || list[0].Status != grading.Pass {
		t.Errorf("before the house: %+v", list)
	}
}
