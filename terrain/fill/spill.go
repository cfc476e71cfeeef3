package fill

import (
	"curbfall/terrain/basin"
	"curbfall/terrain/grid"
)

// spills returns the level at which each catchment's water leaves the grid, by
// label. Passes are taken from the lowest up; catchments join, and those that
// come to meet the outside are settled at that level.
func spills(g *grid.Grid, catchment *basin.Labels, saddles [][]saddle) []float32 {
	passes := basin.Sorted(gather(g, catchment, saddles))
	n := len(catchment.Pits) + basin.First
	level := make([]float32, n)
	joined := make([]uint32, n) // toward the one that stands for all joined
	settled := make([]bool, n)
	for i := range joined {
		joined[i] = uint32(i)
	}
	settled[basin.Outside] = true
	for _, p := range passes {
		a, b := basin.Find(joined, p.A), basin.Find(joined, p.B)
		if a == b || settled[a] && settled[b] {
			continue
		}
		switch {
		case settled[a]:
			level[b], settled[b] = basin.Elevation(p.Level), true
		case settled[b]:
			level[a], settled[a] = basin.Elevation(p.Level), true
		case a < b:
			joined[b] = a
		default:
			joined[a] = b
		}
	}
	for i := range level {
		level[i] = level[basin.Find(joined, uint32(i))]
	}
	return level
}

// gather turns saddles into passes, one fewer than a saddle has arcs; a saddle
// on the grid's rim has one more, to the outside.
func gather(g *grid.Grid, catchment *basin.Labels, saddles [][]saddle) []basin.Pass {
	parts := make([][]basin.Pass, len(saddles))
	step := basin.Offsets(g.Cols)
	bands := make([]grid.Band, len(saddles))
	grid.OnBands(bands, func(k int, _ grid.Band) {
		list := make([]basin.Pass, 0, len(saddles[k])*5/4)
		for _, s := range saddles[k] {
			here := catchment.Of[s.cell]
			level := basin.Order(g.Z[s.cell])
			for rest := basin.Heads(s.ring); rest != 0; rest &= rest - 1 {
				there := catchment.Of[int(s.cell)+step[rest&-rest]]
				if there != here {
					list = append(list, basin.Pass{Level: level, A: here, B: there, Cell: s.cell})
				}
			}
		}
		parts[k] = list
		saddles[k] = nil
	})
	total := 0
	for _, p := range parts {
		total += len(p)
	}
	passes := make([]basin.Pass, 0, total)
	for _, p := range parts {
		passes = append(passes, p...)
	}
	return passes
}
