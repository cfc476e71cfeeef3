package lowspot

import (
	"slices"

	"curbfall/terrain/grid"
)

// Wet returns the sets of cells deeper than nothing that hang together by sides
// or corners, each ascending, in the order of their first cell. depth is by
// cell, as storm.Result has it.
func Wet(g *grid.Grid, depth []float32) (sets [][]int) {
	seen := make([]bool, len(depth))
	for i, d := range depth {
		if !(d > 0) || seen[i] {
			continue
		}
		cells := []int{i}
		seen[i] = true
		for k := 0; k < len(cells); k++ {
			c, r := g.Cell(cells[k])
			for _, s := range grid.Steps {
				if !g.Contains(c+s.Col, r+s.Row) {
					continue
				}
				if j := g.Index(c+s.Col, r+s.Row); depth[j] > 0 && !seen[j] {
					seen[j] = true
					cells = append(cells, j)
				}
			}
		}
		slices.Sort(cells)
		sets = append(sets, cells)
	}
	return sets
}
