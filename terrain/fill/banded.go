package fill

import (
	"context"
	"math"
	"slices"
	"unsafe"

	"curbfall/terrain/basin"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// Banded is Depressions for a grid too large for memory, band by band from in
// to out; the answer is the same for any height of the bands.
//
// Catchments that touch no other band are joined within their own. What is left
// of a band is a few passes among the cells along its borders; those of all bands
// together give the level at each such cell, and the bands, gone through again,
// take theirs from there.
//
// Cost: two readings of the grid and one writing; 20 bytes a cell of a band and
// 80 a cell beside the borders.
//
// Source: Barnes 2016, Parallel Priority-Flood depression filling for trillion
// cell digital elevation models, 10.1016/j.cageo.2016.07.001 (from memory), for
// the graph of what spills between parts; ours is of catchments and saddles.
func Banded(ctx context.Context, b *grid.Banded, in grid.RowReader[float32], out grid.RowWriter[float32]) error {
	bands := b.Bands()
	var passes []basin.Pass
	for k := range bands {
		p, err := newPart(ctx, b, bands, k, in)
		if err != nil {
			return err
		}
		passes = append(passes, p.left...)
	}
	border := settle(basin.Sorted(passes), basin.First+2*b.Cols*len(bands))
	for k, band := range bands {
		p, err := newPart(ctx, b, bands, k, in)
		if err != nil {
			return err
		}
		if err := out.WriteRows(band.First, p.raised(border)); err != nil {
			return err
		}
	}
	return nil
}

// lowest is the level of a pass that is none: two names of one catchment.
var lowest = basin.Order(float32(math.Inf(-1)))

// part is a band with a row more on either side, whose cells stand for whatever
// lies beyond.
type part struct {
	g         *grid.Grid
	own       grid.Band
	catchment *basin.Labels
	// name is the border cell that stands for a catchment that others touch, by
	// label, 0 for none. The others meet, joined into groups, some named one:
	// through, at the level within.
	name, group, through, within []uint32
	left                         []basin.Pass // among names
}

func newPart(ctx context.Context, b *grid.Banded, bands []grid.Band, k int, in grid.RowReader[float32]) (*part, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	g, own, err := b.Load(in, bands[k], 1, nil)
	if err != nil {
		return nil, err
	}
	p := &part{g: g, own: own}
	dir, saddles := descend(g)
	for _, beyond := range [2][]uint8{dir[:own.First*g.Cols], dir[own.End*g.Cols:]} {
		for i, d := range beyond {
			if d != flow.Void {
				beyond[i] = flow.Pit
			}
		}
	}
	for n, list := range saddles {
		saddles[n] = slices.DeleteFunc(list, func(s saddle) bool { return !p.owns(int(s.cell)) })
	}
	p.catchment = basin.Follow(dir, g.Cols)
	p.nameBorders(k, len(bands))
	p.join(basin.Sorted(gather(g, p.catchment, saddles)))
	return p, nil
}

func (p *part) owns(i int) bool { return i >= p.own.First*p.g.Cols && i < p.own.End*p.g.Cols }

// nameBorders names the catchments that come to the borders of band k of n. Of
// every border the cells of the row above are numbered first, then those below.
func (p *part) nameBorders(k, n int) {
	p.name = make([]uint32, basin.First+len(p.catchment.Pits))
	p.name[basin.Outside] = basin.Outside
	row := func(r, number int) {
		for c := range p.g.Cols {
			id := uint32(basin.First + number*p.g.Cols + c)
			switch of := p.catchment.Of[r*p.g.Cols+c]; {
			case of == basin.None:
			case p.name[of] == 0:
				p.name[of] = id
			default:
				p.left = append(p.left, basin.Pass{Level: lowest, A: id, B: p.name[of]})
			}
		}
	}
	if k > 0 {
		row(p.own.First-1, 2*k-2)
		row(p.own.First, 2*k-1)
	}
	if k < n-1 {
		row(p.own.End-1, 2*k)
		row(p.own.End, 2*k+1)
	}
}

// join takes passes from the lowest up. All that touches a catchment without a
// name lies in this band, so such ones are done with here.
func (p *part) join(passes []basin.Pass) {
	n := len(p.name)
	met := make([]uint32, n) // toward the one that stands for all that are joined, named or not
	named := slices.Clone(p.name)
	p.group, p.through, p.within = make([]uint32, n), make([]uint32, n), make([]uint32, n)
	for i := range met {
		met[i], p.group[i] = uint32(i), uint32(i)
	}
	for _, s := range passes {
		a, b := basin.Find(met, s.A), basin.Find(met, s.B)
		if a == b {
			continue
		}
		met[b] = a
		switch {
		case named[a] == 0 && named[b] == 0:
			p.group[basin.Find(p.group, s.B)] = basin.Find(p.group, s.A)
		case named[a] == 0:
			p.meets(s.A, named[b], s.Level)
			named[a] = named[b]
		case named[b] == 0:
			p.meets(s.B, named[a], s.Level)
		default:
			p.left = append(p.left, basin.Pass{Level: s.Level, A: named[a], B: named[b]})
		}
	}
}

func (p *part) meets(label, name, level uint32) {
	g := basin.Find(p.group, label)
	p.through[g], p.within[g] = name, level
}

// raised returns the band's own rows filled, given the levels at the borders.
func (p *part) raised(border []float32) []float32 {
	level := make([]float32, len(p.name))
	for i := range level {
		if p.name[i] != 0 {
			level[i] = border[p.name[i]]
			continue
		}
		g := basin.Find(p.group, uint32(i))
		level[i] = max(basin.Elevation(p.within[g]), border[p.through[g]])
	}
	lo, hi := p.own.First*p.g.Cols, p.own.End*p.g.Cols
	of := p.catchment.Of[lo:hi]
	// Levels take the place of labels, as in Depressions.
	out := unsafe.Slice((*float32)(unsafe.Pointer(&of[0])), len(of))
	raise(out, p.g.Z[lo:hi], of, level, p.g.Cols)
	return out
}
