package flow

import (
	"bytes"
	"iter"
	"math"

	"curbfall/terrain/grid"
)

// Directions returns the steepest way down of every cell of a surface, the
// first of E SE S SW W NW N NE among equals. Over flats that some lower cell
// drains, ways follow integer gradients, away from higher ground and, twice as
// strong, toward lower: to the lowest neighbour, a straight step before a
// diagonal one, then the first in that order. On a surface that is not filled,
// cells without a way down are Pit.
//
// Steepness is the drop over the distance, in float64; the answer does not
// depend on the number of cores.
//
// Cost: O(n), a byte a cell; for the flats a fifth of a byte a cell and nine
// bytes a flat cell, while it runs.
func Directions(f *grid.Grid) []uint8 {
	dir := make([]uint8, len(f.Z))
	seeds := grid.NewSeeds(f)
	weight := Weights(f)
	grid.OnBands(grid.Bands(f.Rows), func(_ int, b grid.Band) {
		for r := b.First; r < b.End; r++ {
			out := dir[r*f.Cols : (r+1)*f.Cols]
			if r > 0 && r < f.Rows-1 && f.Cols > 2 {
				steepestRow(f, r, out, &weight)
			}
			seeds.Each(r, func(c int, void bool) {
				out[c] = Out
				if void {
					out[c] = Void
				}
			})
		}
	})
	resolveFlats(f, dir)
	return dir
}

// Pits are the cells from lo to hi of a field of directions that are Pit, in
// their order.
func Pits(dir []uint8, lo, hi int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := lo; i < hi; i++ {
			n := bytes.IndexByte(dir[i:hi], Pit)
			if n < 0 {
				return
			}
			if i += n; !yield(i) {
				return
			}
		}
	}
}

// Weights returns what a drop to each neighbour is multiplied by to compare
// steepness: the cell's width over the distance, so that nothing is rounded on
// the way straight across square cells.
func Weights(f *grid.Grid) (w [8]float64) {
	for k, s := range grid.Steps {
		w[k] = f.CellX / math.Hypot(float64(s.Col)*f.CellX, float64(s.Row)*f.CellY)
	}
	return w
}

// steepestRow gives the inner cells of a row their steepest way down, or Pit;
// beside voids what it says means nothing. The elevations round a cell are
// carried along the row, and the slopes
// compared as the whole numbers of their bits, whose order is theirs where they
// are positive: so the choice needs no branch, which noise would spoil.
func steepestRow(f *grid.Grid, r int, out []uint8, weight *[8]float64) {
	w := f.Cols
	north, row, south := f.Z[(r-1)*w:r*w], f.Z[r*w:(r+1)*w], f.Z[(r+1)*w:(r+2)*w]
	across, along, down := weight[0], weight[1], weight[2]
	nw, n := float64(north[0]), float64(north[1])
	west, z := float64(row[0]), float64(row[1])
	sw, s := float64(south[0]), float64(south[1])
	for c := 1; c < w-1; c++ {
		ne, e, se := float64(north[c+1]), float64(row[c+1]), float64(south[c+1])
		best, code := int64(0), uint64(Pit)
		if d := steepness(z-e, across); d > best {
			best, code = d, 1
		}
		if d := steepness(z-se, along); d > best {
			best, code = d, 2
		}
		if d := steepness(z-s, down); d > best {
			best, code = d, 4
		}
		if d := steepness(z-sw, along); d > best {
			best, code = d, 8
		}
		if d := steepness(z-west, across); d > best {
			best, code = d, 16
		}
		if d := steepness(z-nw, along); d > best {
			best, code = d, 32
		}
		if d := steepness(z-n, down); d > best {
			best, code = d, 64
		}
		if d := steepness(z-ne, along); d > best {
			code = 128
		}
		out[c] = uint8(code)
		nw, n, west, z, sw, s = n, ne, z, e, s, se
	}
}

func steepness(drop, weight float64) int64 { return int64(math.Float64bits(drop * weight)) }
