package fill

import (
	"math"
	"math/bits"

	"curbfall/terrain/basin"
	"curbfall/terrain/grid"
)

// settle returns the level at which each catchment's water leaves the grid, by
// label, -Inf for the outside. Passes are taken in their order, lowest first;
// catchments join, and those that come to meet the outside are settled at that
// level.
func settle(passes []basin.Pass, labels int) []float32 {
	level := make([]float32, labels)
	joined := make([]uint32, labels) // toward the one that stands for all joined
	settled := make([]bool, labels)
	for i := range joined {
		joined[i] = uint32(i)
	}
	level[basin.Outside], settled[basin.Outside] = float32(math.Inf(-1)), true
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

// toward is one neighbour of each arc of a saddle that its own water does not
// run to.
func toward(s saddle, catchment *basin.Labels) uint8 {
	if catchment.Of[s.cell] == basin.Outside {
		return basin.Heads(s.ring) // whether it drains out itself or by its last neighbour
	}
	return basin.Others(s.ring)
}

// gather turns saddles into passes, one fewer than a saddle has arcs, since its
// own water runs to one of them; a saddle that drains out has one to each. The
// saddles are let go.
func gather(g *grid.Grid, catchment *basin.Labels, saddles [][]saddle) []basin.Pass {
	start := make([]int, len(saddles)+1)
	for k, list := range saddles {
		n := 0
		for _, s := range list {
			n += bits.OnesCount8(toward(s, catchment))
		}
		start[k+1] = start[k] + n
	}
	passes := make([]basin.Pass, start[len(saddles)])
	used := make([]int, len(saddles))
	step := basin.Offsets(g.Cols)
	grid.OnBands(make([]grid.Band, len(saddles)), func(k int, _ grid.Band) {
		at := start[k]
		for _, s := range saddles[k] {
			here := catchment.Of[s.cell]
			level := basin.Order(g.Z[s.cell])
			for rest := toward(s, catchment); rest != 0; rest &= rest - 1 {
				there := catchment.Of[int(s.cell)+step[rest&-rest]]
				if there != here {
					passes[at] = basin.Pass{Level: level, A: here, B: there, Cell: s.cell}
					at++
				}
			}
		}
		used[k] = at - start[k]
		saddles[k] = nil
	})
	n := 0
	for k := range used {
		n += copy(passes[n:], passes[start[k]:start[k]+used[k]])
	}
	return passes[:n]
}
