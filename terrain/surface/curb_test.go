package surface_test

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/surface"
)

// keptInStreet is the share of a street's water that never runs over the curb
// into the yards, whose cells lie north of a row.
func keptInStreet(g *grid.Grid, curbRow int) float64 {
	f := fill.Depressions(g)
	d := flow.Directions(f)
	kept, all := 0, 0
	for i := range f.Z {
		if _, r := f.Cell(i); r <= curbRow {
			continue
		}
		all++
		ok := true
		for j := i; j >= 0 && ok; j = flow.Next(f, d, j) {
			_, r := f.Cell(j)
			ok = r >= curbRow
		}
		if ok {
			kept++
		}
	}
	return float64(kept) / float64(all)
}

// A street of 1 % with a curb of 0.15 m, in cells of 1 m with 0.10 m of noise:
// the curb's line keeps at least 99 % of the gutter's flow in the street; its
// shape in the raster alone does not.
func TestCurbKeepsGutterFlow(t *testing.T) {
	const cols, rows, curbRow = 200, 24, 12
	rng := rand.New(rand.NewPCG(77, 78))
	with, without := 0.0, 0.0
	const draws = 10
	for range draws {
		g := grid.New(grid.NewFrame(0.5, rows-0.5, 1, 1), cols, rows)
		for i := range g.Z {
			c, r := g.Cell(i)
			z := 50 - 0.01*float64(c)
			if r <= curbRow {
				z += 0.15 // the yards fall to the street by 1 %, which falls to the curb by 2 %
				z += 0.01 * float64(curbRow-r)
			} else {
				z += 0.02 * float64(r-curbRow-1)
			}
			g.Z[i] = float32(z + 0.10*rng.NormFloat64())
		}
		line := orb.LineString{{-1, rows - curbRow - 0.5}, {cols + 1, rows - curbRow - 0.5}}
		without += keptInStreet(g, curbRow) / draws
		with += keptInStreet(surface.Condition(g, surface.Lines{Curbs: []surface.Curb{{Line: line, Height: 0.15}}}), curbRow) / draws
	}
	if with < 0.99 || without > 0.9 {
		t.Errorf("%.3f of the flow kept with the curb's line, %.3f without", with, without)
	}
	t.Logf("%.4f kept with the curb's line, %.4f without", with, without)
}
