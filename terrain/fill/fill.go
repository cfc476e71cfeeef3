// Package fill raises depressions of a grid to the level at which they spill.
//
//	9 ___             ___ 9      9 ___             ___ 9
//	7    |         __|           7    |         __|
//	6    |   _    |         =>   6    |________|
//	3    |__| |___|
//	      pit  pit               level ground, drained by the cell that spills
package fill

import (
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
// the grid, five bytes a cell, and 24 bytes a saddle.
//
// Source: own; the levels are those of Barnes, Lehman, Mulla 2014,
// Priority-Flood, 10.1016/j.cageo.2013.04.024 (from memory), which the tests
// hold beside it.
func Depressions(g *grid.Grid) *grid.Grid {
	dir, saddles := descend(g)
	catchment := basin.Follow(dir, g.Cols)
	level := spills(g, catchment, saddles)
	f := *g
	f.Z = make([]float32, len(g.Z))
	grid.OnBands(grid.Bands(g.Rows), func(_ int, b grid.Band) {
		lo, hi := b.First*g.Cols, b.End*g.Cols
		in, out, of := g.Z[lo:hi], f.Z[lo:hi], catchment.Of[lo:hi]
		for i, z := range in {
			if of[i] >= basin.First {
				z = max(z, level[of[i]])
			}
			out[i] = z
		}
	})
	return &f
}

// saddle is a cell that may join catchments, and its ring of lower neighbours.
type saddle struct {
	cell uint32
	ring uint8
}

// descend gives every cell a way to some lower neighbour, flow.Pit where there
// is none, and lists the saddles in the order of their cells. Of two equal
// cells the one that comes first counts as lower, so no way leads in a circle.
func descend(g *grid.Grid) (dir []uint8, saddles [][]saddle) {
	dir = make([]uint8, len(g.Z))
	void := g.VoidRows()
	bands := grid.Bands(g.Rows)
	saddles = make([][]saddle, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		for r := b.First; r < b.End; r++ {
			if r == 0 || r == g.Rows-1 || g.Cols < 3 {
				for c := range g.Cols {
					saddles[k] = descendSeed(g, c, r, dir, saddles[k])
				}
				continue
			}
			saddles[k] = descendSeed(g, 0, r, dir, saddles[k])
			if void[r-1] || void[r] || void[r+1] {
				saddles[k] = descendBesideVoid(g, r, dir, saddles[k])
			} else {
				saddles[k] = descendRow(g, r, dir, saddles[k])
			}
			saddles[k] = descendSeed(g, g.Cols-1, r, dir, saddles[k])
		}
	})
	return dir, saddles
}

// descendRow gives the inner cells of a row that has no void near it their
// ways. The nine elevations round a cell are carried along the row, so each is
// read once.
func descendRow(g *grid.Grid, r int, dir []uint8, saddles []saddle) []saddle {
	w := g.Cols
	north, row, south := g.Z[(r-1)*w:r*w], g.Z[r*w:(r+1)*w], g.Z[(r+1)*w:(r+2)*w]
	out := dir[r*w : (r+1)*w]
	nw, n := north[0], north[1]
	west, z := row[0], row[1]
	sw, s := south[0], south[1]
	for c := 1; c < w-1; c++ {
		ne, e, se := north[c+1], row[c+1], south[c+1]
		ring := below(e, z) | below(se, z)<<1 | below(s, z)<<2 | below(sw, z)<<3 |
			(1-below(z, west))<<4 | (1-below(z, nw))<<5 | (1-below(z, n))<<6 | (1-below(z, ne))<<7
		out[c] = lead[ring]
		if basin.Saddle(ring) {
			saddles = append(saddles, saddle{uint32(r*w + c), ring})
		}
		nw, n, west, z, sw, s = n, ne, z, e, s, se
	}
	return saddles
}

// below is 1 where a < b, else 0.
func below(a, b float32) uint8 {
	if a < b {
		return 1
	}
	return 0
}

// lead is the way out of a ring: its last neighbour, which is the one most
// likely to have been met already; none where the ring is empty.
var lead = func() (t [256]uint8) {
	t[0] = flow.Pit
	for ring := 1; ring < 256; ring++ {
		for k := range 8 {
			if ring>>k&1 == 1 {
				t[ring] = 1 << k
			}
		}
	}
	return t
}()

func descendBesideVoid(g *grid.Grid, r int, dir []uint8, saddles []saddle) []saddle {
	for c := 1; c < g.Cols-1; c++ {
		if g.DrainsOut(c, r) || g.Void(g.Index(c, r)) {
			saddles = descendSeed(g, c, r, dir, saddles)
			continue
		}
		ring := ringAt(g, c, r)
		i := g.Index(c, r)
		dir[i] = lead[ring]
		if basin.Saddle(ring) {
			saddles = append(saddles, saddle{uint32(i), ring})
		}
	}
	return saddles
}

// descendSeed sends a cell straight out. It is a saddle between the outside and
// each arc of its ring.
func descendSeed(g *grid.Grid, c, r int, dir []uint8, saddles []saddle) []saddle {
	i := g.Index(c, r)
	if g.Void(i) {
		dir[i] = flow.Void
		return saddles
	}
	dir[i] = flow.Out
	if ring := ringAt(g, c, r); ring != 0 {
		saddles = append(saddles, saddle{uint32(i), ring})
	}
	return saddles
}

// ringAt is the ring of a cell anywhere on the grid; voids are in no ring.
func ringAt(g *grid.Grid, c, r int) (ring uint8) {
	i := g.Index(c, r)
	for k, s := range grid.Steps {
		if !g.Contains(c+s.Col, r+s.Row) {
			continue
		}
		j := g.Index(c+s.Col, r+s.Row)
		if g.Z[j] < g.Z[i] || g.Z[j] == g.Z[i] && j < i {
			ring |= 1 << k
		}
	}
	return ring
}
