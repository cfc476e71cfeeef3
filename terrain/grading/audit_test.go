package grading_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/grading"
	"curbfall/terrain/grid"
)

// tilted is ground of 40 by 40 m that falls by so much per metre east and north,
// with noise, and a lot on it.
func tilted(cell, east, north, noise float64) *grading.Site {
	n := int(40 / cell)
	rng := rand.New(rand.NewPCG(91, 92))
	g := grid.New(grid.NewFrame(cell/2, 40-cell/2, cell, cell), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := g.ToSite(float64(c), float64(r))
		g.Z[i] = float32(100 - east*x - north*y + noise*rng.NormFloat64())
	}
	return &grading.Site{Ground: g, Noise: noise, Lot: rect(2, 2, 37, 37)}
}

// Row houses: a wall two roofs share, also across a hand's breadth of drawing, and
// one on the lot line are no walls to judge; one shared along half is judged by the
// other half.
func TestPartyWalls(t *testing.T) {
	s := site([4]float64{0.08, 0.08, 0.08, 0.08})
	s.Roofs = append(s.Roofs, rect(26.1, 20, 34, 24), rect(8, 15, 14, 25)) // beside half of the east wall, and all of the west
	walls := grading.Walls(s, 0)
	if len(walls) != 3 {
		t.Fatalf("%d walls: %+v", len(walls), walls)
	}
	if east := walls[1]; east.Status != grading.Pass || math.Abs(east.Measured-0.08) > 1e-5 || east.Line[0] != (orb.Point{26, 16}) || east.Line[1] != (orb.Point{26, 20}) {
		t.Errorf("the half that stands free: %+v", east)
	}
	s = site([4]float64{0.08, 0.08, 0.08, 0.08})
	s.Lot = rect(14, 2, 26.2, 38) // the west wall on the line, the east one beside it
	if walls := grading.Walls(s, 0); len(walls) != 2 || walls[0].Status != grading.Pass || walls[1].Status != grading.Pass {
		t.Errorf("between lot lines: %+v", walls)
	}
}

// Lawns on planes: every square has the plane's slope and way, the rule is that of
// its slope, and what is roof, paving or beside a wall is no lawn.
func TestLawns(t *testing.T) {
	for _, c := range []struct {
		east, north float64
		status      grading.Status
		rule        string
	}{
		{0.03, 0, grading.Pass, "lawn slope"},
		{0, 0.019, grading.Fail, "lawn slope"},
		{0.012, -0.016001, grading.Pass, "lawn slope"},
		{0, 0.3334, grading.Fail, "lawn slope, at most"},
	} {
		s := tilted(0.5, c.east, c.north, 0)
		all := grading.Lawns(s)
		if len(all) != 49 {
			t.Fatalf("%d squares of 5 m in 35 by 35 m", len(all))
		}
		want := math.Hypot(c.east, c.north)
		for _, f := range all {
			down := orb.Point{f.Line[1][0] - f.Line[0][0], f.Line[1][1] - f.Line[0][1]}
			if math.Abs(f.Measured-want) > 1e-5 || f.Status != c.status || f.Rule.Name != c.rule || math.Abs(down[0]*c.east+down[1]*c.north-5*want) > 1e-3 {
				t.Fatalf("east %v north %v: %+v", c.east, c.north, f)
			}
		}
		s.Roofs, s.Paved = []orb.Polygon{rect(12, 12, 20, 20)}, []orb.Polygon{rect(24, 2, 37, 37)}
		// By hand: three columns are paved by half or more, and the house with 10 ft
		// round it takes more than half of 2 by 3 squares and of two to the west.
		if f := grading.Lawns(s); len(f) != 49-21-8 {
			t.Errorf("%d squares are left beside a house and paving", len(f))
		}
	}
	s := tilted(0.5, 0.03, 0, 0)
	s.Filled = make([]bool, len(s.Ground.Z))
	for i := range s.Filled {
		s.Filled[i] = true
	}
	for _, f := range grading.Lawns(s) {
		if f.Status != grading.Unknown || !strings.Contains(f.Why, "interpolated") {
			t.Fatalf("%+v", f)
		}
	}
}

// Noise at the rule's own slope gives one lawn in twenty a verdict, and hides
// nothing of 6 %.
func TestLawnScatter(t *testing.T) {
	said, all := 0, 0
	for _, f := range grading.Lawns(tilted(0.5, 0.02, 0, 0.03)) {
		if all++; f.Status != grading.Unknown {
			said++
		}
	}
	if said > all/5 {
		t.Errorf("%d of %d squares at 2 %% have a verdict", said, all)
	}
	for _, f := range grading.Lawns(tilted(0.5, 0.06, 0, 0.03)) {
		if f.Status != grading.Pass {
			t.Errorf("6 %%: %+v", f)
		}
	}
}

// A swale across the lot past a house: by it 2 % are asked for, beyond 0.5 %; over
// the drive none.
func TestSwales(t *testing.T) {
	s := tilted(0.5, 0.01, 0, 0)
	s.Roofs, s.Paved = []orb.Polygon{rect(10, 12, 18, 20)}, []orb.Polygon{rect(28, 2, 32, 37)}
	var line orb.LineString
	for x := 0.0; x <= 40; x += 0.5 {
		line = append(line, orb.Point{x, 10.5})
	}
	list := grading.Swales(s, []orb.LineString{line})
	want := []struct {
		from, to float64
		rule     grading.Rule
		status   grading.Status
	}{
		{2.5, 7, grading.Swale, grading.Pass},
		{7, 20.5, grading.SwaleNear, grading.Fail}, // 2.64 m beside the wall of 8 m, which the line passes at 1.5 m
		{20.5, 27.5, grading.Swale, grading.Pass},
		{32.5, 36.5, grading.Swale, grading.Pass},
	}
	if len(list) != len(want) {
		t.Fatalf("%+v", list)
	}
	for k, f := range list {
		if w := want[k]; f.Rule != w.rule || f.Status != w.status || math.Abs(f.Measured-0.01) > 1e-5 || math.Abs(f.Line[0][0]-w.from) > 0.5 || math.Abs(f.Line[len(f.Line)-1][0]-w.to) > 0.5 {
			t.Errorf("%+v, want %+v", f, w)
		}
	}
}

// A driveway of 12 m from a house to the street in the east: its grade is the
// plane's along it, whatever the cross fall; reverse, steep, flat and unknown ones.
func TestDriveway(t *testing.T) {
	street := orb.LineString{{38, 0}, {38, 40}}
	drive := rect(24, 18, 36, 22)
	for _, c := range []struct {
		cell, slope float64
		status      grading.Status
		rule        string
	}{
		{0.5, 0.03, grading.Pass, "driveway grade"},
		{0.5, 0.003, grading.Fail, "driveway grade"},
		{0.5, -0.04, grading.Fail, "driveway grade"},
		{0.5, 0.12, grading.Fail, "driveway grade, at most"},
		{1.25, 0.03, grading.Pass, "driveway grade"},
		{4, 0.03, grading.Unknown, "driveway grade"},
	} {
		s := tilted(c.cell, c.slope, 0.02, 0)
		s.Roofs = []orb.Polygon{rect(12, 12, 23, 28)}
		f, ok := grading.Driveway(s, drive, street)
		if !ok || f.Status != c.status || f.Rule.Name != c.rule || f.Line[0] != (orb.Point{24, 20}) || f.Line[1] != (orb.Point{36, 20}) {
			t.Errorf("%+v: %+v", c, f)
		}
		if f.Status != grading.Unknown && math.Abs(f.Measured-c.slope) > 1e-5 {
			t.Errorf("%+v: measured %v", c, f.Measured)
		}
	}
	s := tilted(0.5, 0.03, 0, 0)
	s.Roofs = []orb.Polygon{rect(2, 12, 13, 28)}
	if _, ok := grading.Driveway(s, drive, street); ok {
		t.Error("a drive that comes to no house")
	}
}

// Behind a curb of 0.15 m along the lot's south: ground that rises 0.2 m keeps the
// street's water, with a gap in it that does not.
func TestStreet(t *testing.T) {
	s := tilted(0.5, 0, 0, 0)
	for i := range s.Ground.Z {
		c, r := s.Ground.Cell(i)
		if x, y := s.Ground.ToSite(float64(c), float64(r)); y > 5 {
			s.Ground.Z[i] = 100.2
			if 15 < x && x < 19 {
				s.Ground.Z[i] = 100.06
			}
		}
	}
	behind := func(station, back float64) orb.Point { return orb.Point{2 + station, 4.5 + back} }
	gutter := func(float64) float64 { return 100 }
	list := grading.Street(s, 0.15, 0, 30, behind, gutter)
	if len(list) != 3 || list[0].Status != grading.Pass || list[1].Status != grading.Fail || list[2].Status != grading.Pass {
		t.Fatalf("%+v", list)
	}
	gap := list[1]
	if math.Abs(gap.Measured-0.06) > 1e-4 || gap.Line[0][0] < 14.5 || gap.Line[len(gap.Line)-1][0] > 19.5 || !gap.Rule.Height || gap.Rule.Required != 0.15 {
		t.Errorf("%+v", gap)
	}
	s.Noise = 0.05
	if f := grading.Street(s, 0.15, 0, 30, behind, gutter); f[0].Status != grading.Unknown || !strings.Contains(f[0].Why, "scatter") {
		t.Errorf("0.05 m over the curb in 0.07 m of noise: %+v", f[0])
	}
	coarse := tilted(2, 0, 0, 0)
	if f := grading.Street(coarse, 0.15, 0, 30, behind, gutter); len(f) != 1 || f[0].Status != grading.Unknown || !strings.Contains(f[0].Why, "coarse") {
		t.Errorf("%+v", f)
	}
}
