// Package fill raises depressions of a grid to the level at which they spill.
//
//	9 ___             ___ 9      9 ___             ___ 9
//	7    |         __|           7    |         __|
//	6    |   _    |         =>   6    |________|
//	3    |__| |___|
//	      pit  pit               level ground, drained by the cell that spills
package fill

import (
	"math"
	"math/bits"
	"slices"

	"curbfall/terrain/grid"
)

// key orders cells by elevation, then by index; -0 counts as 0.
func key(z float32, i int) uint64 {
	b := math.Float32bits(z + 0)
	if b&(1<<31) != 0 {
		b = ^b
	} else {
		b |= 1 << 31
	}
	return uint64(b)<<32 | uint64(uint32(i))
}

// heap is a monotone radix heap of keys: nothing smaller than the last key
// popped may be pushed. Bucket b holds the keys whose highest bit that differs
// from that key is bit b-1, so a key moves down at most once a bit.
type heap struct {
	bucket [65][]uint64
	last   uint64
}

func (h *heap) push(k uint64) {
	b := bits.Len64(k ^ h.last)
	h.bucket[b] = append(h.bucket[b], k)
}

// pop returns the smallest key, and false where there is none.
func (h *heap) pop() (k uint64, ok bool) {
	b := 0
	for b < len(h.bucket) && len(h.bucket[b]) == 0 {
		b++
	}
	if b == len(h.bucket) {
		return 0, false
	}
	keys := h.bucket[b]
	if b == 0 || len(keys) == 1 {
		h.last = keys[0]
		h.bucket[b] = keys[:0]
		return h.last, true
	}
	h.last = slices.Min(keys)
	for _, k := range keys {
		if k != h.last { // no two keys are equal: each holds its cell
			h.push(k)
		}
	}
	h.bucket[b] = keys[:0]
	return h.last, true
}

// Depressions returns a copy of g with every cell raised to the lowest level
// from which water can leave the grid: over its edge or into a void. Filled
// elevations are exact copies of input values, void cells stay NaN, and the
// answer does not depend on the order of equal elevations. g is not modified.
//
// Cost: O(n log n) in the cells, one copy of the grid, a byte a cell and the
// heap.
//
// Source: Barnes, Lehman, Mulla 2014, Priority-Flood,
// 10.1016/j.cageo.2013.04.024 (from memory).
func Depressions(g *grid.Grid) *grid.Grid {
	f := g.Clone()
	closed := make([]bool, len(f.Z))
	var open heap
	seeds(f, closed, &open)
	var steps [8]int
	for k, s := range grid.Steps {
		steps[k] = s.Row*f.Cols + s.Col
	}
	var pit []uint32 // cells at the level of water, to be spread before any higher
	for {
		var i int
		if n := len(pit); n > 0 {
			i, pit = int(pit[n-1]), pit[:n-1]
		} else if k, ok := open.pop(); ok {
			i = int(uint32(k))
		} else {
			return f
		}
		level := f.Z[i]
		edge := onEdge(f, i)
		for k, step := range steps {
			if edge {
				c, r := f.Cell(i)
				if !f.Contains(c+grid.Steps[k].Col, r+grid.Steps[k].Row) {
					continue
				}
			}
			j := i + step
			if closed[j] {
				continue
			}
			closed[j] = true
			if f.Z[j] <= level {
				f.Z[j] = level
				pit = append(pit, uint32(j))
				continue
			}
			open.push(key(f.Z[j], j))
		}
	}
}

func onEdge(g *grid.Grid, i int) bool {
	c := i % g.Cols
	return i < g.Cols || i >= len(g.Z)-g.Cols || c == 0 || c == g.Cols-1
}

// seeds closes voids and the cells that drain straight out, and opens the latter.
func seeds(f *grid.Grid, closed []bool, open *heap) {
	for i := range f.Z {
		if f.Void(i) {
			closed[i] = true
			continue
		}
		if c, r := f.Cell(i); f.DrainsOut(c, r) {
			closed[i] = true
			open.push(key(f.Z[i], i))
		}
	}
}
