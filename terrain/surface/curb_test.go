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

// walled is ground with its curbs kept.
func walled(g *grid.Grid, lines surface.Lines, curbs ...surface.Curb) *grid.Grid {
	s := surface.Condition(g, lines)
	for {
		f := fill.Depressions(s)
		d := flow.Directions(f)
		if len(surface.Wall(g, s, curbs, lines.Culverts, func(i int) int { return flow.Next(f, d, i) })) == 0 {
			return s
		}
	}
}

// street is what becomes of water on either side of a curb along a row: the share
// of the street's that never runs over it, the share of the yards', north of it,
// that comes to the street, and what stands behind it, m3.
func street(g *grid.Grid, curbRow int) (kept, drained, ponded float64) {
	f := fill.Depressions(g)
	d := flow.Directions(f)
	var ofStreet, ofYards float64
	reaches := func(i int, there func(row int) bool) bool {
		for ; i >= 0; i = flow.Next(f, d, i) {
			if _, r := f.Cell(i); there(r) {
				return true
			}
		}
		return false
	}
	for i := range f.Z {
		switch c, r := f.Cell(i); {
		case r > curbRow:
			ofStreet++
			if !reaches(i, func(row int) bool { return row < curbRow }) {
				kept++
			}
		case r < curbRow && r > 0 && c < f.Cols*3/4: // what starts farther down may run off the grid first
			ofYards++
			if reaches(i, func(row int) bool { return row > curbRow }) {
				drained++
			}
			ponded += float64(f.Z[i]-g.Z[i]) * f.CellArea()
		}
	}
	return kept / ofStreet, drained / ofYards, ponded
}

// A street of 1 % with a curb of 0.15 m, in cells of 1 m with 0.10 m of noise:
// the curb's line keeps at least 99 % of the gutter's flow in the street; its
// shape in the raster alone does not. The yards drain over it as they did, and
// no more water stands in them.
func TestCurbKeepsGutterFlow(t *testing.T) {
	const cols, rows, curbRow = 200, 24, 12
	rng := rand.New(rand.NewPCG(77, 78))
	var with, without, yards, yardsBare, stands, standsBare float64
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
		// Drawn east, the street to the south is on its right.
		curb := surface.Curb{Line: orb.LineString{{-1, rows - curbRow - 0.5}, {cols + 1, rows - curbRow - 0.5}}, Height: 0.15}
		k, y, p := street(g, curbRow)
		without, yardsBare, standsBare = without+k/draws, yardsBare+y/draws, standsBare+p/draws
		k, y, p = street(walled(g, surface.Lines{}, curb), curbRow)
		with, yards, stands = with+k/draws, yards+y/draws, stands+p/draws
	}
	if with < 0.99 || without > 0.9 {
		t.Errorf("%.3f of the flow kept with the curb's line, %.3f without", with, without)
	}
	if yards < yardsBare-0.01 || stands > 1.05*standsBare {
		t.Errorf("%.3f of the yards' water comes to the street with the curb's line, %.3f without; %.1f and %.1f m3 stand there", yards, yardsBare, stands, standsBare)
	}
	t.Logf("%.4f kept with the curb's line, %.4f without; of the yards %.3f and %.3f come to the street, %.1f and %.1f m3 stand there", with, without, yards, yardsBare, stands, standsBare)
}
