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

// What Accumulate keeps of a cell in a byte: in the low half the number of its
// way, or one of these; in the high half how many ways into it have not
// delivered yet, eight at most, or done.
const (
	ends  = 8 // its way leads nowhere
	waits = 9 // its way leads into another band
	half  = 0x0f
	into  = 0x10 // one way into it
	done  = 0xf0
)

// wayOf gives each direction code its number.
var wayOf = func() (t [256]uint8) {
	for d := range t {
		t[d] = ends
	}
	for k := range grid.Steps {
		t[1<<k] = uint8(k)
	}
	t[Void] = done | ends
	return t
}()

// Accumulate returns the number of cells that drain through each, itself
// included; 0 where void. The counts are exact and do not depend on the number
// of cores.
//
// A cell is done once all ways into it have delivered; whatever finishes a cell
// goes on down from there, so no queue is needed. Bands of rows run at once;
// what leads into another band is delivered after them.
//
// Cost: O(n), four bytes a cell, and one more while it runs.
func Accumulate(g *grid.Grid, dir []uint8) []uint32 {
	acc := make([]uint32, len(dir))
	accumulate(dir, g.Cols, acc)
	return acc
}

// accumulate adds to acc, which holds what comes to each cell from elsewhere.
func accumulate(dir []uint8, cols int, acc []uint32) {
	a := &accumulation{dir: dir, cell: make([]uint8, len(dir)), acc: acc}
	for k, s := range grid.Steps {
		a.step[k] = s.Row*cols + s.Col
	}
	bands := grid.Bands(len(dir) / cols)
	leaving := make([][]int, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		leaving[k] = a.count(b.First*cols, b.End*cols)
	})
	for _, list := range leaving {
		for _, i := range list {
			a.cell[a.across(i)] += into
		}
	}
	grid.OnBands(bands, func(_ int, b grid.Band) { a.run(b.First*cols, b.End*cols) })
	var finished []int
	for _, list := range leaving {
		for _, i := range list {
			if a.cell[i] >= done {
				finished = append(finished, i)
			}
		}
	}
	for _, i := range finished {
		a.cross(i)
	}
}

type accumulation struct {
	dir  []uint8
	cell []uint8
	acc  []uint32
	step [16]int
}

// count counts the ways into the cells from lo to hi that come from among them,
// and returns those from which a way leads out.
func (a *accumulation) count(lo, hi int) (leaving []int) {
	dir, cell, step := a.dir[:hi], a.cell[:hi], a.step
	for i := lo; i < hi; i++ {
		way := wayOf[dir[i]]
		if way < ends {
			if n := i + step[way]; n >= lo && n < hi {
				cell[n] += into
			} else {
				leaving = append(leaving, i)
				way = waits
			}
		}
		cell[i] += way
	}
	return leaving
}

// stretch is how many cells run looks at before it lets water down from them.
const stretch = 512

// run counts down from every cell from lo to hi that no way leads into. Those of
// a stretch are listed first, eight cells at a time: a branch for each would be
// spoilt by relief.
func (a *accumulation) run(lo, hi int) {
	var heads [stretch]int
	for ; lo < hi; lo += stretch {
		n, end := 0, min(hi, lo+stretch)
		i := lo
		for ; i+8 <= end; i += 8 {
			for set := waitless(eight(a.cell[i:])); set != 0; set &= set - 1 {
				heads[n%stretch] = i + bits.TrailingZeros64(set)/8
				n++
			}
		}
		for ; i < end; i++ {
			if a.cell[i] < into {
				heads[n%stretch] = i
				n++
			}
		}
		for _, i := range heads[:n] {
			a.deliver(i)
		}
	}
}

// eight packs the first eight of some cells into a word, the first lowest: one
// load where the machine keeps words so.
func eight(c []uint8) uint64 {
	_ = c[7]
	return uint64(c[0]) | uint64(c[1])<<8 | uint64(c[2])<<16 | uint64(c[3])<<24 |
		uint64(c[4])<<32 | uint64(c[5])<<40 | uint64(c[6])<<48 | uint64(c[7])<<56
}

// waitless sets the highest bit of each of eight cells that no way leads into that
// has not delivered, and no other bit.
func waitless(cells uint64) uint64 {
	const high, low = 0x8080808080808080, 0x7f7f7f7f7f7f7f7f
	ways := cells & 0xf0f0f0f0f0f0f0f0
	return ^(ways&low + low | ways) & high // seven bits and low carry unless they are 0
}

// deliver finishes a cell, and goes on down as long as that finishes the next.
// It returns the last one where its way ends or waits, else -1.
func (a *accumulation) deliver(i int) int {
	acc, cell, step := a.acc, a.cell, &a.step
	way, count := cell[i], acc[i]+1
	for {
		acc[i] = count
		cell[i] = way | done
		if way >= ends {
			return i
		}
		i += step[way&half]
		count += acc[i]
		way = cell[i] - into
		if way >= into {
			acc[i], cell[i] = count, way
			return -1
		}
		count++
	}
}

// across is the cell in another band a cell's way leads to.
func (a *accumulation) across(i int) int { return i + a.step[wayOf[a.dir[i]]] }

// cross delivers a finished cell's count into another band, and what that
// finishes on down, from band to band.
func (a *accumulation) cross(i int) {
	for i >= 0 && a.cell[i] == done|waits {
		n := a.across(i)
		a.acc[n] += a.acc[i]
		if a.cell[n] -= into; a.cell[n] >= into {
			return
		}
		i = a.deliver(n)
	}
}
