// Package lowspot finds where water stands on a surface: how deep, how much,
// and at what level it spills.
//
//	____         ____ spill elevation
//	    \  ~~~~ /    \____
//	     \_____/ pit
package lowspot

import (
	"cmp"
	"math"
	"slices"

	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// LowSpot is a set of cells, joined by sides or corners, that hold water
// before they spill.
type LowSpot struct {
	Cells            []int   // positions in Grid.Z, ascending
	Pit              int     // its deepest cell, the first among equals
	SpillElevation   float64 // m
	Depth            float64 // greatest, m
	Area             float64 // m2
	Volume           float64 // m3, brim full
	ContributingArea float64 // that drains into it, itself included, m2
	// TouchesEdge tells that its catchment reaches the grid's edge or a void, so
	// that more may drain in than is seen.
	TouchesEdge bool
}

// Least is what a low spot must have at least to count as one.
type Least struct {
	Depth  float64 // greatest, m
	Volume float64 // brim full, m3
	Noise  float64 // of the raster, m: it must be BeyondNoise
}

// RankRunoff is the depth of runoff by which low spots are ranked, m: an inch.
const RankRunoff = 0.0254

// holds is how much of RankRunoff off its catchment stands in a low spot, m3.
func (s *LowSpot) holds() float64 { return math.Min(s.Volume, s.ContributingArea*RankRunoff) }

// Find returns the low spots of a surface that have at least least, in the order
// of what stands in them after RankRunoff has run off their catchments, most
// first, of equals that with the first cell. filled is the surface with its
// depressions filled, dir the directions on it. Water runs on over smaller ones.
//
// Volumes are sums of depths, which are differences of float32 levels taken in
// float64; the error of each is the input's own.
//
// into tells for each cell the low spot its water comes to first, as an index,
// -1 for none.
func Find(surface, filled *grid.Grid, dir []uint8, least Least) (spots []LowSpot, into []int32) {
	label := make([]int32, len(surface.Z))
	each(surface, filled, least, func(s LowSpot) {
		spots = append(spots, s)
		for _, j := range s.Cells {
			label[j] = int32(len(spots))
		}
	})
	into = contribute(filled, dir, label, spots)
	for i := range into {
		into[i] = max(into[i], 0) - 1
	}
	return rank(spots, into)
}

// Pits returns the pits of the low spots that have at least least, in the order of
// their first cell.
func Pits(surface, filled *grid.Grid, least Least) (pits []int) {
	each(surface, filled, least, func(s LowSpot) { pits = append(pits, s.Pit) })
	return pits
}

// each calls do for the low spots that have at least least, in the order of their
// first cell. What drains to them is not known yet.
func each(surface, filled *grid.Grid, least Least, do func(s LowSpot)) {
	seen := make([]bool, len(surface.Z))
	for i := range surface.Z {
		if !(filled.Z[i] > surface.Z[i]) || seen[i] {
			continue
		}
		if s := gather(surface, filled, i, seen); s.Depth >= least.Depth && s.Volume >= least.Volume && BeyondNoise(s.depths(surface, filled), least.Noise) {
			do(s)
		}
	}
}

// rank puts low spots, which come in the order of their first cell, in the order
// of what they hold.
func rank(spots []LowSpot, into []int32) ([]LowSpot, []int32) {
	order := make([]int, len(spots))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(spots[b].holds(), spots[a].holds()) })
	ranked, place := make([]LowSpot, len(spots)), make([]int32, len(spots))
	for k, was := range order {
		ranked[k], place[was] = spots[was], int32(k)
	}
	for i, k := range into {
		if k >= 0 {
			into[i] = place[k]
		}
	}
	return ranked, into
}

// At returns for each cell the low spot it lies in, as an index, -1 for none.
func At(cells int, spots []LowSpot) []int32 {
	at := make([]int32, cells)
	for i := range at {
		at[i] = -1
	}
	for k := range spots {
		for _, i := range spots[k].Cells {
			at[i] = int32(k)
		}
	}
	return at
}

func gather(surface, filled *grid.Grid, first int, seen []bool) LowSpot {
	s := LowSpot{Cells: []int{first}, Pit: first, SpillElevation: filled.Elevation(first)}
	seen[first] = true
	for k := 0; k < len(s.Cells); k++ {
		i := s.Cells[k]
		c, r := surface.Cell(i)
		for _, step := range grid.Steps {
			j := surface.Index(c+step.Col, r+step.Row) // seeds are never filled, so neighbours are in the grid
			if filled.Z[j] > surface.Z[j] && !seen[j] {
				seen[j] = true
				s.Cells = append(s.Cells, j)
			}
		}
	}
	slices.Sort(s.Cells)
	for _, i := range s.Cells {
		d := (float64(filled.Z[i]) - float64(surface.Z[i])) * surface.MetresPerZ
		s.Volume += d * surface.CellArea()
		if d > s.Depth {
			s.Depth, s.Pit = d, i
		}
	}
	s.Area = float64(len(s.Cells)) * surface.CellArea()
	return s
}

// depths is how deep a low spot is by its cells, m.
func (s *LowSpot) depths(surface, filled *grid.Grid) []float64 {
	d := make([]float64, len(s.Cells))
	for k, i := range s.Cells {
		d[k] = (float64(filled.Z[i]) - float64(surface.Z[i])) * surface.MetresPerZ
	}
	return d
}

// contribute follows every cell downstream to the first low spot on its way.
func contribute(filled *grid.Grid, dir []uint8, label []int32, spots []LowSpot) (into []int32) {
	into = slices.Clone(label) // 0: not known yet, -1: none
	counts := make([]int, len(spots)+1)
	var path []int
	for i := range into {
		path = path[:0]
		j := i
		for j >= 0 && into[j] == 0 {
			path = append(path, j)
			into[j] = -1
			j = flow.Next(filled, dir, j)
		}
		id := int32(-1)
		if j >= 0 {
			id = into[j]
		}
		for _, p := range path {
			into[p] = id
		}
	}
	for _, id := range into {
		if id <= 0 {
			continue
		}
		counts[id]++
	}
	// A catchment beside the edge's own cells is cut: those drain out only
	// because nothing is known beyond them.
	eachBesideEdge(filled, func(i int) {
		if id := into[i]; id > 0 {
			spots[id-1].TouchesEdge = true
		}
	})
	for k := range spots {
		spots[k].ContributingArea = float64(counts[k+1]) * filled.CellArea()
	}
	return into
}

// eachBesideEdge calls do for the cells beside those that drain straight out,
// some of them more than once.
func eachBesideEdge(g *grid.Grid, do func(i int)) {
	seeds := grid.NewSeeds(g)
	for r := range g.Rows {
		seeds.Each(r, func(c int, void bool) {
			for _, s := range grid.Steps {
				if g.Contains(c+s.Col, r+s.Row) && !void {
					do(g.Index(c+s.Col, r+s.Row))
				}
			}
		})
	}
}
