package lowspot

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

// Dam is a narrow barrier between a low spot's deep water and ground as low
// beyond, such as a road or a drive over a ditch: where a culvert passes it, the
// low spot is none.
//
//	                top
//	~~~~~~~~~~~~~~~/   \        Height: of the top over the ditch
//	______________/     \____   Width: from the shore to ground as low
type Dam struct {
	Spot   int            // index of the low spot
	Line   orb.LineString // from the deep water straight to the ground beyond, site metres
	Width  float64        // m
	Height float64        // m
	Behind float64        // depth of the water at the line's start, brim full, m
}

// What makes a barrier a dam; common practice, no source.
const (
	// DamWidest is the width of a street with its shoulders, m.
	DamWidest = 15.0
	// DamDeep is the least depth of water behind one, m: half of the smallest
	// culvert under a drive, 12 in.
	DamDeep = 0.15
	// DamSteep is the least mean slope of its sides. Ground less steep is a swell.
	DamSteep = 0.08
)

// damStep is how far apart places are looked at, m; never less than a cell.
const damStep = 0.5

// Dams returns for each low spot that at least area m2 drain to the barrier that
// holds most depth for its width, if that is a dam, in their order. What is solid, such as houses, is no barrier
// that a culvert would pass, and neither is unknown ground.
//
// Cost: for each place on a shore up to all those within DamWidest of it.
func Dams(surface *grid.Grid, spots []LowSpot, area float64, solid func(i int) bool) (dams []Dam) {
	b := &barriers{Grid: surface, at: At(len(surface.Z), spots), solid: solid, step: max(1, int(damStep/surface.CellMax()))}
	b.findOffsets()
	for k := range spots {
		if s := &spots[k]; s.Depth >= DamDeep && s.ContributingArea >= area {
			if d := b.steepest(s, int32(k)); d.Width > 0 {
				dams = append(dams, d)
			}
		}
	}
	return dams
}

// barriers is where barriers are looked for.
type barriers struct {
	*grid.Grid
	at      []int32
	solid   func(i int) bool
	step    int // cells between places that are looked at
	offsets []offset
}

// offset is a way from one cell to another.
type offset struct {
	grid.Step
	length float64 // m
}

// findOffsets lists the ways up to DamWidest, the shortest first.
func (b *barriers) findOffsets() {
	c, r := int(DamWidest/b.CellX)/b.step, int(DamWidest/b.CellY)/b.step
	for dr := -r; dr <= r; dr++ {
		for dc := -c; dc <= c; dc++ {
			step := grid.Step{Col: dc * b.step, Row: dr * b.step}
			if l := math.Hypot(float64(step.Col)*b.CellX, float64(step.Row)*b.CellY); l <= DamWidest && l > 0 {
				b.offsets = append(b.offsets, offset{step, l})
			}
		}
	}
	slices.SortStableFunc(b.offsets, func(a, b offset) int { return cmp.Compare(a.length, b.length) })
}

// steepest finds the dam of a low spot with most depth behind for its width, of
// equals the first by its shore's cell; one of no width where it has none.
func (b *barriers) steepest(s *LowSpot, k int32) (best Dam) {
	most, places := 0.0, 0
	for _, shore := range s.Cells {
		if !b.onShore(shore, k) {
			continue
		}
		if places++; places%b.step != 0 {
			continue
		}
		for _, o := range b.offsets {
			if s.Depth <= most*o.length {
				break
			}
			if d, ok := b.dam(s, k, shore, o); ok && d.Behind > most*d.Width {
				best, most = d, d.Behind/d.Width
			}
		}
	}
	return best
}

// onShore tells whether a cell of a low spot has a neighbour outside it.
func (b *barriers) onShore(i int, k int32) bool {
	c, r := b.Cell(i)
	return slices.ContainsFunc(grid.Steps[:], func(s grid.Step) bool { return b.at[b.Index(c+s.Col, r+s.Row)] != k })
}

// dam looks across a barrier from a cell on the shore, and back into the water as
// far for where it is deepest and its ground no lower than that beyond.
func (b *barriers) dam(s *LowSpot, k int32, shore int, o offset) (d Dam, ok bool) {
	c, r := b.Cell(shore)
	if !b.Contains(c+o.Col, r+o.Row) {
		return d, false
	}
	beyond := b.Index(c+o.Col, r+o.Row)
	low := b.Elevation(beyond)
	if b.at[beyond] == k || !(low <= s.SpillElevation-DamDeep) {
		return d, false
	}
	n := max(abs(o.Col), abs(o.Row))
	along := func(m int) (i int, in bool) { // the m-th of n steps from the shore to beyond
		col, row := c+int(math.Round(float64(m*o.Col)/float64(n))), r+int(math.Round(float64(m*o.Row)/float64(n)))
		if !b.Contains(col, row) {
			return 0, false
		}
		return b.Index(col, row), true
	}
	top := math.Inf(-1)
	for m := 1; m <= n; m++ {
		i, _ := along(m)
		if b.Void(i) || b.solid(i) || b.at[i] == k {
			return d, false
		}
		top = math.Max(top, b.Elevation(i))
	}
	for m := 0; m >= -n; m-- {
		i, in := along(m)
		if !in || b.at[i] != k {
			break
		}
		z := b.Elevation(i)
		if behind := s.SpillElevation - z; z >= low && behind > d.Behind {
			d = Dam{Spot: int(k), Line: orb.LineString{b.centre(i), b.centre(beyond)}, Width: o.length, Height: top - z, Behind: behind}
		}
	}
	return d, d.Behind >= math.Max(DamDeep, s.Depth/2) && d.Height >= DamSteep*d.Width/2
}

func (b *barriers) centre(i int) orb.Point {
	c, r := b.Cell(i)
	x, y := b.ToSite(float64(c), float64(r))
	return orb.Point{x, y}
}

func abs(v int) int { return max(v, -v) }
