package fill

import (
	"math"

	"curbfall/terrain/basin"
	"curbfall/terrain/grid"
)

// pass joins two catchments at a level.
type pass struct {
	level uint32 // in the order of elevations, see order
	a, b  uint32 // labels
}

// order turns an elevation into a number of the same order; -0 counts as 0.
func order(z float32) uint32 {
	b := math.Float32bits(z + 0)
	return b ^ (uint32(int32(b)>>31) | 1<<31)
}

// spills returns the level at which each catchment's water leaves the grid, by
// label. Passes are taken from the lowest up; catchments join, and those that
// come to meet the outside are settled at that level.
func spills(g *grid.Grid, catchment *basin.Labels, saddles [][]saddle) []float32 {
	passes := sorted(gather(g, catchment, saddles))
	n := len(catchment.Pits) + basin.First
	level := make([]float32, n)
	joined := make([]uint32, n) // toward the one that stands for all joined
	settled := make([]bool, n)
	for i := range joined {
		joined[i] = uint32(i)
	}
	settled[basin.Outside] = true
	for _, p := range passes {
		a, b := find(joined, p.a), find(joined, p.b)
		if a == b || settled[a] && settled[b] {
			continue
		}
		switch {
		case settled[a]:
			level[b], settled[b] = elevation(p.level), true
		case settled[b]:
			level[a], settled[a] = elevation(p.level), true
		case a < b:
			joined[b] = a
		default:
			joined[a] = b
		}
	}
	for i := range level {
		level[i] = level[find(joined, uint32(i))]
	}
	return level
}

// elevation undoes order.
func elevation(o uint32) float32 {
	return math.Float32frombits(o ^ (uint32(int32(^o)>>31) | 1<<31))
}

// find returns what stands for all joined with i, and shortens the way there.
func find(joined []uint32, i uint32) uint32 {
	for joined[i] != i {
		joined[i] = joined[joined[i]]
		i = joined[i]
	}
	return i
}

// gather turns saddles into passes, one fewer than a saddle has arcs; a saddle
// on the grid's rim has one more, to the outside.
func gather(g *grid.Grid, catchment *basin.Labels, saddles [][]saddle) []pass {
	parts := make([][]pass, len(saddles))
	step := basin.Offsets(g.Cols)
	bands := make([]grid.Band, len(saddles))
	grid.OnBands(bands, func(k int, _ grid.Band) {
		list := make([]pass, 0, len(saddles[k])*5/4)
		for _, s := range saddles[k] {
			here := catchment.Of[s.cell]
			level := order(g.Z[s.cell])
			for rest := basin.Heads(s.ring); rest != 0; rest &= rest - 1 {
				there := catchment.Of[int(s.cell)+step[rest&-rest]]
				if there != here {
					list = append(list, pass{level, here, there})
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
	passes := make([]pass, 0, total)
	for _, p := range parts {
		passes = append(passes, p...)
	}
	return passes
}

// The passes are sorted by digits of their level, lowest digit first.
const (
	digitBits = 11
	digits    = 1 << digitBits
)

func sorted(passes []pass) []pass {
	spare := make([]pass, len(passes))
	for shift := 0; shift < 32; shift += digitBits {
		var start [digits + 1]int
		for _, p := range passes {
			start[(p.level>>shift)%digits+1]++
		}
		for d := range digits {
			start[d+1] += start[d]
		}
		for _, p := range passes {
			d := (p.level >> shift) % digits
			spare[start[d]] = p
			start[d]++
		}
		passes, spare = spare, passes
	}
	return passes
}
