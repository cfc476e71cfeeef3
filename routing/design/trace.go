package design

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// stop is a place on an inflow's way with the highest invert that comes there.
type stop struct {
	constraint.Station
	at     orb.Point
	away   float64 // plan distance from the inflow, m
	invert float64
	held   bool // the law presses the pipe down here
	last   bool // of the pipe to the outlet
}

// trace walks inflow i's way down, as high as the law lets it with the least
// pipes; ok is false where the law does not let it.
func (d *job) trace(i int, w *wayOut) (list []stop, ok bool) {
	a := d.leastHeight(coarse, w.wide)
	bore := d.criteria.Catalogue.Bores[a.bore]
	end := d.endOf(w)
	o := d.outletOf(a, &end)
	interior, source := d.law.Interior(bore), d.source(i, posing{a.bore, coarse})
	points := append(append([]orb.Point{d.in[i].At}, w.Points...), o.At)
	invert, away := source.Start, 0.0
	for k := 1; k < len(points); k++ {
		line, slope, last := interior, d.slopeMin(bore), k == len(points)-1
		switch {
		case last && k == 1:
			line, slope = o.LeaveFrom(i), o.Slope
		case last:
			line, slope = o.Enter, o.Slope
		case k == 1:
			line = source.Leave
		}
		from, to := points[k-1], points[k]
		stations, _, ok := line(nil, from, to)
		if !ok {
			return nil, false
		}
		before := 0.0
		for _, st := range stations {
			free := invert - slope*(st.S-before)
			if invert, ok = st.Down(free); !ok {
				return nil, false
			}
			before = st.S
			list = append(list, stop{st, between(from, to, st.S), away + st.S, invert, free-invert > constraint.Tolerance, last})
		}
		away += distance(from, to)
	}
	return list, true
}

func between(a, b orb.Point, s float64) orb.Point {
	return pointOn(a, b, s/math.Max(distance(a, b), constraint.Tolerance))
}
