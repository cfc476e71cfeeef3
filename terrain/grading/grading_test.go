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

func rect(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// site is a house of 12 by 8 m on ground that falls by a slope of its own on
// each side: south, east, north, west.
func site(slopes [4]float64) *grading.Site {
	g := grid.New(grid.NewFrame(0.125, 39.875, 0.25, 0.25), 160, 160)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := g.ToSite(float64(c), float64(r))
		d := [4]float64{16 - y, x - 26, y - 24, 14 - x} // out of each wall
		fall := 0.0
		for k := range d {
			fall += slopes[k] * math.Max(-2, d[k]) // from 2 m inside, so that no wall stands on a bend
		}
		g.Z[i] = float32(100 - fall)
	}
	return &grading.Site{Ground: g, Lot: rect(2, 2, 38, 38), Roofs: []orb.Polygon{rect(14, 16, 26, 24)}}
}

// A wall's measured slope is the ground's; float32 heights of 100 m tell
// slopes over 3 m to 1e-5.
func TestSlopes(t *testing.T) {
	want := [4]float64{0.08, 0.049, 0.051, -0.02}
	status := [4]grading.Status{grading.Pass, grading.Fail, grading.Pass, grading.Fail}
	for _, reverse := range []bool{false, true} {
		s := site(want)
		if reverse {
			s.Roofs[0][0].Reverse()
		}
		walls := grading.Walls(s, 0)
		if len(walls) != 4 {
			t.Fatalf("%d walls", len(walls))
		}
		for k, w := range walls {
			if reverse {
				k = 3 - k
			}
			if math.Abs(w.Measured-want[k]) > 1e-5 || w.Status != status[k] || w.Rule.Required != 0.05 {
				t.Errorf("side %d reversed %v: %+v, want %v", k, reverse, w, want[k])
			}
		}
	}
}

// Against pavement the paved rule holds, over the pavement's width.
func TestPaved(t *testing.T) {
	s := site([4]float64{0.03, 0.03, 0.03, 0.03})
	s.Paved = []orb.Polygon{rect(14, 14, 26, 16), rect(26, 16, 26.4, 24)}
	walls := grading.Walls(s, 0)
	if w := walls[0]; w.Rule != grading.Paved || w.Status != grading.Pass || math.Abs(w.Measured-0.03) > 1e-5 {
		t.Errorf("south: %+v", w)
	}
	if w := walls[1]; w.Status != grading.Unknown || !strings.Contains(w.Why, "narrow") {
		t.Errorf("east: %+v", w)
	}
	if w := walls[2]; w.Rule != grading.Away || w.Status != grading.Fail {
		t.Errorf("north: %+v", w)
	}
}

func TestUnknown(t *testing.T) {
	falling := [4]float64{0.08, 0.08, 0.08, 0.08}
	for _, tt := range []struct {
		name, why string
		change    func(s *grading.Site)
	}{
		{"lot line", "lot line", func(s *grading.Site) { s.Lot = rect(2, 14, 38, 38) }},
		{"next door", "building", func(s *grading.Site) { s.Roofs = append(s.Roofs, rect(10, 8, 30, 14)) }},
		{"a building in the raster", "building", func(s *grading.Site) {
			for i := range s.Ground.Z {
				c, r := s.Ground.Cell(i)
				if x, y := s.Ground.ToSite(float64(c), float64(r)); x > 13 && x < 27 && y > 15 && y < 25 {
					s.Ground.Z[i] += 3
				}
			}
		}},
		{"filled under the house", "interpolated", func(s *grading.Site) {
			s.Filled = make([]bool, len(s.Ground.Z))
			for i := range s.Filled {
				c, r := s.Ground.Cell(i)
				x, y := s.Ground.ToSite(float64(c), float64(r))
				s.Filled[i] = x > 14 && x < 26 && y > 16 && y < 24
			}
		}},
		{"filled", "interpolated", func(s *grading.Site) {
			s.Filled = make([]bool, len(s.Ground.Z))
			for i := range s.Filled {
				s.Filled[i] = true
			}
		}},
		{"void", "not known", func(s *grading.Site) {
			for i := range s.Ground.Z {
				s.Ground.Z[i] = float32(math.NaN())
			}
		}},
		{"coarse", "coarse", func(s *grading.Site) { s.Ground.CellX, s.Ground.CellY = 3, 3 }},
	} {
		s := site(falling)
		tt.change(s)
		if w := grading.Walls(s, 0)[0]; w.Status != grading.Unknown || !strings.Contains(w.Why, tt.why) {
			t.Errorf("%s: %+v", tt.name, w)
		}
	}
}

// Five centimetres of noise hide whether 5 % is 5 %, but for one wall in
// twenty or so, and not whether 12 % is.
func TestScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	const draws = 100
	said, passed := 0, 0
	for range draws {
		s := site([4]float64{0.05, 0.12, 0.05, 0.12})
		for i := range s.Ground.Z {
			s.Ground.Z[i] += float32(0.05 * rng.NormFloat64())
		}
		for k, w := range grading.Walls(s, 0) {
			switch {
			case k%2 == 1 && w.Status == grading.Pass:
				passed++
			case k%2 == 0 && w.Status != grading.Unknown:
				said++
			case k%2 == 0 && !strings.Contains(w.Why, "scatter"):
				t.Fatalf("%+v", w)
			}
		}
	}
	if said > 2*draws/8 || passed < 2*draws*98/100 {
		t.Errorf("of %d walls at 5 %% %d have a verdict; of as many at 12 %% %d pass", 2*draws, said, passed)
	}
}
