// Package surface makes the surface water runs over from the ground and the
// lines drawn on it. Pipes lie under the ground as given; this surface is for
// water alone.
//
//	ground   ____/\___/\____     curb two cells wide, gap by noise
//	surface  ____|  roof  |__|__ roofs raised, curbs kept where they leak, culverts cut
package surface

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// roofHeight is how far a roof stands above the highest ground round it, m:
// more than any water.
const roofHeight = 3

// Lines is what is drawn on the ground, in site metres.
type Lines struct {
	Roofs    []orb.Polygon
	Culverts []orb.LineString
}

// Condition returns the surface: roofs raised so that water goes round them,
// culverts cut so that water passes. ground is not modified; voids stay void but
// under roofs. Curbs are seen to by Wall, once it is known where water runs.
func Condition(ground *grid.Grid, lines Lines) *grid.Grid {
	s := ground.Clone()
	for _, r := range lines.Roofs {
		raise(ground, s, r)
	}
	for _, c := range lines.Culverts {
		cut(s, c)
	}
	return s
}

func raise(ground, s *grid.Grid, roof orb.Polygon) {
	var cells []int
	top := math.Inf(-1)
	for _, i := range cellsWithin(ground, roof) {
		cells = append(cells, i)
		top = math.Max(top, noNaN(highestRound(ground, i)))
	}
	if math.IsInf(top, -1) {
		return // nothing known round it
	}
	for _, i := range cells {
		s.Z[i] = float32((top + roofHeight) / ground.MetresPerZ)
	}
}

func noNaN(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(-1)
	}
	return v
}

// highestRound is the highest ground of a cell and its neighbours, m; NaN
// where all are void.
func highestRound(g *grid.Grid, i int) float64 {
	c, r := g.Cell(i)
	top := math.Inf(-1)
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if g.Contains(c+dc, r+dr) {
				top = math.Max(top, noNaN(g.Elevation(g.Index(c+dc, r+dr))))
			}
		}
	}
	if math.IsInf(top, -1) {
		return math.NaN()
	}
	return top
}

// cellsWithin returns the cells whose centre lies in a polygon, ascending.
func cellsWithin(g *grid.Grid, p orb.Polygon) []int {
	c0, r0, c1, r1 := cellBox(g, p.Bound())
	var cells []int
	for r := r0; r <= r1; r++ {
		for c := c0; c <= c1; c++ {
			if x, y := g.ToSite(float64(c), float64(r)); planar.PolygonContains(p, orb.Point{x, y}) {
				cells = append(cells, g.Index(c, r))
			}
		}
	}
	return cells
}

// cellBox is the range of cells a box may touch, within the grid.
func cellBox(g *grid.Grid, b orb.Bound) (c0, r0, c1, r1 int) {
	c0, r0, c1, r1 = g.Cols, g.Rows, -1, -1
	for _, p := range [4]orb.Point{b.Min, b.Max, {b.Min[0], b.Max[1]}, {b.Max[0], b.Min[1]}} {
		c, r := g.ToCell(p[0], p[1])
		c0, c1 = min(c0, int(math.Floor(c))), max(c1, int(math.Ceil(c)))
		r0, r1 = min(r0, int(math.Floor(r))), max(r1, int(math.Ceil(r)))
	}
	return max(0, c0), max(0, r0), min(g.Cols-1, c1), min(g.Rows-1, r1)
}

// lineStep is the spacing at which a line is laid over cells, in cells: close
// enough that no cell's side is stepped over, so the wall has no gap.
const lineStep = 0.25

// CellsOn returns the cells a line passes, in its order, joined by sides.
func CellsOn(g *grid.Grid, line orb.LineString) []int {
	var cells []int
	last := -1
	var lc, lr int
	add := func(c, r int) {
		if i := g.Index(c, r); i != last {
			cells, last, lc, lr = append(cells, i), i, c, r
		}
	}
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		n := max(1, int(math.Ceil(planar.Distance(a, b)/(lineStep*math.Min(g.CellX, g.CellY)))))
		for m := 0; m <= n; m++ {
			t := float64(m) / float64(n)
			x, y := g.ToCell(a[0]+t*(b[0]-a[0]), a[1]+t*(b[1]-a[1]))
			c, r := int(math.Round(x)), int(math.Round(y))
			if !g.Contains(c, r) {
				last = -1
				continue
			}
			if last >= 0 && c != lc && r != lr {
				add(c, lr) // by the side, so that no water slips through a corner
			}
			add(c, r)
		}
	}
	return cells
}

// cut lowers the cells along a culvert so that water runs from its higher end
// to its lower one and never has to climb above what it has come down to, but
// for the lower end's own level. Void cells stay void; the ends are the first
// and last cells known.
func cut(s *grid.Grid, line orb.LineString) {
	cells := slices.DeleteFunc(CellsOn(s, line), s.Void)
	if len(cells) == 0 {
		return
	}
	a, b := s.Z[cells[0]], s.Z[cells[len(cells)-1]]
	if a < b {
		slices.Reverse(cells)
		a, b = b, a
	}
	down := a
	for k, i := range cells {
		t := float32(k) / float32(max(1, len(cells)-1))
		s.Z[i] = min(s.Z[i], max(b, min(down, a+(b-a)*t)))
		down = min(down, s.Z[i])
	}
}
