package flow

import (
	"cmp"
	"context"
	"math/bits"
	"slices"
	"sync"

	"curbfall/terrain/grid"
)

// DirectionsBanded is Directions for a filled surface too large for memory, band
// by band from f to dir; the answer is the same for any height of the bands.
//
// A flat within a band is resolved there. Of one that crosses borders each band
// counts the steps in its part from what it holds itself and from what the cells
// across the border have; a band whose cells along a border come out with fewer
// steps is told on, until none is. Every count is the length of a way there is,
// and at the end no step shortens one: they are those of the flat taken whole.
//
// Cost: three readings of the surface, and one more of a band for every time
// flats lead on into it; 30 bytes a cell of a band and 20 a cell beside the borders.
func DirectionsBanded(ctx context.Context, b *grid.Banded, f grid.RowReader[float32], dir grid.Rows[uint8]) error {
	x := &crossings{Banded: b, ctx: ctx, f: f, dir: dir, bands: b.Bands(), parts: &flatParts{}}
	for range x.bands {
		top := newRim(b.Cols)
		x.rims = append(x.rims, [2]*rim{top, top}) // a band of one row has but one
	}
	for k := range x.bands {
		if err := x.within(k); err != nil {
			return err
		}
	}
	if len(x.bands) == 1 {
		return nil
	}
	if err := x.settle(); err != nil {
		return err
	}
	most := x.mostOfFlats()
	for k := range x.bands {
		p, err := x.open(k)
		if err != nil {
			return err
		}
		p.count()
		p.point(most[k])
		if err := dir.WriteRows(x.bands[k].First, p.way); err != nil {
			return err
		}
		p.clear()
	}
	return nil
}

// crossings resolves the flats that cross borders.
type crossings struct {
	*grid.Banded
	ctx   context.Context
	f     grid.RowReader[float32]
	dir   grid.Rows[uint8]
	bands []grid.Band
	rims  [][2]*rim  // of each band: its first row and its last
	most  [][]uint32 // of each band, by part: steps from higher ground, as last counted
	parts *flatParts // of the band at hand
}

// rim is what is known of the cells of a row beside a border.
type rim struct {
	flat         []bool
	z            []float32
	part         []uint32 // as in flatParts
	away, toward []uint32 // as in flats
}

func newRim(cols int) *rim {
	return &rim{make([]bool, cols), make([]float32, cols), make([]uint32, cols), make([]uint32, cols), make([]uint32, cols)}
}

// within gives the cells of a band their ways as far as the band knows, and
// notes which along its borders are flat.
func (x *crossings) within(k int) error {
	if err := x.ctx.Err(); err != nil {
		return err
	}
	g, own, err := x.Load(x.f, x.bands[k], 1, x.parts.z)
	if err != nil {
		return err
	}
	x.parts.z = g.Z
	if own.End-own.First > 1 {
		x.rims[k][1] = newRim(x.Cols)
	}
	all := Directions(g)
	p := &flatParts{g: g, own: own, way: all[own.First*x.Cols : own.End*x.Cols]}
	for n, row := range [2]int{own.First, own.End - 1} {
		r := x.rims[k][n]
		copy(r.z, g.Z[row*x.Cols:])
		for c := range x.Cols {
			r.flat[c] = p.ownFlat(row*x.Cols + c)
		}
	}
	return x.dir.WriteRows(x.bands[k].First, p.way)
}

// settle counts steps band by band until nothing changes along the borders.
func (x *crossings) settle() error {
	x.most = make([][]uint32, len(x.bands))
	due := make([]bool, len(x.bands))
	for k := range due {
		due[k] = true
	}
	for slices.Contains(due, true) {
		for k := range due {
			if err := x.visit(k, due); err != nil {
				return err
			}
		}
		for k := range slices.Backward(due) {
			if err := x.visit(k, due); err != nil {
				return err
			}
		}
	}
	return nil
}

// visit counts in a band that is due, and makes those due that look at a rim of
// it that changed.
func (x *crossings) visit(k int, due []bool) error {
	if !due[k] {
		return nil
	}
	due[k] = false
	p, err := x.open(k)
	if err != nil {
		return err
	}
	p.count()
	x.most[k] = p.most()
	first, last := x.rims[k][0], x.rims[k][1]
	up := p.note(first, p.own.First)
	down := p.note(last, p.own.End-1) || first == last && up
	if up && k > 0 {
		due[k-1] = true
	}
	if down && k < len(due)-1 {
		due[k+1] = true
	}
	p.clear()
	return nil
}

// mostOfFlats returns for each band, by part, the most steps from higher ground
// of any cell of the part's flat, from those of the parts.
func (x *crossings) mostOfFlats() [][]uint32 {
	var joined []int // by part of all bands: toward the one that stands for its flat
	start := make([]int, len(x.bands))
	for k, list := range x.most {
		start[k] = len(joined)
		for range list {
			joined = append(joined, len(joined))
		}
	}
	find := func(i int) int {
		for joined[i] != i {
			joined[i] = joined[joined[i]]
			i = joined[i]
		}
		return i
	}
	for k := 1; k < len(x.bands); k++ {
		above, below := x.rims[k-1][1], x.rims[k][0]
		for c, here := range below.part {
			for n := max(0, c-1); n <= min(x.Cols-1, c+1); n++ {
				if there := above.part[n]; here != 0 && there != 0 && above.z[n] == below.z[c] {
					joined[find(start[k]+int(here)-1)] = find(start[k-1] + int(there) - 1)
				}
			}
		}
	}
	most := make([]uint32, len(joined))
	for k, list := range x.most {
		for n, m := range list {
			flat := find(start[k] + n)
			most[flat] = max(most[flat], m)
		}
	}
	of := make([][]uint32, len(x.bands))
	for k, list := range x.most {
		for n := range list {
			of[k] = append(of[k], most[find(start[k]+n)])
		}
	}
	return of
}

// open finds the parts in a band of flats that cross its borders.
func (x *crossings) open(k int) (*flatParts, error) {
	if err := x.ctx.Err(); err != nil {
		return nil, err
	}
	p := x.parts
	var err error
	if p.g, p.own, err = x.Load(x.f, x.bands[k], 1, p.z); err != nil {
		return nil, err
	}
	p.z = p.g.Z
	if rows := min(x.Rows, x.Height+2); p.part == nil {
		p.part, p.away, p.toward = make([]uint32, rows*x.Cols), make([]uint32, rows*x.Cols), make([]uint32, rows*x.Cols)
	}
	cells := (p.own.End - p.own.First) * x.Cols
	p.way = slices.Grow(p.way[:0], cells)[:cells]
	for d, s := range grid.Steps {
		p.step[d] = s.Row*x.Cols + s.Col
	}
	if err := x.dir.ReadRows(x.bands[k].First, p.way); err != nil {
		return nil, err
	}
	if k > 0 {
		p.beyond(x.rims[k-1][1], 0, p.own.First)
	}
	if k < len(x.bands)-1 {
		p.beyond(x.rims[k+1][0], p.own.End, p.own.End-1)
	}
	return p, nil
}

// flatParts are the parts in a band of flats that cross its borders.
type flatParts struct {
	g    *grid.Grid // the band with a row more on either side
	own  grid.Band
	z    []float32 // its elevations' room
	way  []uint8   // of the band's own rows
	step [8]int
	// By cell: 0, or 1 and the place of its part; for flat cells beyond the
	// border, abroad.
	part         []uint32
	away, toward []uint32
	list         [][]uint32 // of each part, its cells
}

const abroad = 1<<32 - 1

// clear makes room for another band.
func (p *flatParts) clear() {
	forget := func(i int) { p.part[i], p.away[i], p.toward[i] = 0, 0, 0 }
	for _, members := range p.list {
		for _, i := range members {
			forget(int(i))
		}
	}
	for r := range p.g.Rows {
		if r < p.own.First || r >= p.own.End {
			for c := range p.g.Cols {
				forget(r*p.g.Cols + c)
			}
		}
	}
	p.list = p.list[:0]
}

// ownFlat tells whether a cell of the band's own is flat: what way it has leads
// to a cell as high.
func (p *flatParts) ownFlat(i int) bool {
	switch d := p.way[i-p.own.First*p.g.Cols]; d {
	case Out, Void:
		return false
	case Pit:
		return true
	default:
		s := grid.Steps[bits.TrailingZeros8(d)]
		return p.g.Z[i] == p.g.Z[i+s.Row*p.g.Cols+s.Col]
	}
}

func (p *flatParts) owns(i int) bool { return i >= p.own.First*p.g.Cols && i < p.own.End*p.g.Cols }

// beyond takes over what the row across a border knows and gathers the parts
// that touch it.
func (p *flatParts) beyond(r *rim, row, beside int) {
	cols := p.g.Cols
	for c, flat := range r.flat {
		if i := row*cols + c; flat {
			p.part[i], p.away[i], p.toward[i] = abroad, r.away[c], r.toward[c]
		}
	}
	for c := range cols {
		i := beside*cols + c
		if p.part[i] != 0 || !p.ownFlat(i) {
			continue
		}
		for n := max(0, c-1); n <= min(cols-1, c+1); n++ {
			if j := row*cols + n; p.flatIn(i, j) {
				p.gather(i)
				break
			}
		}
	}
}

// gather finds the part a cell belongs to.
func (p *flatParts) gather(first int) {
	number := uint32(len(p.list)) + 1
	members := []uint32{uint32(first)}
	p.part[first] = number
	for k := 0; k < len(members); k++ {
		i := int(members[k])
		for _, step := range p.step {
			if j := i + step; p.owns(j) && p.part[j] == 0 && p.g.Z[j] == p.g.Z[i] && p.ownFlat(j) {
				p.part[j] = number
				members = append(members, uint32(j))
			}
		}
	}
	p.list = append(p.list, members)
}

// flatIn tells whether a neighbour of a part's cell belongs to the same flat.
func (p *flatParts) flatIn(i, j int) bool { return p.g.Z[j] == p.g.Z[i] && p.part[j] != 0 }

// start is a cell with steps it has from outside the part.
type start struct{ cell, steps uint32 }

// count counts the steps from higher ground and to lower of every member.
func (p *flatParts) count() {
	var wait sync.WaitGroup
	wait.Go(func() {
		p.steps(p.away, func(i, j int) bool { return p.g.Z[j] > p.g.Z[i] })
	})
	p.steps(p.toward, func(i, j int) bool { return p.g.Z[j] == p.g.Z[i] && p.part[j] == 0 })
	wait.Wait()
}

// steps counts each part's steps from cells beside what it starts from, which
// count 1, and from cells beyond the border that have some.
func (p *flatParts) steps(of []uint32, from func(i, j int) bool) {
	var starts []start
	var queue []uint32
	for _, members := range p.list {
		starts = starts[:0]
		for _, m := range members {
			i := int(m)
			least := uint32(0)
			for _, step := range p.step {
				j := i + step
				switch {
				case from(i, j):
					least = 1
				case p.flatIn(i, j) && p.part[j] == abroad && of[j] > 0 && (least == 0 || of[j]+1 < least):
					least = of[j] + 1
				}
			}
			if least > 0 {
				starts = append(starts, start{m, least})
			}
		}
		queue = p.spread(of, starts, queue[:0])
	}
}

// spread counts on from the starts of a part. The queue is only handed back.
func (p *flatParts) spread(of []uint32, starts []start, queue []uint32) []uint32 {
	slices.SortFunc(starts, func(a, b start) int { return cmp.Compare(a.steps, b.steps) })
	for _, s := range starts {
		of[s.cell] = s.steps
	}
	// Cells in the order of their steps; starts come in when it is their turn.
	for head := 0; head < len(queue) || len(starts) > 0; {
		var i int
		if len(starts) > 0 && (head == len(queue) || starts[0].steps <= of[queue[head]]) {
			s := starts[0]
			starts = starts[1:]
			if of[s.cell] < s.steps { // met from nearer by
				continue
			}
			i = int(s.cell)
		} else {
			i = int(queue[head])
			head++
		}
		next := of[i] + 1
		for _, step := range p.step {
			if j := i + step; p.flatIn(i, j) && p.part[j] != abroad && (of[j] == 0 || of[j] > next) {
				of[j] = next
				queue = append(queue, uint32(j))
			}
		}
	}
	return queue
}

// most is the most steps from higher ground of each part.
func (p *flatParts) most() []uint32 {
	most := make([]uint32, len(p.list))
	for n, members := range p.list {
		for _, i := range members {
			most[n] = max(most[n], p.away[i])
		}
	}
	return most
}

// note writes what is known along a row to its rim, and tells whether steps
// changed.
func (p *flatParts) note(r *rim, row int) (news bool) {
	for c := range p.g.Cols {
		i := row*p.g.Cols + c
		if p.part[i] == 0 {
			continue
		}
		news = news || r.away[c] != p.away[i] || r.toward[c] != p.toward[i]
		r.part[c], r.away[c], r.toward[c] = p.part[i], p.away[i], p.toward[i]
	}
	return news
}

// level is the height of a cell on its flat's gradients.
func (p *flatParts) level(i int, most uint32) uint32 {
	if p.part[i] == 0 {
		return 0
	}
	l := 2 * p.toward[i]
	if p.away[i] > 0 {
		l += most - p.away[i]
	}
	return l
}

// point gives every member its way; most is told by part.
func (p *flatParts) point(most []uint32) {
	for n, members := range p.list {
		for _, m := range members {
			i := int(m)
			best, code := p.level(i, most[n]), uint8(Pit)
			for _, k := range straightFirst {
				if j := i + p.step[k]; p.g.Z[j] == p.g.Z[i] {
					if l := p.level(j, most[n]); l < best {
						best, code = l, 1<<k
					}
				}
			}
			p.way[i-p.own.First*p.g.Cols] = code
		}
	}
}
