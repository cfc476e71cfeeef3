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
	at := make(map[int]int, len(flat)) // place of a cell in flat
	for k, i := range flat {
		at[i] = k
	}
	toward := spreadFrom(f, flat, at, func(i int) bool { return besideLower(f, dir, i) })
	away := spreadFrom(f, flat, at, func(i int) bool { return besideHigher(f, i) })
	highest := highestOf(f, flat, at, away)
	level := func(k int) int {
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
			l := 0 // a cell of the flat's level that has a way down already
			if m, ok := at[j]; ok {
				l = level(m)
			}
			if l < best {
				best, dir[i] = l, 1<<s
			}
		}
	}
}

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
func spreadFrom(f *grid.Grid, flat []int, at map[int]int, start func(i int) bool) []int {
	steps := make([]int, len(flat))
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
				steps[m] = steps[at[i]] + 1
				queue = append(queue, j)
			}
		})
	}
	return steps
}

func eachInFlat(f *grid.Grid, i int, at map[int]int, do func(m, j int)) {
	c, r := f.Cell(i)
	for _, s := range grid.Steps {
		j := f.Index(c+s.Col, r+s.Row)
		if m, ok := at[j]; ok && f.Z[j] == f.Z[i] {
			do(m, j)
		}
	}
}

// highestOf returns for each cell the largest value of its flat.
func highestOf(f *grid.Grid, flat []int, at map[int]int, value []int) []int {
	most := make([]int, len(flat))
	seen := make([]bool, len(flat))
	for k, i := range flat {
		if seen[k] {
			continue
		}
		seen[k] = true
		members := []int{i}
		top := 0
		for q := 0; q < len(members); q++ {
			top = max(top, value[at[members[q]]])
			eachInFlat(f, members[q], at, func(m, j int) {
				if !seen[m] {
					seen[m] = true
					members = append(members, j)
				}
			})
		}
		for _, j := range members {
			most[at[j]] = top
		}
	}
	return most
}
