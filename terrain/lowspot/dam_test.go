package lowspot_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
)

// ditch is a ditch 0.6 m deep falling east by 1 % along the middle row, with a
// bank across it of a height over the ditch and a width from foot to foot.
func ditch(cell, height, width, noise float64) *grid.Grid {
	rng := rand.New(rand.NewPCG(81, 82))
	g := grid.New(grid.NewFrame(0, 0, cell, cell), int(120/cell), int(30/cell))
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := float64(c)*cell, math.Abs(float64(r)*cell-15)
		z := math.Min(0.6, 0.15*y)
		if out := math.Abs(x-70) - width/4; out < width/4 { // level over half its width
			z = math.Max(z, height*math.Min(1, 1-out/(width/4)))
		}
		g.Z[i] = float32(10 - 0.01*x + z + noise*rng.NormFloat64())
	}
	return g
}

func dams(g *grid.Grid, area float64, solid func(i int) bool) []lowspot.Dam {
	f := fill.Depressions(g)
	spots, _ := lowspot.Find(g, f, flow.Directions(f), lowspot.Least{Depth: 0.1, Volume: 0.1})
	return lowspot.Dams(g, spots, area, solid)
}

// A drive over a ditch is a dam at its place, as wide and high as it is; one that
// is a swell, one as wide as a field, one that holds little back, and a house are
// none.
func TestDams(t *testing.T) {
	air := func(int) bool { return false }
	for _, c := range []struct {
		says                       string
		cell, height, width, noise float64
		solid                      func(int) bool
		dam                        bool
	}{
		{"a drive", 0.5, 0.5, 6, 0, air, true},
		{"a drive, in noise", 0.5, 0.5, 6, 0.02, air, true},
		{"a street, in coarse cells", 3, 0.6, 12, 0, air, true},
		{"a swell", 0.5, 0.16, 14, 0, air, false},
		{"a field", 0.5, 0.5, 30, 0, air, false},
		{"a kerb", 0.5, 0.1, 1, 0, air, false},
		{"a house", 0.5, 0.5, 6, 0, func(int) bool { return true }, false},
	} {
		list := dams(ditch(c.cell, c.height, c.width, c.noise), 100, c.solid)
		if len(list) > 1 || (len(list) == 1) != c.dam {
			t.Errorf("%s: %+v", c.says, list)
			continue
		}
		for _, d := range list {
			a, b := d.Line[0], d.Line[1]
			if a[0] >= 70 || b[0] <= 70 || math.Abs(a[1]+15) > 3 || math.Abs(b[1]+15) > 3 {
				t.Errorf("%s: it lies from %v to %v", c.says, a, b)
			}
			if d.Width > c.width+2*c.cell || d.Width < c.width/2 || math.Abs(d.Height-c.height) > 0.1+3*c.noise || d.Behind > d.Height {
				t.Errorf("%s: %+v", c.says, d)
			}
		}
	}
	if list := dams(ditch(0.5, 0.5, 6, 0), 1e6, air); len(list) > 0 {
		t.Errorf("to which a square kilometre drains: %+v", list)
	}
}
