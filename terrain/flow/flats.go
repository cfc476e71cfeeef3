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
	cells := flatCells{make([]uint8, p.count), make([]uint32, p.count), make([]uint32, p.count)}
	bands := grid.Bands(f.Rows)
	crossing := make([][]int, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		w := newFlats(f, dir, p, cells, b)
		p.each(w.lo, w.hi, func(i int) {
			if w.gather(i, 0) && !w.resolve() {
				crossing[k] = append(crossing[k], i)
			}
		})
	})
	w := newFlats(f, dir, p, cells, grid.Band{First: 0, End: f.Rows})
	for _, list := range crossing {
		for _, i := range list {
			if w.gather(i, waiting) {
				w.resolve()
			}
		}
	}
}

// flatCells is what is known of flat cells, by place.
type flatCells struct {
	same         []uint8  // the neighbours that are in the same flat
	away, toward []uint32 // steps from higher ground and to lower, 1 at the flat's rim, 0 not known
}

// Marks of flat cells in toward, beside counts of steps.
const (
	seen    = 1<<32 - 1 // in the flat at hand
	waiting = 1<<32 - 2 // in a flat that crosses bands
)

// Sets of neighbours have one bit each, in the order of grid.Steps.
const (
	above    = 0b11100000
	below    = 0b00001110
	straight = 0b01010101
)

// flats resolves one flat after the other.
type flats struct {
	flatCells
	f      *grid.Grid
	dir    []uint8
	at     *places
	lo, hi int       // the cells it may touch
	step   [8]uint32 // from a cell to its neighbours
	near   [8]uint32 // the places of a member's neighbours, see look

	members       []member // of the flat at hand
	lower, higher []member // those beside cells of its level that drain, and beside higher ground; then all by their steps
	crosses       bool     // it reaches past lo or hi
}

// member is a cell of a flat.
type member struct{ cell, place uint32 }

func newFlats(f *grid.Grid, dir []uint8, p *places, cells flatCells, b grid.Band) *flats {
	w := &flats{flatCells: cells, f: f, dir: dir, at: p, lo: b.First * f.Cols, hi: b.End * f.Cols}
	for k, s := range grid.Steps {
		w.step[k] = uint32(s.Row*f.Cols + s.Col)
	}
	return w
}

// gather finds the flat of a cell, and tells whether its members were still
// marked as told. A member beside a cell of its level that drains gets its way
// there at once.
func (w *flats) gather(first int, mark uint32) bool {
	place := w.at.of(first)
	if w.toward[place] != mark {
		return false
	}
	w.members = append(w.members[:0], member{uint32(first), place})
	w.lower, w.higher, w.crosses = w.lower[:0], w.higher[:0], false
	w.toward[place] = seen
	for k := 0; k < len(w.members); k++ {
		m := w.members[k]
		i := int(m.cell)
		level, flat := w.level(i), w.at.around(i, w.f.Cols)
		same := level & flat
		if level != 0xff {
			w.higher = append(w.higher, m)
		}
		if drains := level &^ flat; drains != 0 {
			w.dir[i] = straightest[drains]
			w.lower = append(w.lower, m)
		}
		if i < w.lo+w.f.Cols && same&above != 0 {
			w.crosses = true
			same &^= above
		}
		if i >= w.hi-w.f.Cols && same&below != 0 {
			w.crosses = true
			same &^= below
		}
		w.same[m.place] = same
		w.look(m)
		for ; same != 0; same &= same - 1 {
			k := bits.TrailingZeros8(same)
			if n := w.near[k]; w.toward[n] == mark {
				w.toward[n] = seen
				w.members = append(w.members, member{m.cell + w.step[k], n})
			}
		}
	}
	return true
}

// level is the set of a flat cell's neighbours on its level. The others are
// higher: it has no lower ones.
func (w *flats) level(i int) uint8 {
	z, cols := w.f.Z[i], w.f.Cols
	north, row, south := w.f.Z[i-cols-1:i-cols+2], w.f.Z[i-1:i+2], w.f.Z[i+cols-1:i+cols+2]
	return bit(row[2] == z) | bit(south[2] == z)<<1 | bit(south[1] == z)<<2 | bit(south[0] == z)<<3 |
		bit(row[0] == z)<<4 | bit(north[0] == z)<<5 | bit(north[1] == z)<<6 | bit(north[2] == z)<<7
}

func bit(is bool) uint8 {
	if is {
		return 1
	}
	return 0
}

// look finds the places of a member's neighbours; what it says of those not flat
// means nothing.
func (w *flats) look(m member) {
	north, south := int(m.cell)-w.f.Cols, int(m.cell)+w.f.Cols
	n, s := w.at.of(north), w.at.of(south)
	w.near = [8]uint32{
		m.place + 1, s + w.at.has(south), s, s - 1,
		m.place - 1, n - 1, n, n + w.at.has(north),
	}
}

// resolve gives the flat at hand its ways; false where it crosses the band and
// has to wait.
func (w *flats) resolve() bool {
	if w.crosses {
		for _, m := range w.members {
			w.toward[m.place] = waiting
		}
		return false
	}
	if len(w.lower) == 0 || len(w.members) == 1 {
		return true
	}
	w.higher = w.spread(w.higher, w.away, 0)
	w.lower = w.spread(w.lower, w.toward, seen)
	highest := uint32(0)
	if len(w.higher) > 0 {
		highest = w.away[w.higher[len(w.higher)-1].place]
	}
	for _, m := range w.members {
		if w.toward[m.place] > 1 {
			w.dir[m.cell] = w.way(m, highest)
		}
	}
	return true
}

// spread counts the steps from some members, which count 1, to all others,
// and returns all by their steps; unknown is what a member not reached yet holds.
func (w *flats) spread(from []member, steps []uint32, unknown uint32) []member {
	for _, m := range from {
		steps[m.place] = 1
	}
	for k := 0; k < len(from); k++ {
		m := from[k]
		next := steps[m.place] + 1
		w.look(m)
		for set := w.same[m.place]; set != 0; set &= set - 1 {
			k := bits.TrailingZeros8(set)
			if n := w.near[k]; steps[n] == unknown {
				steps[n] = next
				from = append(from, member{m.cell + w.step[k], n})
			}
		}
	}
	return from
}

// height is that of a member on the flat's gradients.
func (w *flats) height(place, highest uint32) uint32 {
	h := 2 * w.toward[place]
	if w.away[place] > 0 {
		h += highest - w.away[place]
	}
	return h
}

// way leads from a member to its lowest neighbour in the flat.
func (w *flats) way(m member, highest uint32) uint8 {
	same := w.same[m.place]
	w.look(m)
	best, code := w.height(m.place, highest), uint8(Pit)
	for _, set := range [2]uint8{same & straight, same &^ straight} {
		for ; set != 0; set &= set - 1 {
			k := bits.TrailingZeros8(set)
			if h := w.height(w.near[k], highest); h < best {
				best, code = h, 1<<k
			}
		}
	}
	return code
}

// straightFirst is the order in which neighbours are asked over flats.
var straightFirst = [8]int{0, 2, 4, 6, 1, 3, 5, 7}

// straightest is the way to that neighbour of a set that is asked first.
var straightest = func() (t [256]uint8) {
	for set := range t {
		for _, k := range straightFirst {
			if set>>k&1 == 1 {
				t[set] = 1 << k
				break
			}
		}
	}
	return t
}()

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

// has is 1 for a flat cell, else 0.
func (p *places) has(i int) uint32 { return uint32(p.flat[i/word] >> (i % word) & 1) }

// of returns the number of a flat cell, from 0; how many come before one that is
// not.
func (p *places) of(i int) uint32 {
	return p.before[i/word] + uint32(bits.OnesCount64(p.flat[i/word]&(1<<(i%word)-1)))
}

// around is the set of a cell's neighbours that are flat.
func (p *places) around(i, cols int) uint8 {
	row := p.three(i)
	return row>>2 | swapped[p.three(i+cols)]<<1 | row&1<<4 | p.three(i-cols)<<5
}

// swapped turns three bits round.
var swapped = [8]uint8{0, 4, 2, 6, 1, 5, 3, 7}

// three tells of a cell and those before and after it whether they are flat.
func (p *places) three(i int) uint8 {
	k, shift := (i-1)/word, (i-1)%word
	set := p.flat[k] >> shift
	if shift > word-3 {
		set |= p.flat[k+1] << (word - shift)
	}
	return uint8(set & 7)
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
