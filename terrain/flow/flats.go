package flow

import "curbfall/terrain/grid"

// resolveFlats gives the cells of flats a way out along integer gradients:
// away from higher ground and, twice as strong, toward lower. Elevations are
// not touched. Flats that no lower cell drains cannot occur on a filled grid.
//
// Source: Barnes, Lehman, Mulla 2014, An efficient assignment of drainage
// direction over flat surfaces, 10.1016/j.cageo.2013.01.009 (from memory).
func resolveFlats(f *grid.Grid, dir []uint8, flat []int) {
	if len(flat) == 0 {
		return
	}
	at := newPlaces(len(f.Z), flat)
	toward := spreadFrom(f, flat, at, func(i int) bool { return besideLower(f, dir, i) })
	away := spreadFrom(f, flat, at, func(i int) bool { return besideHigher(f, i) })
	highest := highestOf(f, flat, at, away)
	level := func(k int) int32 {
		l := 2 * toward[k]
		if away[k] > 0 {
			l += highest[k] - away[k]
		}
		return l
	}
	for k, i := range flat {
		c, r := f.Cell(i)
		best := level(k)
		for s, step := range grid.Steps {
			j := f.Index(c+step.Col, r+step.Row)
			if f.Z[j] != f.Z[i] {
				continue
			}
			l := int32(0) // a cell of the flat's level that has a way down already
			if m, ok := at.of(j); ok {
				l = level(m)
			}
			if l < best {
				best, dir[i] = l, 1<<s
			}
		}
	}
}

// places gives each cell its place in the list of flat cells, counted from 1;
// 0 for all others. Four bytes a cell, held only while flats are resolved.
type places []uint32

func newPlaces(cells int, flat []int) places {
	p := make(places, cells)
	for k, i := range flat {
		p[i] = uint32(k + 1)
	}
	return p
}

func (p places) of(i int) (place int, ok bool) { return int(p[i]) - 1, p[i] != 0 }

// besideLower tells whether a flat cell touches one of its level that drains.
func besideLower(f *grid.Grid, dir []uint8, i int) bool {
	return anyNeighbour(f, i, func(j int) bool {
		if f.Z[j] != f.Z[i] || dir[j] == Void {
			return false
		}
		c, r := f.Cell(j)
		return dir[j] != 0 || f.DrainsOut(c, r)
	})
}

func besideHigher(f *grid.Grid, i int) bool {
	return anyNeighbour(f, i, func(j int) bool { return f.Z[j] > f.Z[i] })
}

func anyNeighbour(f *grid.Grid, i int, is func(j int) bool) bool {
	c, r := f.Cell(i)
	for _, s := range grid.Steps {
		if is(f.Index(c+s.Col, r+s.Row)) {
			return true
		}
	}
	return false
}

// spreadFrom returns how many steps within its flat each cell lies from the
// nearest cell that is a start, which counts 1; 0 where none is reached.
func spreadFrom(f *grid.Grid, flat []int, at places, start func(i int) bool) []int32 {
	steps := make([]int32, len(flat))
	var queue []int
	for k, i := range flat {
		if start(i) {
			steps[k] = 1
			queue = append(queue, i)
		}
	}
	for q := 0; q < len(queue); q++ {
		i := queue[q]
		eachInFlat(f, i, at, func(m, j int) {
			if steps[m] == 0 {
				steps[m] = steps[at[i]-1] + 1
				queue = append(queue, j)
			}
		})
	}
	return steps
}

func eachInFlat(f *grid.Grid, i int, at places, do func(m, j int)) {
	c, r := f.Cell(i)
	for _, s := range grid.Steps {
		j := f.Index(c+s.Col, r+s.Row)
		if m, ok := at.of(j); ok && f.Z[j] == f.Z[i] {
			do(m, j)
		}
	}
}

// highestOf returns for each cell the largest value of its flat.
func highestOf(f *grid.Grid, flat []int, at places, value []int32) []int32 {
	most := make([]int32, len(flat))
	seen := make([]bool, len(flat))
	var members []int
	for k, i := range flat {
		if seen[k] {
			continue
		}
		seen[k] = true
		members = append(members[:0], i)
		top := int32(0)
		for q := 0; q < len(members); q++ {
			top = max(top, value[at[members[q]]-1])
			eachInFlat(f, members[q], at, func(m, j int) {
				if !seen[m] {
					seen[m] = true
					members = append(members, j)
				}
			})
		}
		for _, j := range members {
			most[at[j]-1] = top
		}
	}
	return most
}
