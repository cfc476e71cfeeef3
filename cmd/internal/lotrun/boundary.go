package lotrun

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/terrain/flow"
)

// boundaryFlows is what runs over every side of every lot while the design
// storm lasts, with all depressions full: the most that can come. An area drain
// in a low spot gets all that runs into that low spot, and what it does not
// take spills.
// taken is what the design takes at each inflow, nil where there is none. A lot
// that reaches out of view is left out: what runs there is not all known.
func (w *water) boundaryFlows(site *constraint.Site, r *rain, d *drainage, taken []float64) (list []vector.BoundaryFlow) {
	if len(site.Lots) == 0 {
		return nil
	}
	next := w.ways(r)
	before, _ := flow.Discharge(next, r.sources(), nil)
	var after []float64
	var channelled []int32
	designed := d != nil
	if designed {
		channelled = w.channelled(r, next)
		after, _ = flow.Discharge(channelled, d.sources(r, taken), r.swallowed(len(next), taken))
	}
	for _, lot := range site.Lots {
		if !w.covers(lot.Area) {
			continue
		}
		ring := lot.Area[0]
		asIs := w.over(lot.Area, next, before)
		var withDrains []vector.Over
		if designed {
			withDrains = w.over(lot.Area, channelled, after)
		}
		for k := range asIs {
			side := vector.BoundaryFlow{Lot: lot.ID, Side: k + 1, Line: orb.LineString{ring[k], ring[k+1]}, Storm: r.name, Before: asIs[k]}
			if designed {
				side.After = &withDrains[k]
			}
			list = append(list, side)
		}
	}
	return list
}

// together is the stretch of a lot line within which what goes over is one flow,
// m: a swale's width, never less than a cell.
const together = 2.0

// over adds up what goes over each side of a lot, of what leaves each cell.
func (w *water) over(lot orb.Polygon, next []int32, leaving []float64) []vector.Over {
	sides := make([]vector.Over, len(lot[0])-1)
	out := make([][]crossing, len(sides))
	for _, c := range w.crossings(lot, next) {
		f := leaving[c.from]
		sides[c.side].Net += c.sign * f
		if c.sign < 0 {
			sides[c.side].In += f
		} else {
			out[c.side] = append(out[c.side], c)
		}
	}
	wide := math.Max(together, w.surface.CellMax())
	for k, list := range out {
		slices.SortStableFunc(list, func(a, b crossing) int { return cmp.Compare(a.at, b.at) })
		first := 0
		for last := range list {
			for list[last].at-list[first].at > wide {
				first++
			}
			sum := 0.0
			for _, c := range list[first : last+1] {
				sum += leaving[c.from]
			}
			if sum > sides[k].Most {
				sides[k].Most, sides[k].MostAt = sum, (list[first].at+list[last].at)/2
			}
		}
	}
	return sides
}

// sources is the flow that starts at each cell, m3/s, as things are.
func (r *rain) sources() []float64 {
	s := slices.Clone(r.flow)
	for _, f := range r.inflows {
		f.comesDown(func(cell int, flow float64) { s[cell] += flow })
	}
	return s
}

// sources is the flow that starts at each cell, m3/s, with so much taken at each
// inflow: what served downspouts leave, and what comes out on the ground.
func (d *drainage) sources(r *rain, taken []float64) []float64 {
	s := slices.Clone(r.flow)
	for _, f := range r.inflows {
		switch t := taken[f.place]; {
		case f.open():
			s[f.cell] -= math.Min(0, t)
		case f.served():
			s[f.cell] += f.comes - f.ofThisRain(t)
		default:
			f.comesDown(func(cell int, flow float64) { s[cell] += flow })
		}
	}
	for _, b := range d.returned(taken) {
		s[b.cell] += b.flow
	}
	return s
}

// ofThisRain is what an inflow takes of all that this rain brings, m3/s, where it
// takes so much of what comes while the last pipe carries most.
func (f *inflow) ofThisRain(taken float64) float64 {
	if taken <= 0 {
		return taken
	}
	return taken * f.comes / f.peak
}

// swallowed is what drains take at each of so many cells, m3/s.
func (r *rain) swallowed(cells int, taken []float64) []float64 {
	s := make([]float64, cells)
	for _, f := range r.inflows {
		if f.open() && taken[f.place] > 0 {
			s[f.cell] += f.ofThisRain(taken[f.place])
		}
	}
	return s
}

// ways has for each cell the one its water goes to. From all cells of a low
// spot that has area drains it goes to the first of them, from one to the next,
// and from the last to where the low spot spills.
func (w *water) ways(r *rain) []int32 {
	next := make([]int32, len(w.dir))
	for i := range next {
		next[i] = int32(flow.Next(w.filled, w.dir, i))
	}
	drains := map[int32][]int{} // cells, by low spot
	for _, d := range r.inflows {
		if k := w.at[d.cell]; d.open() && k >= 0 && !slices.Contains(drains[k], d.cell) {
			drains[k] = append(drains[k], d.cell)
		}
	}
	for k, cells := range drains {
		out := w.spots[k].Pit
		for out >= 0 && w.at[out] == k {
			out = flow.Next(w.filled, w.dir, out)
		}
		for _, i := range w.spots[k].Cells {
			next[i] = int32(cells[0])
		}
		for n, i := range cells {
			next[i] = int32(out)
			if n+1 < len(cells) {
				next[i] = int32(cells[n+1])
			}
		}
	}
	return next
}

// crossing is water going over a side of a lot: out of it (sign 1) or into it
// (-1).
type crossing struct {
	from, side int
	sign       float64
	at         float64 // along the side, m
}

// crossings finds where water goes over the sides of a lot, each way from cell to
// cell taken as a straight line. It is the same from either side of a line: what
// one lot sends, its neighbour is given. What runs off the ground known within
// the lot goes over no side.
func (w *water) crossings(lot orb.Polygon, next []int32) (list []crossing) {
	ring := lot[0]
	out := 1.0
	if ring.Orientation() == orb.CW {
		out = -1
	}
	c0, r0, c1, r1 := w.cellBox(lot)
	for i, n := range next {
		if n < 0 {
			continue
		}
		c, r := w.surface.Cell(i)
		d, s := w.surface.Cell(int(n))
		if max(c, d) < c0 || min(c, d) > c1 || max(r, s) < r0 || min(r, s) > r1 {
			continue
		}
		p, q := w.centre(i), w.centre(int(n))
		for k := range len(ring) - 1 {
			if crosses(p, q, ring[k], ring[k+1]) {
				sign := out
				if !leftOf(ring[k], ring[k+1], p) { // the lot lies to the left of a counter-clockwise side
					sign = -out
				}
				list = append(list, crossing{i, k, sign, along(ring[k], ring[k+1], p, q)})
			}
		}
	}
	return list
}

// along is how far along a side from a to b the way from p to q crosses it, m.
func along(a, b, p, q orb.Point) float64 {
	length := planar.Distance(a, b)
	ux, uy := (b[0]-a[0])/length, (b[1]-a[1])/length
	off := func(o orb.Point) float64 { return ux*(o[1]-a[1]) - uy*(o[0]-a[0]) }
	run := func(o orb.Point) float64 { return ux*(o[0]-a[0]) + uy*(o[1]-a[1]) }
	t := 0.5
	if d := off(p) - off(q); d != 0 {
		t = off(p) / d
	}
	return run(p) + t*(run(q)-run(p))
}

// crosses tells whether the way from p to q goes over a side from a to b. A way
// that ends on the side, or passes its end, is taken as if it lay a hair to the
// north, and less to the west: it then goes over one of the sides that meet there,
// and the same one whichever lot asks.
func crosses(p, q, a, b orb.Point) bool {
	return leftOf(a, b, p) != leftOf(a, b, q) && (turn(p, q, a) > 0) != (turn(p, q, b) > 0)
}

// leftOf tells whether p, a hair to the north, lies to the left of the line from
// a to b.
func leftOf(a, b, p orb.Point) bool {
	return (turn(a, b, p) >= 0) != westOf(b, a)
}

// turn is above 0 where p lies to the left of a line through a and b, run from
// the western of the two to the eastern: so taken from either end it is the same
// to the last bit.
func turn(a, b, p orb.Point) float64 {
	if westOf(b, a) {
		a, b = b, a
	}
	return (b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])
}

// westOf tells whether a point lies west of another, or south of it on the same
// meridian.
func westOf(a, b orb.Point) bool { return a[0] < b[0] || a[0] == b[0] && a[1] < b[1] }

func nearestSide(ring orb.Ring, p orb.Point) int {
	best, at := math.Inf(1), 0
	for k := range len(ring) - 1 {
		if d := planar.DistanceFromSegment(ring[k], ring[k+1], p); d < best {
			best, at = d, k
		}
	}
	return at
}

// covers tells whether a polygon lies wholly in view, and on the ground that was
// read.
func (w *water) covers(p orb.Polygon) bool {
	return w.contains(p) && (w.view == nil || w.view.Union(p.Bound()) == *w.view)
}

// contains tells whether a polygon lies wholly on the ground that was read.
func (w *water) contains(p orb.Polygon) bool {
	g := w.surface
	for _, q := range p[0] {
		if c, r := g.ToCell(q[0], q[1]); c < 0 || r < 0 || c > float64(g.Cols-1) || r > float64(g.Rows-1) {
			return false
		}
	}
	return true
}

func (w *water) centre(i int) orb.Point {
	c, r := w.surface.Cell(i)
	x, y := w.surface.ToSite(float64(c), float64(r))
	return orb.Point{x, y}
}

// eachWithin calls do for the cells whose centre lies in a polygon.
func (w *water) eachWithin(p orb.Polygon, do func(i int)) {
	g := w.surface
	c0, r0, c1, r1 := w.cellBox(p)
	for r := max(0, r0); r <= min(g.Rows-1, r1); r++ {
		for c := max(0, c0); c <= min(g.Cols-1, c1); c++ {
			if i := g.Index(c, r); planar.PolygonContains(p, w.centre(i)) {
				do(i)
			}
		}
	}
}

// cellBox is the range of cells round a polygon's box; it may reach beyond the
// grid.
func (w *water) cellBox(p orb.Polygon) (c0, r0, c1, r1 int) {
	b := p.Bound()
	c0, r0, c1, r1 = math.MaxInt, math.MaxInt, math.MinInt, math.MinInt
	for _, q := range [4]orb.Point{b.Min, b.Max, {b.Min[0], b.Max[1]}, {b.Max[0], b.Min[1]}} {
		c, r := w.surface.ToCell(q[0], q[1])
		c0, c1 = min(c0, int(math.Floor(c))), max(c1, int(math.Ceil(c)))
		r0, r1 = min(r0, int(math.Floor(r))), max(r1, int(math.Ceil(r)))
	}
	return c0, r0, c1, r1
}
