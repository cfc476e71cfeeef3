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

// exponent sharpens the shares: 1.1 brings the contributing area of a cone
// nearest to its formula.
//
// Source: Freeman 1991, Calculating catchment area with divergent flow based on
// a regular grid, Computers and Geosciences 17(3), 413-422 (from memory).
const exponent = 1.1

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
// Cost: O(n), eight bytes a cell.
func Disperse(f *grid.Grid, dir []uint8, source func(i int) float64) []uint64 {
	d := &dispersal{f: f, dir: dir, weight: Weights(f), acc: make([]uint64, len(dir))}
	for k, s := range grid.Steps {
		d.step[k] = s.Row*f.Cols + s.Col
	}
	bands := grid.Bands(f.Rows)
	grid.OnBands(bands, func(_ int, b grid.Band) {
		for r := b.First; r < b.End; r++ {
			for c := range f.Cols {
				if i := r*f.Cols + c; dir[i] != Void {
					d.acc[i] = uint64(math.Round(source(i)*Parts)) + (1+d.givers(c, r))*one
				}
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
	dir    []uint8
	weight [8]float64
	step   [8]int
	acc    []uint64
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

// givers counts the neighbours that hand water to a cell.
func (d *dispersal) givers(c, r int) (n uint64) {
	i := d.f.Index(c, r)
	for k, s := range grid.Steps {
		if d.f.Contains(c+s.Col, r+s.Row) && d.gives(i+d.step[k], i) {
			n++
		}
	}
	return n
}

// gives tells whether a cell hands water to its neighbour: a lower one, or the
// one its way over a flat leads to.
func (d *dispersal) gives(from, to int) bool {
	way := d.dir[from]
	if way == Out || way >= Pit {
		return false
	}
	return d.f.Z[to] < d.f.Z[from] || d.f.Z[to] == d.f.Z[from] && from+d.step[bits.TrailingZeros8(way)] == to
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
			for _, g := range d.shares(gifts[:0], i) {
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

// shares appends what a finished cell hands to each neighbour below it.
func (d *dispersal) shares(gifts []gift, i int) []gift {
	way := d.dir[i]
	if way == Out || way >= Pit {
		return gifts
	}
	z, all := float64(d.f.Z[i]), d.acc[i]
	if next := i + d.step[bits.TrailingZeros8(way)]; d.f.Z[next] == d.f.Z[i] {
		return append(gifts, gift{next, all})
	}
	var upTo [8]float64 // the shares of the gifts so far
	sum := 0.0
	for k, step := range d.step {
		if drop := z - float64(d.f.Z[i+step]); drop > 0 {
			slope := drop * d.weight[k]
			sum += slope * math.Exp((exponent-1)*math.Log(slope)) // quicker than Pow
			upTo[len(gifts)] = sum
			gifts = append(gifts, gift{to: i + step})
		}
	}
	given := uint64(0)
	for k := range gifts {
		next := all
		if k < len(gifts)-1 {
			next = min(all, uint64(float64(all)*(upTo[k]/sum)))
		}
		gifts[k].parts = next - given
		given = next
	}
	return gifts
}
