package basin

import "math/bits"

// A ring is the set of a cell's neighbours below it, one bit a neighbour in the
// order of grid.Steps. Neighbours beside one another on the ring touch, and so
// do two that stand square to each other across a corner. A cell whose lower
// neighbours all hang together is no saddle: whatever passes over it passes
// round it as low.

// Saddle tells whether a ring falls into two or more arcs.
func Saddle(ring uint8) bool { return arcs[ring] > 1 }

// arcs counts the arcs of every ring, heads has the first neighbour of each.
var arcs, heads [256]uint8

func init() {
	for ring := range 256 {
		left := uint8(ring)
		for left != 0 {
			arc := left & -left
			for grown := touching(arc) & left; grown&^arc != 0; grown = touching(arc) & left {
				arc |= grown
			}
			heads[ring] |= left & -left
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

// Heads returns one neighbour of each arc of a ring, the first.
func Heads(ring uint8) uint8 { return heads[ring] }
