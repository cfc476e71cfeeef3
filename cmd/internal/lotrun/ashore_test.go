package lotrun

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/units"
	"curbfall/terrain/grid"
)

// Where water stands no flow path is drawn: by hand, over a row of cells some of
// which are wet.
func TestAshore(t *testing.T) {
	for row, want := range map[string][]string{
		"....":     {"0-3"},
		"..~~~..":  {"0-2", "4-6"},
		"~~..~.":   {"1-4", "4-5"},
		".~":       {"0-1"},
		"~.":       {"0-1"},
		"~~~":      nil,
		"..~~":     {"0-2"},
		"~~~..~~~": {"2-5"},
	} {
		w := &water{surface: grid.New(grid.NewFrame(0, 0, 1, 1), len(row), 1), at: make([]int32, len(row))}
		var path orb.LineString
		for i, c := range row {
			w.surface.Z[i] = 1
			if path = append(path, w.centre(i)); c == '.' {
				w.at[i] = noSpot
			}
		}
		var got []string
		for _, l := range w.ashore(path) {
			got = append(got, fmt.Sprintf("%.0f-%.0f", l[0][0], l[len(l)-1][0]))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", row, got, want)
		}
	}
}

// In noise of 20 mm a hollow of 60 mm is noise, and said in one line with the
// others; one of 200 mm comes first. A deep hole of a hand's breadth holds less
// than counts.
func TestSmallLowSpots(t *testing.T) {
	rng := rand.New(rand.NewPCG(71, 72))
	g := grid.New(grid.NewFrame(0, 0, 0.1, 0.1), 300, 300)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(10 - 0.005*float64(c) + 0.02*rng.NormFloat64() - 0.5*math.Max(0, 1-math.Hypot(float64(c)-150, float64(r)-150)/30))
	}
	g.Z[g.Index(60, 60)] -= 0.3
	w := standing(g, nil)
	if len(w.spots) == 0 || w.spots[0].Depth < 0.2 || w.at[g.Index(60, 60)] != noSpot {
		t.Fatalf("%d low spots", len(w.spots))
	}
	for _, s := range w.spots {
		if s.Depth < 0.035 || s.Volume < lowSpotHolds {
			t.Errorf("a low spot %v m deep that holds %v m3", s.Depth, s.Volume)
		}
	}
	says := w.smallWords()
	if len(says) != 1 || !strings.Contains(says[0], "no deeper than the raster's noise of 0.020 m from cell to cell makes them, or holding less than 0.01 m3") {
		t.Errorf("%q", says)
	}
	g = grid.New(grid.NewFrame(0, 0, 1, 1), 20, 20)
	for i := range g.Z {
		c, _ := g.Cell(i)
		g.Z[i] = float32(c)
	}
	if says := standing(g, nil).smallWords(); len(says) > 0 {
		t.Errorf("of a plane: %q", says)
	}
}

// Two hollows in a trench along a ridge, told in the order of what they hold, each
// with where it spills to.
func TestFirstLines(t *testing.T) {
	trench := []float32{9, 7, 8.5, 3, 8, 7.5, 0}
	g := grid.New(grid.NewFrame(0, 0, 1, 1), len(trench), 41)
	for i := range g.Z {
		c, r := g.Cell(i)
		if g.Z[i] = 21 - float32(max(r-20, 20-r)); r == 20 {
			g.Z[i] = trench[c]
		}
	}
	// By hand, brim full: to the pit of 3 drains the trench's cell to the west, and to
	// each of the three cells the one on either side.
	want := "  ls1: 5.00 m deep, holds 5.00 m3, 6.0 m2 drain to it; it spills at 8.000 m, off the ground known\n" +
		"  ls2: 1.50 m deep, holds 1.50 m3, 3.0 m2 drain to it; it spills at 8.500 m, into ls1\n"
	if got := standing(g, nil).firstLines(units.SI); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
