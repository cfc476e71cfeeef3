package flow

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

// Path is a line water follows.
type Path struct {
	Line orb.LineString // cell centres in site metres, downstream
	Area float64        // contributing area at its lower end, m2
}

// Paths returns the lines along which at least area m2 drains, each from its
// head, or from a join, down to the next join or to where water leaves the
// grid, in the order of their first cell. acc holds the cells draining through
// each cell.
func Paths(g *grid.Grid, dir []uint8, acc []uint32, area float64) []Path {
	least := uint32(max(1, min(grid.MaxCells, math.Ceil(area/g.CellArea()))))
	in := make([]uint8, len(dir)) // paths arriving
	for i := range dir {
		if acc[i] >= least {
			if n := Next(g, dir, i); n >= 0 {
				in[n]++
			}
		}
	}
	var paths []Path
	for i := range dir {
		if acc[i] < least || in[i] == 1 {
			continue
		}
		line := orb.LineString{point(g, i)}
		last := i
		for n := Next(g, dir, i); n >= 0; n = Next(g, dir, n) {
			line = append(line, point(g, n))
			last = n
			if in[n] != 1 {
				break
			}
		}
		if len(line) > 1 {
			paths = append(paths, Path{line, float64(acc[last]) * g.CellArea()})
		}
	}
	return paths
}

func point(g *grid.Grid, i int) orb.Point {
	c, r := g.Cell(i)
	x, y := g.ToSite(float64(c), float64(r))
	return orb.Point{x, y}
}

// Upstream returns the cells that drain through any of some cells, themselves
// included, ascending.
func Upstream(g *grid.Grid, dir []uint8, through ...int) []int {
	drains := make([]int8, len(dir)) // 0 not known, 1 yes, -1 no
	for _, i := range through {
		drains[i] = 1
	}
	var path, cells []int
	for i := range dir {
		path = path[:0]
		j := i
		for j >= 0 && drains[j] == 0 {
			path = append(path, j)
			drains[j] = -1
			j = Next(g, dir, j)
		}
		if j >= 0 && drains[j] == 1 {
			for _, p := range path {
				drains[p] = 1
			}
		}
	}
	for i, t := range drains {
		if t == 1 && dir[i] != Void {
			cells = append(cells, i)
		}
	}
	return cells
}
