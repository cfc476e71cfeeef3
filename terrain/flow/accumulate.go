package flow

import (
	"math/bits"

	"curbfall/terrain/grid"
)

// Next returns the cell a cell drains to, -1 where it drains out or nowhere.
func Next(g *grid.Grid, dir []uint8, i int) int {
	d := dir[i]
	if d == Out || d >= Pit {
		return -1
	}
	s := grid.Steps[bits.TrailingZeros8(d)]
	return i + s.Row*g.Cols + s.Col
}

// one is a way into a cell that has not delivered yet, counted in the top four
// bits of its count of cells: there are eight at most, and no grid has 2^60
// cells.
const one = 1 << 60

// Accumulate returns the number of cells that drain through each, itself
// included; 0 where void. The counts are exact and do not depend on the number
// of cores.
//
// A cell is done once all ways into it have delivered; whatever finishes a cell
// goes on down from there, so no queue is needed. Bands of rows run at once;
// what waits for another band is finished after them.
//
// Cost: O(n), eight bytes a cell.
func Accumulate(g *grid.Grid, dir []uint8) []uint64 {
	acc := make([]uint64, len(dir))
	var step [256]int
	for k, s := range grid.Steps {
		step[1<<k] = s.Row*g.Cols + s.Col
	}
	bands := grid.Bands(g.Rows)
	leaving := make([][]int, len(bands)) // cells that drain into another band
	grid.OnBands(bands, func(k int, b grid.Band) {
		lo, hi := b.First*g.Cols, b.End*g.Cols
		for i := lo; i < hi; i++ {
			d := dir[i]
			if d == Out || d >= Pit {
				continue
			}
			if n := i + step[d]; n >= lo && n < hi {
				acc[n] += one
			} else {
				leaving[k] = append(leaving[k], i)
			}
		}
	})
	for _, list := range leaving {
		for _, i := range list {
			acc[i+step[dir[i]]] += one
		}
	}
	grid.OnBands(bands, func(k int, b grid.Band) {
		lo, hi := b.First*g.Cols, b.End*g.Cols
		for i := lo; i < hi; i++ {
			if acc[i] == 0 && dir[i] != Void {
				acc[i] = 1
				deliver(dir, acc, &step, i, lo, hi)
			}
		}
	})
	var done []int
	for _, list := range leaving {
		for _, i := range list {
			if acc[i] < one {
				done = append(done, i)
			}
		}
	}
	for _, i := range done {
		deliver(dir, acc, &step, i, 0, len(dir))
	}
	return acc
}

// deliver hands a finished cell's count down, and goes on as long as that
// finishes the next cell, within the cells from lo to hi.
func deliver(dir []uint8, acc []uint64, step *[256]int, i, lo, hi int) {
	for {
		d := dir[i]
		if d == Out || d >= Pit {
			return
		}
		n := i + step[d]
		if n < lo || n >= hi {
			return
		}
		v := acc[n] - one + acc[i]
		if v >= one {
			acc[n] = v
			return
		}
		acc[n] = v + 1
		i = n
	}
}
