package flow

import (
	"math"
	"math/bits"

	"curbfall/terrain/grid"
)

// one is a way into a cell that has not delivered yet: no grid has 2^60 parts.
const one = 1 << 60

// Parts is how many parts Disperse counts a cell in. Whole numbers add to the
// same sum in any order, so nothing is lost or gained, and the answer depends
// neither on the order cells are taken in nor on the number of cores. All parts
// of a grid stay under one.
const Parts = 1 << 28

// Disperse returns what passes through each cell of a filled surface, in Parts
// of a cell, where water runs to every lower neighbour at once, in shares as
// the slope to the power 1.1. Cells without a lower neighbour follow dir, those
// of flow.Directions. source is what starts on a cell, from 0 to 1. On a slope
// it is the smooth answer where Accumulate's lines of single cells follow the
// raster's axes and its noise; catchments and channels are Accumulate's.
//
// Bands of rows run at once; what waits for another band is finished after
// them. What is rounded of a share goes to the last neighbour that has one.
//
// Cost: O(n), eight bytes a cell, and one more while it runs.
func Disperse(f *grid.Grid, dir []uint8, source func(i int) float64) []uint64 {
	margin := f.Cols + 1
	d := &dispersal{f: f, weight: Weights(f), acc: make([]uint64, len(dir)), gives: make([]uint8, len(dir)+2*margin), margin: margin}
	for k, s := range grid.Steps {
		d.step[k] = s.Row*f.Cols + s.Col
	}
	bands := grid.Bands(f.Rows)
	grid.OnBands(bands, func(_ int, b grid.Band) {
		for i := b.First * f.Cols; i < b.End*f.Cols; i++ {
			if way := dir[i]; way != Out && way < Pit {
				if d.gives[margin+i] = d.lower(i); d.gives[margin+i] == 0 {
					d.gives[margin+i] = way
				}
			}
		}
	})
	grid.OnBands(bands, func(_ int, b grid.Band) {
		for i := b.First * f.Cols; i < b.End*f.Cols; i++ {
			if dir[i] != Void {
				d.acc[i] = uint64(math.Round(source(i)*Parts)) + (1+d.givers(i))*one
			}
		}
	})
	late := make([][]gift, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		late[k] = d.run(b.First*f.Cols, b.End*f.Cols)
	})
	for _, list := range late {
		for _, g := range list {
			d.take(g)
		}
	}
	d.run(0, len(dir))
	return d.acc
}

// dispersal is water on its way. A cell's count of parts carries in its top
// four bits the ways into it that have not delivered yet, and one for itself:
// nine at most.
type dispersal struct {
	f      *grid.Grid
	weight [8]float64
	step   [8]int
	acc    []uint64
	// gives has for each cell the neighbours it hands water to, one bit each in the
	// order of grid.Steps: those below it, or the one its way over a flat leads to.
	// Before the first cell and after the last are margin more that give nothing,
	// as do the cells along the grid's sides.
	gives  []uint8
	margin int
}

// gift is what a cell hands to one below it.
type gift struct {
	to    int
	parts uint64
}

// take adds a gift, and tells whether it was the last its cell waited for.
func (d *dispersal) take(g gift) bool {
	d.acc[g.to] += g.parts - one
	return d.acc[g.to]/one == 1
}

// lower is the set of a cell's neighbours below it.
func (d *dispersal) lower(i int) uint8 {
	z, cols := d.f.Z[i], d.f.Cols
	north, row, south := d.f.Z[i-cols-1:i-cols+2], d.f.Z[i-1:i+2], d.f.Z[i+cols-1:i+cols+2]
	return bit(row[2] < z) | bit(south[2] < z)<<1 | bit(south[1] < z)<<2 | bit(south[0] < z)<<3 |
		bit(row[0] < z)<<4 | bit(north[0] < z)<<5 | bit(north[1] < z)<<6 | bit(north[2] < z)<<7
}

// givers counts the neighbours that hand water to a cell.
func (d *dispersal) givers(i int) uint64 {
	i += d.margin
	cols := d.f.Cols
	north, row, south := d.gives[i-cols-1:i-cols+2], d.gives[i-1:i+2], d.gives[i+cols-1:i+cols+2]
	return uint64(row[2]>>4&1 + south[2]>>5&1 + south[1]>>6&1 + south[0]>>7&1 +
		row[0]&1 + north[0]>>1&1 + north[1]>>2&1 + north[2]>>3&1)
}

// run lets water down from the cells from lo to hi that wait for nothing, and
// returns what goes to others.
func (d *dispersal) run(lo, hi int) (late []gift) {
	var ready []int
	var gifts [8]gift
	for first := lo; first < hi; first++ {
		if d.acc[first]/one != 1 {
			continue
		}
		ready = append(ready[:0], first)
		for len(ready) > 0 {
			i := ready[len(ready)-1]
			ready = ready[:len(ready)-1]
			d.acc[i] -= one
			for _, g := range gifts[:d.share(i, &gifts)] {
				if g.to < lo || g.to >= hi {
					late = append(late, g)
				} else if d.take(g) {
					ready = append(ready, g.to)
				}
			}
		}
	}
	return late
}

// share fills in what a finished cell hands to each neighbour it gives to, and
// returns how many there are.
func (d *dispersal) share(i int, gifts *[8]gift) (n int) {
	z, all := float64(d.f.Z[i]), d.acc[i]
	set := d.gives[d.margin+i]
	if set&(set-1) == 0 { // one at most
		if set == 0 {
			return 0
		}
		gifts[0] = gift{i + d.step[bits.TrailingZeros8(set)], all}
		return 1
	}
	var upTo [8]float64 // the shares of the gifts so far
	sum := 0.0
	for ; set != 0; set &= set - 1 {
		k := bits.TrailingZeros8(set)
		to := i + d.step[k]
		slope := (z - float64(d.f.Z[to])) * d.weight[k]
		sum += slope * tenthRoot(slope)
		upTo[n&7], gifts[n&7].to = sum, to // no place is beyond 7, and so nobody asks
		n++
	}
	rate := float64(all) / sum
	given := uint64(0)
	for k := range n - 1 {
		next := min(all, uint64(int64(upTo[k&7]*rate)))
		gifts[k&7].parts = next - given
		given = next
	}
	gifts[(n-1)&7].parts = all - given
	return n
}
