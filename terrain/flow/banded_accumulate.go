package flow

import (
	"context"

	"curbfall/terrain/grid"
)

// AccumulateBanded is Accumulate for directions too large for memory, band by
// band from dir to acc; the counts are the same for any height of the bands.
//
// Each band is counted on its own, and of every cell beside a border is noted
// where water that comes to it leaves the band again. On those cells alone the
// counts of all bands are carried on, and the bands, gone through again, start
// from what comes to them.
//
// Cost: two readings of the directions and one writing; 10 bytes a cell of a
// band and 60 a cell beside the borders.
//
// Source: Barnes 2017, Parallel non-divergent flow accumulation for trillion
// cell digital elevation models on desktops or clusters,
// 10.1016/j.envsoft.2017.02.022 (from memory).
func AccumulateBanded(ctx context.Context, b *grid.Banded, dir grid.RowReader[uint8], acc grid.RowWriter[uint32]) error {
	r := newRelay(b)
	for k := range r.bands {
		w, err := r.open(ctx, k, dir)
		if err != nil {
			return err
		}
		accumulate(w.dir, b.Cols, w.acc)
		r.note(w)
	}
	r.carry()
	for k, band := range r.bands {
		w, err := r.open(ctx, k, dir)
		if err != nil {
			return err
		}
		r.receive(w)
		accumulate(w.dir, b.Cols, w.acc)
		if err := acc.WriteRows(band.First, w.acc); err != nil {
			return err
		}
	}
	return nil
}

// nowhere is no cell of the borders.
const nowhere = 1<<32 - 1

// relay carries counts from band to band. The cells of each band's first row and
// of its last are numbered, band by band; by number:
type relay struct {
	*grid.Banded
	bands []grid.Band
	to    []uint32 // the cell in another band the way from here leads to, or nowhere
	exit  []uint32 // the cell of its own band by which what comes here leaves it, or nowhere
	count []uint32 // where to leads somewhere: cells that drain through, as far as is known
	comes []uint32 // cells that drain here from other bands
}

func newRelay(b *grid.Banded) *relay {
	r := &relay{Banded: b, bands: b.Bands()}
	n := 2 * b.Cols * len(r.bands)
	r.to, r.exit, r.count, r.comes = make([]uint32, n), make([]uint32, n), make([]uint32, n), make([]uint32, n)
	for i := range r.to {
		r.to[i], r.exit[i] = nowhere, nowhere
	}
	return r
}

// number is that of a cell in the first row of a band or in its last, by its
// column. The only row of a band is its first.
func (r *relay) number(band, row, col int) uint32 {
	side := 0
	if row > 0 {
		side = 1
	}
	return uint32((2*band+side)*r.Cols + col)
}

// waters are the directions of a band, out where they lead to another, and the
// counts on them.
type waters struct {
	band     int
	dir      []uint8
	acc      []uint32
	crossing map[int]uint8 // the ways that lead to another band, by cell
}

func (r *relay) open(ctx context.Context, k int, dir grid.RowReader[uint8]) (*waters, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	rows := r.bands[k].End - r.bands[k].First
	w := &waters{band: k, dir: make([]uint8, rows*r.Cols), acc: make([]uint32, rows*r.Cols), crossing: map[int]uint8{}}
	if err := dir.ReadRows(r.bands[k].First, w.dir); err != nil {
		return nil, err
	}
	r.edges(w, func(i, row, _ int) {
		if way := wayOf[w.dir[i]]; way < ends {
			if to := row + grid.Steps[way].Row; to < 0 || to >= rows {
				w.crossing[i], w.dir[i] = way, Out
			}
		}
	})
	return w, nil
}

// edges calls do for the cells of a band's first row and of its last.
func (r *relay) edges(w *waters, do func(i, row, col int)) {
	rows := len(w.dir) / r.Cols
	for row := 0; row < rows; row += max(1, rows-1) {
		for c := range r.Cols {
			do(row*r.Cols+c, row, c)
		}
	}
}

// note writes down where ways from a band's edges lead, and what leaves by them.
func (r *relay) note(w *waters) {
	rows := len(w.dir) / r.Cols
	left := newWalks(w, r.Cols)
	r.edges(w, func(i, row, col int) {
		here := r.number(w.band, row, col)
		if last := left.from(i); last != nowhere {
			r.exit[here] = r.number(w.band, int(last)/r.Cols, int(last)%r.Cols)
		}
		way, crosses := w.crossing[i]
		if !crosses {
			return
		}
		s := grid.Steps[way]
		switch {
		case row+s.Row < 0:
			above := r.bands[w.band-1]
			r.to[here] = r.number(w.band-1, above.End-above.First-1, col+s.Col)
		case row+s.Row >= rows:
			r.to[here] = r.number(w.band+1, 0, col+s.Col)
		}
		r.count[here] = w.acc[i]
	})
}

// walks finds where water leaves a band.
type walks struct {
	*waters
	step [8]int
	left []uint32 // by cell: 0 not known, else one more than the last cell, or nowhere
}

func newWalks(w *waters, cols int) *walks {
	l := &walks{waters: w, left: make([]uint32, len(w.dir))}
	for k, s := range grid.Steps {
		l.step[k] = s.Row*cols + s.Col
	}
	return l
}

// from is the last cell in the band of water that comes to a cell, where that
// leads on to another band, else nowhere.
func (l *walks) from(first int) uint32 {
	i := first
	for l.left[i] == 0 {
		way := wayOf[l.dir[i]]
		if way >= ends {
			l.left[i] = nowhere
			if _, crosses := l.crossing[i]; crosses {
				l.left[i] = uint32(i) + 1
			}
			break
		}
		i += l.step[way]
	}
	last := l.left[i]
	for i = first; l.left[i] == 0; i += l.step[wayOf[l.dir[i]]] {
		l.left[i] = last
	}
	if last == nowhere {
		return nowhere
	}
	return last - 1
}

// carry hands counts on from border to border, each once all that comes to it is
// in.
func (r *relay) carry() {
	waits := make([]uint32, len(r.to))
	for _, to := range r.to {
		if to != nowhere && r.exit[to] != nowhere {
			waits[r.exit[to]]++
		}
	}
	var done []uint32
	for i, to := range r.to {
		if to != nowhere && waits[i] == 0 {
			done = append(done, uint32(i))
		}
	}
	for len(done) > 0 {
		i := done[len(done)-1]
		done = done[:len(done)-1]
		to := r.to[i]
		r.comes[to] += r.count[i]
		next := r.exit[to]
		if next == nowhere {
			continue
		}
		r.count[next] += r.count[i]
		if waits[next]--; waits[next] == 0 {
			done = append(done, next)
		}
	}
}

// receive starts a band's counts from what comes to it.
func (r *relay) receive(w *waters) {
	r.edges(w, func(i, row, col int) { w.acc[i] = r.comes[r.number(w.band, row, col)] })
}
