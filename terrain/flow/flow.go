// Package flow gives every cell of a filled surface one way down and counts
// what drains through it.
package flow

import (
	"math"

	"curbfall/terrain/grid"
)

// Direction codes: powers of two clockwise from east; Out drains straight out,
// Pit drains nowhere (a surface that is not filled has such cells), Void has no
// elevation.
const (
	Out  = 0
	Pit  = 254
	Void = 255
)

// Directions returns the steepest way down of every cell of a filled surface,
// the first of E SE S SW W NW N NE among equals; over flats, integer gradients
// away from higher ground and, twice as strong, toward lower.
func Directions(f *grid.Grid) []uint8 {
	dir := make([]uint8, len(f.Z))
	dist := distances(f)
	var flat []int
	for i := range f.Z {
		if f.Void(i) {
			dir[i] = Void
			continue
		}
		c, r := f.Cell(i)
		if f.DrainsOut(c, r) {
			continue
		}
		best := 0.0
		for k, s := range grid.Steps {
			j := f.Index(c+s.Col, r+s.Row)
			if d := (float64(f.Z[i]) - float64(f.Z[j])) / dist[k]; d > best {
				best, dir[i] = d, 1<<k
			}
		}
		if dir[i] == 0 {
			flat = append(flat, i)
		}
	}
	resolveFlats(f, dir, flat)
	return dir
}

func distances(f *grid.Grid) [8]float64 {
	var d [8]float64
	for k, s := range grid.Steps {
		d[k] = math.Hypot(float64(s.Col)*f.CellX, float64(s.Row)*f.CellY)
	}
	return d
}

// Next returns the cell a cell drains to, -1 where it drains out or nowhere.
func Next(g *grid.Grid, dir []uint8, i int) int {
	d := dir[i]
	if d == Out || d >= Pit {
		return -1
	}
	k := 0
	for d > 1 {
		d >>= 1
		k++
	}
	s := grid.Steps[k]
	return i + s.Row*g.Cols + s.Col
}

// Accumulate returns the number of cells that drain through each, itself
// included; 0 where void.
func Accumulate(g *grid.Grid, dir []uint8) []uint32 {
	wait := make([]uint8, len(dir))
	for i := range dir {
		if n := Next(g, dir, i); n >= 0 {
			wait[n]++
		}
	}
	acc := make([]uint32, len(dir))
	for i := range dir {
		if wait[i] != 0 || dir[i] == Void || acc[i] != 0 {
			continue
		}
		for j := i; ; {
			acc[j]++
			n := Next(g, dir, j)
			if n < 0 {
				break
			}
			acc[n] += acc[j]
			if wait[n]--; wait[n] > 0 {
				break
			}
			j = n
		}
	}
	return acc
}
