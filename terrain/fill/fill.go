// Package fill raises depressions of a grid to the level at which they spill.
package fill

import (
	"math"

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

// heap is a binary heap of keys, smallest first.
type heap []uint64

func (h *heap) push(k uint64) {
	*h = append(*h, k)
	s := *h
	i := len(s) - 1
	for i > 0 {
		p := (i - 1) / 2
		if s[p] <= k {
			break
		}
		s[i] = s[p]
		i = p
	}
	s[i] = k
}

func (h *heap) pop() uint64 {
	s := *h
	top := s[0]
	k := s[len(s)-1]
	s = s[:len(s)-1]
	*h = s
	if len(s) == 0 {
		return top
	}
	i := 0
	for {
		c := 2*i + 1
		if c >= len(s) {
			break
		}
		if c+1 < len(s) && s[c+1] < s[c] {
			c++
		}
		if k <= s[c] {
			break
		}
		s[i] = s[c]
		i = c
	}
	s[i] = k
	return top
}

// Depressions returns a copy of g with every cell raised to the lowest level
// from which water can leave the grid: over its edge or into a void.
func Depressions(g *grid.Grid) *grid.Grid {
	f := g.Clone()
	closed := make([]bool, len(f.Z))
	var open heap
	var pit []int
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
	next := func() (int, bool) {
		if n := len(pit); n > 0 {
			i := pit[n-1]
			pit = pit[:n-1]
			return i, true
		}
		if len(open) == 0 {
			return 0, false
		}
		return int(uint32(open.pop())), true
	}
	for i, ok := next(); ok; i, ok = next() {
		c, r := f.Cell(i)
		for _, s := range grid.Steps {
			if !f.Contains(c+s.Col, r+s.Row) {
				continue
			}
			j := f.Index(c+s.Col, r+s.Row)
			if closed[j] {
				continue
			}
			closed[j] = true
			if f.Z[j] <= f.Z[i] {
				f.Z[j] = f.Z[i]
				pit = append(pit, j)
				continue
			}
			open.push(key(f.Z[j], j))
		}
	}
	return f
}
