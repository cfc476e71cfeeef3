package profile

import (
	"slices"

	"curbfall/routing/constraint"
)

// slack is how far an invert may pass a limit here, m. Half of the law's own
// tolerance: the other half takes the rounding of what is made of it.
const slack = constraint.Tolerance / 2

// corridor is a chain with a point at every station, break and change of the
// least slope.
type corridor struct {
	points []point
	// fall[k] is the least slope between points k and k+1.
	fall     []float64
	breaks   []breakpoint
	slopeMax float64
}

// point is a station with the ends of the chain taken into its limits.
type point struct {
	constraint.Station
	stretch int // which stretch of utility it lies in, -1: none
	station int // index of the station it is, -1: cut in between
}

// breakpoint is where a run may end: points first to last have its S.
type breakpoint struct {
	s           float64
	first, last int
	node        bool
}

// upper is the last point of a run that ends at the break, lower the first of
// one that starts there: at a node on a jump each keeps its own side's limits.
func (b breakpoint) upper() int {
	if b.node && b.last > b.first {
		return b.last - 1
	}
	return b.last
}

func (b breakpoint) lower() int {
	if b.node && b.last > b.first {
		return b.first + 1
	}
	return b.first
}

func newCorridor(c *Chain) *corridor {
	breaks := c.breakStations()
	cuts := make([]float64, 0, len(breaks)+len(c.Stretches))
	for _, b := range breaks {
		cuts = append(cuts, b.s)
	}
	for _, st := range c.Stretches {
		cuts = append(cuts, st.To)
	}
	slices.Sort(cuts)
	q := &corridor{slopeMax: c.SlopeMax}
	q.cut(c, cuts)
	q.nameStretches()
	first, last := &q.points[0], &q.points[len(q.points)-1]
	first.Floor, first.Ceiling = max(first.Floor, c.StartLow), min(first.Ceiling, c.StartHigh)
	last.Floor = max(last.Floor, c.EndMin)
	q.fillFall(c)
	q.place(breaks)
	return q
}

// breakStations returns both ends, the nodes and the breaks in order, each at
// least breakApart from the one before.
func (c *Chain) breakStations() []breakpoint {
	all := []breakpoint{{s: c.Start()}, {s: c.End()}}
	keep := func(s float64, node bool) {
		if k, near := slices.BinarySearchFunc(all, s, func(b breakpoint, s float64) int {
			switch {
			case b.s <= s-breakApart:
				return -1
			case b.s >= s+breakApart:
				return 1
			}
			return 0
		}); !near {
			all = slices.Insert(all, k, breakpoint{s: s, node: node})
		}
	}
	for _, s := range slices.Sorted(slices.Values(c.Nodes)) {
		keep(s, true)
	}
	breaks := c.Breaks
	if breaks == nil {
		for _, st := range c.Stations {
			breaks = append(breaks, st.S)
		}
	}
	for _, s := range slices.Sorted(slices.Values(breaks)) {
		keep(s, false)
	}
	return all
}

// cut copies the stations with a point cut in wherever a cut, in order, meets
// none.
func (q *corridor) cut(c *Chain, cuts []float64) {
	next := 0
	for k, st := range c.Stations {
		for next < len(cuts) && cuts[next] <= st.S+sameStation {
			s := cuts[next]
			next++
			if k == 0 || s >= st.S-sameStation {
				continue
			}
			if before := q.points[len(q.points)-1]; s > before.S+sameStation {
				q.points = append(q.points, point{Station: between(before.Station, st, s), station: -1})
			}
		}
		q.points = append(q.points, point{Station: st, station: k})
	}
}

// between returns the station at s, linear between two.
func between(a, b constraint.Station, s float64) constraint.Station {
	t := (s - a.S) / (b.S - a.S)
	m := constraint.Free(s, a.Ceiling*(1-t)+b.Ceiling*t, a.Floor*(1-t)+b.Floor*t)
	if banded(a) && banded(b) {
		m.Low, m.High = a.Low*(1-t)+b.Low*t, a.High*(1-t)+b.High*t
	}
	return m
}

// nameStretches numbers the stretches of utility. A jump ends one: with both
// stations held, what passes there from one side to the other touches neither.
func (q *corridor) nameStretches() {
	n := -1
	for k := range q.points {
		p := &q.points[k]
		if !banded(p.Station) {
			p.stretch = -1
			continue
		}
		if k == 0 || q.points[k-1].stretch < 0 || q.points[k-1].S == p.S {
			n++
		}
		p.stretch = n
	}
}

func (q *corridor) fillFall(c *Chain) {
	q.fall = make([]float64, len(q.points)-1)
	at := 0
	for k := range q.fall {
		mid := (q.points[k].S + q.points[k+1].S) / 2
		for at < len(c.Stretches)-1 && mid > c.Stretches[at].To {
			at++
		}
		q.fall[k] = c.Stretches[at].SlopeMin
	}
}

// place finds each break's points.
func (q *corridor) place(breaks []breakpoint) {
	k := 0
	for _, b := range breaks {
		for q.points[k].S < b.s-sameStation {
			k++
		}
		b.first, b.last, b.s = k, k, q.points[k].S
		for b.last+1 < len(q.points) && q.points[b.last+1].S == b.s {
			b.last++
		}
		q.breaks = append(q.breaks, b)
	}
}
