package lowspot

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// corner is a corner of cells: the north-west one of the cell of that column
// and row.
type corner struct{ col, row int }

// Outline returns the ground plan of a set of cells along their sides in site
// metres: one polygon a connected part, outer rings counter-clockwise, holes
// clockwise, closed, the largest part first.
func Outline(g *grid.Grid, cells []int) orb.MultiPolygon {
	in := make(map[int]bool, len(cells))
	for _, i := range cells {
		in[i] = true
	}
	next := map[corner][]corner{} // sides, the cells on their left
	var order []corner
	side := func(a, b corner) {
		if len(next[a]) == 0 {
			order = append(order, a)
		}
		next[a] = append(next[a], b)
	}
	for _, i := range cells {
		c, r := g.Cell(i)
		has := func(dc, dr int) bool { return g.Contains(c+dc, r+dr) && in[g.Index(c+dc, r+dr)] }
		nw, ne, sw, se := corner{c, r}, corner{c + 1, r}, corner{c, r + 1}, corner{c + 1, r + 1}
		if !has(0, -1) {
			side(ne, nw)
		}
		if !has(-1, 0) {
			side(nw, sw)
		}
		if !has(0, 1) {
			side(sw, se)
		}
		if !has(1, 0) {
			side(se, ne)
		}
	}
	var outer, holes []orb.Ring
	for _, start := range order {
		for len(next[start]) > 0 {
			for _, corners := range walk(start, next) {
				ring := trace(g, corners)
				if ring.Orientation() == orb.CCW {
					outer = append(outer, ring)
				} else {
					holes = append(holes, ring)
				}
			}
		}
	}
	return assemble(outer, holes)
}

// walk follows sides from a corner back to it, turning left where cells meet
// at a corner alone, so that such cells get rings of their own, and returns
// the rings: one for each stretch that comes back to a corner it has passed,
// so that none touches itself.
func walk(start corner, next map[corner][]corner) (rings [][]corner) {
	trail := []corner{start}
	passed := map[corner]int{start: 0} // place in trail
	for at := start; len(next[at]) > 0; {
		ways := next[at]
		pick := 0
		if len(trail) > 1 {
			for k, w := range ways {
				if turnsLeft(trail[len(trail)-2], at, w) {
					pick = k
				}
			}
		}
		to := ways[pick]
		next[at] = append(ways[:pick:pick], ways[pick+1:]...)
		at = to
		k, again := passed[to]
		if !again {
			passed[to] = len(trail)
			trail = append(trail, to)
			continue
		}
		rings = append(rings, append([]corner(nil), trail[k:]...))
		for _, c := range trail[k+1:] {
			delete(passed, c)
		}
		trail = trail[:k+1]
		if k == 0 {
			break
		}
	}
	return rings
}

// trace gives a ring of corners in site metres, closed, without the corners
// on a straight side.
func trace(g *grid.Grid, corners []corner) orb.Ring {
	var ring orb.Ring
	n := len(corners)
	for k, c := range corners {
		if !straightOn(corners[(k+n-1)%n], c, corners[(k+1)%n]) {
			x, y := g.ToSite(float64(c.col)-0.5, float64(c.row)-0.5)
			ring = append(ring, orb.Point{x, y})
		}
	}
	return append(ring, ring[0])
}

// turnsLeft tells whether a, b, c turn left on the ground; rows count south.
func turnsLeft(a, b, c corner) bool {
	return (b.col-a.col)*(c.row-b.row)-(b.row-a.row)*(c.col-b.col) < 0
}

func straightOn(a, b, c corner) bool {
	return (b.col-a.col)*(c.row-b.row)-(b.row-a.row)*(c.col-b.col) == 0
}

// assemble gives each hole to the smallest outer ring round it, and puts the
// largest part first.
func assemble(outer, holes []orb.Ring) orb.MultiPolygon {
	list := make(orb.MultiPolygon, len(outer))
	bounds, areas := make([]orb.Bound, len(outer)), make([]float64, len(outer))
	for k, r := range outer {
		list[k], bounds[k], areas[k] = orb.Polygon{r}, r.Bound(), math.Abs(planar.Area(r))
	}
	smallest := ranked(areas)
	for _, h := range holes {
		// Some ring is round it, so the last it may be is not asked.
		round, p := -1, middle(h)
		for _, k := range smallest {
			if !bounds[k].Contains(p) {
				continue
			}
			if round >= 0 && planar.RingContains(outer[round], p) {
				break
			}
			round = k
		}
		list[round] = append(list[round], h)
	}
	for k := range list {
		areas[k] = -planar.Area(list[k])
	}
	sorted := make(orb.MultiPolygon, len(list))
	for n, k := range ranked(areas) {
		sorted[n] = list[k]
	}
	return sorted
}

// ranked lists the places of values, the least first, of equals the first.
func ranked(values []float64) []int {
	order := make([]int, len(values))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	return order
}

// middle is a point just inside a hole's first side.
func middle(r orb.Ring) orb.Point {
	a, b := r[0], r[1]
	return orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
}
