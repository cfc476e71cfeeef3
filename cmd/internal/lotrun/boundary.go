package lotrun

import (
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
// that reaches beyond the ground that was read is left out: what runs there is
// not known.
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
		sides := make([]vector.BoundaryFlow, len(ring)-1)
		for k := range sides {
			sides[k] = vector.BoundaryFlow{Lot: lot.ID, Side: k + 1, Line: orb.LineString{ring[k], ring[k+1]}, Storm: r.name, After: math.NaN()}
			if designed {
				sides[k].After = 0
			}
		}
		for _, c := range w.crossings(lot.Area, next) {
			sides[c.side].Before += c.sign * before[c.from]
		}
		if designed {
			for _, c := range w.crossings(lot.Area, channelled) {
				sides[c.side].After += c.sign * after[c.from]
			}
		}
		list = append(list, sides...)
	}
	return list
}

// sources is the flow that starts at each cell, m3/s, as things are.
func (r *rain) sources() []float64 {
	s := slices.Clone(r.flow)
	for _, f := range r.inflows {
		if !f.open() {
			s[f.cell] += f.flow
		}
	}
	return s
}

// sources is the flow that starts at each cell, m3/s, with so much taken at each
// inflow: less what downspouts take, and with what comes out on the ground.
func (d *drainage) sources(r *rain, taken []float64) []float64 {
	s := r.sources()
	for _, f := range r.inflows {
		if t := taken[f.place]; !f.open() || t < 0 {
			s[f.cell] -= t
		}
	}
	for _, b := range d.returned(taken) {
		s[b.cell] += b.flow
	}
	return s
}

// swallowed is what drains take at each of so many cells, m3/s.
func (r *rain) swallowed(cells int, taken []float64) []float64 {
	s := make([]float64, cells)
	for _, f := range r.inflows {
		if f.open() {
			s[f.cell] += math.Max(0, taken[f.place])
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
}

// crossings finds where water goes over a lot's line: from a cell whose centre
// lies on the one side to one on the other, or off the ground known.
func (w *water) crossings(lot orb.Polygon, next []int32) (list []crossing) {
	in := make([]bool, len(next))
	w.eachWithin(lot, func(i int) { in[i] = true })
	for i, n := range next {
		to := n >= 0 && in[n]
		if in[i] == to {
			continue
		}
		p := w.centre(i)
		if n >= 0 {
			q := w.centre(int(n))
			p = orb.Point{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2}
		}
		c := crossing{from: i, side: nearestSide(lot[0], p), sign: 1}
		if to {
			c.sign = -1
		}
		list = append(list, c)
	}
	return list
}

func nearestSide(ring orb.Ring, p orb.Point) int {
	best, at := math.Inf(1), 0
	for k := range len(ring) - 1 {
		if d := planar.DistanceFromSegment(ring[k], ring[k+1], p); d < best {
			best, at = d, k
		}
	}
	return at
}

// covers tells whether a polygon lies wholly on the ground that was read.
func (w *water) covers(p orb.Polygon) bool {
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
	c0, r0, c1, r1 := g.Cols, g.Rows, -1, -1
	b := p.Bound()
	for _, q := range [4]orb.Point{b.Min, b.Max, {b.Min[0], b.Max[1]}, {b.Max[0], b.Min[1]}} {
		c, r := g.ToCell(q[0], q[1])
		c0, c1 = min(c0, int(math.Floor(c))), max(c1, int(math.Ceil(c)))
		r0, r1 = min(r0, int(math.Floor(r))), max(r1, int(math.Ceil(r)))
	}
	for r := max(0, r0); r <= min(g.Rows-1, r1); r++ {
		for c := max(0, c0); c <= min(g.Cols-1, c1); c++ {
			if i := g.Index(c, r); planar.PolygonContains(p, w.centre(i)) {
				do(i)
			}
		}
	}
}
