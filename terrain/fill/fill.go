// Package fill raises depressions of a grid to the level at which they spill.
//
//	9 ___             ___ 9      9 ___             ___ 9
//	7    |         __|           7    |         __|
//	6    |   _    |         =>   6    |________|
//	3    |__| |___|
//	      pit  pit               level ground, drained by the cell that spills
package fill

import (
	"math/bits"
	"unsafe"

	"curbfall/terrain/basin"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// Depressions returns a copy of g with every cell raised to the lowest level
// from which water can leave the grid: over its edge or into a void. Filled
// elevations are exact copies of input values, void cells stay NaN, and the
// answer depends neither on the order of equal elevations nor on the number of
// cores. g is not modified.
//
// Water at any cell can run down to a pit, so a cell's level is its own or its
// pit's, whichever is higher; and a pit's level is that of the lowest chain of
// saddles to the outside. No queue of cells is needed: the saddles, a tenth of
// the cells on noisy ground, are sorted and joined.
//
// Cost: O(n) in the cells and the sorting of saddles; at its peak one copy of
// the grid, a byte a cell, and 40 bytes a saddle.
//
// Source: own; the levels are those of Barnes, Lehman, Mulla 2014,
// Priority-Flood, 10.1016/j.cageo.2013.04.024 (from memory), which the tests
// hold beside it.
func Depressions(g *grid.Grid) *grid.Grid {
	f := *g
	f.Z = make([]float32, len(g.Z))
	if len(f.Z) == 0 {
		return &f
	}
	dir, saddles := descend(g)
	// Labels stand where the levels will: a label is read just before its cell's
	// level is written, and both are of 32 bits.
	of := unsafe.Slice((*uint32)(unsafe.Pointer(&f.Z[0])), len(f.Z))
	catchment := basin.FollowInto(of, dir, g.Cols)
	level := settle(basin.Sorted(gather(g, catchment, saddles)), basin.First+len(catchment.Pits))
	raise(f.Z, g.Z, catchment.Of, level, g.Cols)
	return &f
}

// raise gives each cell the level of its catchment where that is higher. The
// labels may stand where the levels go.
func raise(out, in []float32, of []uint32, level []float32, cols int) {
	grid.OnBands(grid.Bands(len(in)/cols), func(_ int, b grid.Band) {
		lo, hi := b.First*cols, b.End*cols
		in, out, of := in[lo:hi], out[lo:hi], of[lo:hi]
		for i, z := range in {
			if of[i] >= basin.First {
				z = max(z, level[of[i]])
			}
			out[i] = z
		}
	})
}

// saddle is a cell that may join catchments, and its ring of lower neighbours.
type saddle struct {
	cell uint32
	ring uint8
}

// descend gives every cell a way to some lower neighbour, flow.Pit where there
// is none, and lists the saddles by bands of rows. A cell that
// drains out is a saddle between the outside and each arc of its ring.
func descend(g *grid.Grid) (dir []uint8, saddles [][]saddle) {
	rings := basin.Rings(g)
	seeds := grid.NewSeeds(g)
	bands := grid.Bands(g.Rows)
	saddles = make([][]saddle, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		list := make([]saddle, 0, count(rings, seeds, b, g.Cols))
		for r := b.First; r < b.End; r++ {
			row := rings[r*g.Cols : (r+1)*g.Cols]
			seeds.Each(r, func(c int, void bool) {
				if row[c] != 0 && !basin.Saddle(row[c]) {
					list = append(list, saddle{uint32(r*g.Cols + c), row[c]})
				}
			})
			for c, ring := range row {
				if basin.Saddle(ring) {
					list = append(list, saddle{uint32(r*g.Cols + c), ring})
				}
				row[c] = lead[ring] // a way takes the place of the ring
			}
			seeds.Each(r, func(c int, void bool) {
				row[c] = flow.Out
				if void {
					row[c] = flow.Void
				}
			})
		}
		saddles[k] = list
	})
	return rings, saddles
}

// count tells how many saddles a band has, so that the list of them is made at
// its length.
func count(rings []uint8, seeds *grid.Seeds, b grid.Band, cols int) (n int) {
	for _, ring := range rings[b.First*cols : b.End*cols] {
		if basin.Saddle(ring) {
			n++
		}
	}
	for r := b.First; r < b.End; r++ {
		seeds.Each(r, func(c int, _ bool) {
			if ring := rings[r*cols+c]; ring != 0 && !basin.Saddle(ring) {
				n++
			}
		})
	}
	return n
}

// lead is the way out of a ring: its last neighbour, which is the one most
// likely to have been met already; none where the ring is empty.
var lead = func() (t [256]uint8) {
	t[0] = flow.Pit
	for ring := 1; ring < 256; ring++ {
		t[ring] = 1 << (bits.Len8(uint8(ring)) - 1)
	}
	return t
}()
