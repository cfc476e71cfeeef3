package flow

import (
	"math/bits"

	"curbfall/terrain/grid"
)

// resolveFlats gives the cells of flats a way out along integer gradients:
// away from higher ground and, twice as strong, toward lower. Elevations are
// not touched. Flats that no lower cell drains stay Pit.
//
// A flat is taken whole, one after the other, so that what is looked at stays
// near; those that cross from one band of rows to another wait until all bands
// are done.
//
// Source: Barnes, Lehman, Mulla 2014, An efficient assignment of drainage
// direction over flat surfaces, 10.1016/j.cageo.2013.01.009 (from memory).
func resolveFlats(f *grid.Grid, dir []uint8) {
	p := newPlaces(dir)
	away, toward := make([]uint32, p.count), make([]uint32, p.count)
	bands := grid.Bands(f.Rows)
	crossing := make([][]int, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		w := newFlats(f, dir, p, away, toward)
		w.lo, w.hi = b.First*f.Cols, b.End*f.Cols
		p.each(w.lo, w.hi, func(i int) {
			if dir[i] == Pit && w.gather(i, 0) && !w.resolve() {
				crossing[k] = append(crossing[k], i)
			}
		})
	})
	w := newFlats(f, dir, p, away, toward)
	w.hi = len(dir)
	for _, list := range crossing {
		for _, i := range list {
			if dir[i] == Pit && w.gather(i, waiting) {
				w.resolve()
			}
		}
	}
}

// Marks of flat cells in toward, beside counts of steps.
const (
	seen    = 1<<32 - 1 // in the flat at hand
	waiting = 1<<32 - 2 // in a flat that crosses bands
)

// flats resolves one flat after the other.
type flats struct {
	f            *grid.Grid
	dir          []uint8
	at           *places
	away, toward []uint32 // by place: steps from higher ground and to lower, 1 at the flat's rim, 0 not known
	step         [8]int
	lo, hi       int // the cells it may touch

	members       []int // of the flat at hand
	lower, higher []int // those beside cells of its level that drain, and beside higher ground
	crosses       bool  // it reaches past lo or hi
}

func newFlats(f *grid.Grid, dir []uint8, p *places, away, toward []uint32) *flats {
	w := &flats{f: f, dir: dir, at: p, away: away, toward: toward}
	for k, s := range grid.Steps {
		w.step[k] = s.Row*f.Cols + s.Col
	}
	return w
}

// gather finds the flat of a cell, and tells whether its members were still
// marked as told.
func (w *flats) gather(first int, mark uint32) bool {
	m := w.at.of(first)
	if w.toward[m] != mark {
		return false
	}
	w.members = append(w.members[:0], first)
	w.lower, w.higher, w.crosses = w.lower[:0], w.higher[:0], false
	w.toward[m] = seen
	for k := 0; k < len(w.members); k++ {
		i := w.members[k]
		z := w.f.Z[i]
		low, high := false, false
		for _, step := range w.step {
			j := i + step
			switch zj := w.f.Z[j]; {
			case zj > z:
				high = true
			case zj != z:
			case w.dir[j] != Pit:
				low = true
			case j < w.lo || j >= w.hi:
				w.crosses = true
			default:
				if m := w.at.of(j); w.toward[m] == mark {
					w.toward[m] = seen
					w.members = append(w.members, j)
				}
			}
		}
		if low {
			w.lower = append(w.lower, i)
		}
		if high {
			w.higher = append(w.higher, i)
		}
	}
	return true
}

// resolve gives the flat at hand its ways; false where it crosses the band and
// has to wait.
func (w *flats) resolve() bool {
	if w.crosses {
		for _, i := range w.members {
			w.toward[w.at.of(i)] = waiting
		}
		return false
	}
	if len(w.lower) == 0 {
		return true
	}
	if len(w.members) == 1 {
		w.point(w.members[0], 1, 0)
		return true
	}
	highest := w.spread(w.higher, w.away, 0)
	w.spread(w.lower, w.toward, seen)
	for _, i := range w.members {
		w.point(i, w.level(w.at.of(i), highest), highest)
	}
	return true
}

// spread counts the steps from some members, which count 1, to all others,
// and returns the most; unknown is what a member not reached yet holds.
func (w *flats) spread(from []int, steps []uint32, unknown uint32) (most uint32) {
	for _, i := range from {
		steps[w.at.of(i)] = 1
		most = 1
	}
	for k := 0; k < len(from); k++ {
		i := from[k]
		z := w.f.Z[i]
		next := steps[w.at.of(i)] + 1
		for _, step := range w.step {
			j := i + step
			if w.f.Z[j] != z || w.dir[j] != Pit {
				continue
			}
			if m := w.at.of(j); steps[m] == unknown {
				steps[m] = next
				most = max(most, next)
				from = append(from, j)
			}
		}
	}
	return most
}

// level is the height of a member on the flat's gradients.
func (w *flats) level(m int, highest uint32) uint32 {
	l := 2 * w.toward[m]
	if w.away[m] > 0 {
		l += highest - w.away[m]
	}
	return l
}

// straightFirst is the order in which neighbours are asked over flats.
var straightFirst = [8]int{0, 2, 4, 6, 1, 3, 5, 7}

// point sends a member of some level to its lowest neighbour in the flat.
// Cells of the flat's elevation that had a way down before lie at level 0.
func (w *flats) point(i int, best, highest uint32) {
	z := w.f.Z[i]
	code := uint8(Pit)
	for _, k := range straightFirst {
		j := i + w.step[k]
		if w.f.Z[j] != z {
			continue
		}
		l := uint32(0)
		if w.at.has(j) {
			l = w.level(w.at.of(j), highest)
		}
		if l < best {
			best, code = l, 1<<k
		}
	}
	w.dir[i] = code
}

// places numbers the flat cells of a field in their order: a bit a cell, and a
// count every 64.
type places struct {
	flat   []uint64
	before []uint32
	count  int
}

const word = 64

func newPlaces(dir []uint8) *places {
	n := (len(dir) + word - 1) / word
	p := &places{flat: make([]uint64, n), before: make([]uint32, n)}
	grid.OnBands(grid.Bands(n), func(_ int, b grid.Band) {
		for k := b.First; k < b.End; k++ {
			var set uint64
			for m, d := range dir[k*word : min(len(dir), (k+1)*word)] {
				if d == Pit {
					set |= 1 << m
				}
			}
			p.flat[k] = set
		}
	})
	for k, set := range p.flat {
		p.before[k] = uint32(p.count)
		p.count += bits.OnesCount64(set)
	}
	return p
}

// has tells whether a cell is flat.
func (p *places) has(i int) bool { return p.flat[i/word]>>(i%word)&1 == 1 }

// of returns the number of a flat cell, from 0.
func (p *places) of(i int) int {
	return int(p.before[i/word]) + bits.OnesCount64(p.flat[i/word]&(1<<(i%word)-1))
}

// each calls do for the flat cells from lo to hi in order.
func (p *places) each(lo, hi int, do func(i int)) {
	for k := lo / word; k*word < hi; k++ {
		for set := p.flat[k]; set != 0; set &= set - 1 {
			if i := k*word + bits.TrailingZeros64(set); i >= lo && i < hi {
				do(i)
			}
		}
	}
}
