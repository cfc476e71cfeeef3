package basin

import (
	"math/bits"

	"curbfall/terrain/grid"
)

// A ring is the set of a cell's neighbours below it, one bit a neighbour in the
// order of grid.Steps. Neighbours beside one another on the ring touch, and so
// do two that stand square to each other across a corner. A cell whose lower
// neighbours all hang together is no saddle: whatever passes over it passes
// round it as low.

// Saddle tells whether a ring falls into two or more arcs.
func Saddle(ring uint8) bool { return arcs[ring] > 1 }

// arcs counts the arcs of every ring, heads has the first neighbour of each,
// others leaves out the arc of the last neighbour, and firstArc is the arc of
// the first.
var arcs, heads, others, firstArc [256]uint8

func init() {
	for ring := range 256 {
		left := uint8(ring)
		for left != 0 {
			arc := left & -left
			for grown := touching(arc) & left; grown&^arc != 0; grown = touching(arc) & left {
				arc |= grown
			}
			heads[ring] |= left & -left
			if int(arc) <= ring/2 { // without the last neighbour
				others[ring] |= left & -left
			}
			if arcs[ring] == 0 {
				firstArc[ring] = arc
			}
			arcs[ring]++
			left &^= arc
		}
	}
}

// square are the neighbours at the cell's sides: E S W N.
const square = 0b01010101

// touching returns the neighbours on the ring that touch one of a set.
func touching(set uint8) uint8 {
	near := bits.RotateLeft8(set, 1) | bits.RotateLeft8(set, -1)
	across := set & square
	return near | bits.RotateLeft8(across, 2) | bits.RotateLeft8(across, -2)
}

// Arc returns the arc of a ring that its first neighbour belongs to; none of
// none.
func Arc(ring uint8) uint8 { return firstArc[ring] }

// Others returns one neighbour of each arc of a ring but the arc of its last
// neighbour.
func Others(ring uint8) uint8 { return others[ring] }

// Heads returns one neighbour of each arc of a ring, the first.
func Heads(ring uint8) uint8 { return heads[ring] }

// Rings returns the ring of every cell, see RingRow.
//
// Cost: O(n), a byte a cell.
func Rings(g *grid.Grid) []uint8 {
	rings := make([]uint8, len(g.Z))
	grid.OnBands(grid.Bands(g.Rows), func(_ int, b grid.Band) {
		for r := b.First; r < b.End; r++ {
			RingRow(g, r, rings[r*g.Cols:(r+1)*g.Cols])
		}
	})
	return rings
}

// RingRow finds the rings of a row's cells. Of two equal cells the one that comes
// first counts as lower, so no cell is below another that is below it. Voids
// are in no ring and have none.
func RingRow(g *grid.Grid, r int, out []uint8) {
	if r == 0 || r == g.Rows-1 || g.Cols < 3 {
		for c := range out {
			out[c] = ringAt(g, c, r)
		}
		return
	}
	out[0], out[g.Cols-1] = ringAt(g, 0, r), ringAt(g, g.Cols-1, r)
	innerRings(g, r, out)
}

// innerRings finds the rings of the inner cells of a row. The nine elevations
// round a cell are carried along it, so each is read once.
func innerRings(g *grid.Grid, r int, out []uint8) {
	w := g.Cols
	north, row, south := g.Z[(r-1)*w:r*w], g.Z[r*w:(r+1)*w], g.Z[(r+1)*w:(r+2)*w]
	nw, n := north[0], north[1]
	west, z := row[0], row[1]
	sw, s := south[0], south[1]
	for c := 1; c < w-1; c++ {
		ne, e, se := north[c+1], row[c+1], south[c+1]
		out[c] = bit(e < z) | bit(se < z)<<1 | bit(s < z)<<2 | bit(sw < z)<<3 |
			bit(west <= z)<<4 | bit(nw <= z)<<5 | bit(n <= z)<<6 | bit(ne <= z)<<7
		nw, n, west, z, sw, s = n, ne, z, e, s, se
	}
}

func bit(is bool) uint8 {
	if is {
		return 1
	}
	return 0
}

// ringAt is the ring of a cell anywhere on the grid.
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
