package flow

import (
	"cmp"
	"context"
	"math/bits"
	"slices"

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
// Cost: two readings of the surface and one more for every time flats lead on
// into a band; 20 bytes a cell of a band and 13 a cell of the borders.
func DirectionsBanded(ctx context.Context, b *grid.Banded, f grid.RowReader[float32], dir grid.Rows[uint8]) error {
	x := &crossings{Banded: b, ctx: ctx, f: f, dir: dir, bands: b.Bands()}
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
	if err := x.settle((*flatParts).count); err != nil {
		return err
	}
	if err := x.settle((*flatParts).reach); err != nil {
		return err
	}
	for k := range x.bands {
		p, err := x.open(k)
		if err != nil {
			return err
		}
		p.reach()
		p.point()
		if err := dir.WriteRows(x.bands[k].First, p.way); err != nil {
			return err
		}
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
	rims  [][2]*rim // of each band: its first row and its last
}

// rim is what is known of the cells of a row beside a border.
type rim struct {
	flat         []bool
	away, toward []uint32 // as in flats
	most         []uint32 // steps from higher ground of any cell of the flat
}

func newRim(cols int) *rim {
	return &rim{make([]bool, cols), make([]uint32, cols), make([]uint32, cols), make([]uint32, cols)}
}

// within gives the cells of a band their ways as far as the band knows, and
// notes which along its borders are flat.
func (x *crossings) within(k int) error {
	if err := x.ctx.Err(); err != nil {
		return err
	}
	g, own, err := x.Load(x.f, x.bands[k], 1)
	if err != nil {
		return err
	}
	if own.End-own.First > 1 {
		x.rims[k][1] = newRim(x.Cols)
	}
	all := Directions(g)
	p := &flatParts{g: g, own: own, way: all[own.First*x.Cols : own.End*x.Cols]}
	for c := range x.Cols {
		x.rims[k][0].flat[c] = p.ownFlat(own.First*x.Cols + c)
		x.rims[k][1].flat[c] = p.ownFlat((own.End-1)*x.Cols + c)
	}
	return x.dir.WriteRows(x.bands[k].First, p.way)
}

// settle lets do find out band by band what the rims hold, until nothing changes.
func (x *crossings) settle(do func(*flatParts)) error {
	due := make([]bool, len(x.bands))
	for k := range due {
		due[k] = true
	}
	for slices.Contains(due, true) {
		for k := range due {
			if err := x.visit(k, due, do); err != nil {
				return err
			}
		}
		for k := range slices.Backward(due) {
			if err := x.visit(k, due, do); err != nil {
				return err
			}
		}
	}
	return nil
}

// visit looks at a band that is due, and makes those due that look at a rim of it
// that changed.
func (x *crossings) visit(k int, due []bool, do func(*flatParts)) error {
	if !due[k] {
		return nil
	}
	due[k] = false
	p, err := x.open(k)
	if err != nil {
		return err
	}
	do(p)
	first, last := x.rims[k][0], x.rims[k][1]
	up := p.note(first, p.own.First)
	down := p.note(last, p.own.End-1) || first == last && up
	if up && k > 0 {
		due[k-1] = true
	}
	if down && k < len(due)-1 {
		due[k+1] = true
	}
	return nil
}

// open finds the parts in a band of flats that cross its borders.
func (x *crossings) open(k int) (*flatParts, error) {
	if err := x.ctx.Err(); err != nil {
		return nil, err
	}
	g, own, err := x.Load(x.f, x.bands[k], 1)
	if err != nil {
		return nil, err
	}
	n := len(g.Z)
	p := &flatParts{g: g, own: own, way: make([]uint8, (own.End-own.First)*x.Cols),
		part: make([]uint32, n), away: make([]uint32, n), toward: make([]uint32, n)}
	for d, s := range grid.Steps {
		p.step[d] = s.Row*g.Cols + s.Col
	}
	if err := x.dir.ReadRows(x.bands[k].First, p.way); err != nil {
		return nil, err
	}
	if k > 0 {
		p.beyond(x.rims[k-1][1], 0, own.First)
	}
	if k < len(x.bands)-1 {
		p.beyond(x.rims[k+1][0], own.End, own.End-1)
	}
	return p, nil
}

// flatParts are the parts in a band of flats that cross its borders.
type flatParts struct {
	g    *grid.Grid // the band with a row more on either side
	own  grid.Band
	way  []uint8 // of the band's own rows
	step [8]int
	// By cell: 0, or 1 and the place of its part; for flat cells beyond the
	// border, abroad.
	part         []uint32
	away, toward []uint32
	list         []*flatPart
}

const abroad = 1<<32 - 1

// flatPart is one of them.
type flatPart struct {
	members []int
	most    uint32
	// known is the most that cells across a border know of.
	known uint32
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
		if !p.ownFlat(i) {
			continue
		}
		for n := max(0, c-1); n <= min(cols-1, c+1); n++ {
			if j := row*cols + n; p.part[j] == abroad && p.g.Z[j] == p.g.Z[i] {
				m := p.gather(i)
				m.known = max(m.known, r.most[n])
			}
		}
	}
}

// gather returns the part a cell belongs to.
func (p *flatParts) gather(first int) *flatPart {
	if p.part[first] != 0 {
		return p.list[p.part[first]-1]
	}
	m := &flatPart{members: []int{first}}
	p.list = append(p.list, m)
	number := uint32(len(p.list))
	p.part[first] = number
	for k := 0; k < len(m.members); k++ {
		i := m.members[k]
		for _, step := range p.step {
			if j := i + step; p.owns(j) && p.part[j] == 0 && p.g.Z[j] == p.g.Z[i] && p.ownFlat(j) {
				p.part[j] = number
				m.members = append(m.members, j)
			}
		}
	}
	return m
}

// flatIn tells whether a neighbour of a part's cell belongs to the same flat.
func (p *flatParts) flatIn(i, j int) bool { return p.g.Z[j] == p.g.Z[i] && p.part[j] != 0 }

// start is a cell with steps it has from outside the part.
type start struct {
	cell  int
	steps uint32
}

// count counts the steps from higher ground and to lower of every member.
func (p *flatParts) count() {
	for _, m := range p.list {
		p.steps(m, p.away, func(i, j int) bool { return p.g.Z[j] > p.g.Z[i] })
		p.steps(m, p.toward, func(i, j int) bool { return p.g.Z[j] == p.g.Z[i] && p.part[j] == 0 })
	}
}

// steps counts a part's steps from cells beside what it starts from, which count
// 1, and from cells beyond the border that have some.
func (p *flatParts) steps(m *flatPart, of []uint32, from func(i, j int) bool) {
	var starts []start
	for _, i := range m.members {
		of[i] = 0
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
			starts = append(starts, start{i, least})
		}
	}
	slices.SortFunc(starts, func(a, b start) int { return cmp.Compare(a.steps, b.steps) })
	for _, s := range starts {
		of[s.cell] = s.steps
	}
	// Cells in the order of their steps; starts come in when it is their turn.
	var queue []int
	for head := 0; head < len(queue) || len(starts) > 0; {
		var i int
		if len(starts) > 0 && (head == len(queue) || starts[0].steps <= of[queue[head]]) {
			s := starts[0]
			starts = starts[1:]
			if of[s.cell] < s.steps { // met from nearer by
				continue
			}
			i = s.cell
		} else {
			i = queue[head]
			head++
		}
		next := of[i] + 1
		for _, step := range p.step {
			if j := i + step; p.flatIn(i, j) && p.part[j] != abroad && (of[j] == 0 || of[j] > next) {
				of[j] = next
				queue = append(queue, j)
			}
		}
	}
}

// reach finds the most steps from higher ground of each part's flat, as far as
// is known, once all steps are.
func (p *flatParts) reach() {
	p.count()
	for _, m := range p.list {
		m.most = m.known
		for _, i := range m.members {
			m.most = max(m.most, p.away[i])
		}
	}
}

// note writes what is known along a row to its rim, and tells whether that is
// news.
func (p *flatParts) note(r *rim, row int) (news bool) {
	for c := range p.g.Cols {
		i := row*p.g.Cols + c
		if p.part[i] == 0 {
			continue
		}
		most := max(r.most[c], p.list[p.part[i]-1].most)
		if r.away[c] != p.away[i] || r.toward[c] != p.toward[i] || r.most[c] != most {
			r.away[c], r.toward[c], r.most[c], news = p.away[i], p.toward[i], most, true
		}
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

// point gives every member its way.
func (p *flatParts) point() {
	for _, m := range p.list {
		for _, i := range m.members {
			best, code := p.level(i, m.most), uint8(Pit)
			for _, k := range straightFirst {
				if j := i + p.step[k]; p.g.Z[j] == p.g.Z[i] {
					if l := p.level(j, m.most); l < best {
						best, code = l, 1<<k
					}
				}
			}
			p.way[i-p.own.First*p.g.Cols] = code
		}
	}
}
