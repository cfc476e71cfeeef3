package design

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// bindingOf names the place that decides how high inflow i's best way arrives:
// the last one downstream where the law presses the pipe down, from where on it
// falls at its least slope to the outlet. Value is the invert there, Limit the
// one that would do.
func (d *job) bindingOf(i int, w search.Way) *Binding {
	a := d.leastHeight(coarse)
	o := d.outletOf(a, &d.out[w.Outlet])
	interior := d.law.Interior(d.criteria.Catalogue.Bores[a.bore])
	source := d.source(i, posing{a.bore, coarse})
	points := append(append([]orb.Point{d.in[i].At}, w.Points...), o.At)

	b := &Binding{Rule: d.coverRule(d.in[i].At), At: d.in[i].At}
	invert, away := source.Start, 0.0
	for k := 1; k < len(points); k++ {
		line, slope, last := interior, d.slopeMin(d.criteria.Catalogue.Bores[a.bore]), k == len(points)-1
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
			return nil
		}
		before := 0.0
		for n, st := range stations {
			free := invert - slope*(st.S-before)
			invert, ok = st.Down(free)
			if !ok {
				return nil
			}
			if before = st.S; invert < free {
				at := between(from, to, st.S)
				*b = Binding{Rule: d.pressing(st, invert, at, last), At: at, Station: away + st.S, Value: invert}
				if n == 0 && k == 1 && underRim(stations) {
					b.Rule = "rim"
				}
			}
		}
		away += distance(from, to)
	}
	b.Station = away - b.Station
	b.Limit = b.Value - w.Margin
	return b
}

// pressing is the rule that presses a pipe down to an invert at a station.
func (d *job) pressing(st constraint.Station, invert float64, at orb.Point, last bool) string {
	switch {
	case invert < st.Ceiling-constraint.Tolerance:
		return "utility_clearance"
	case last:
		return "outlet_cover"
	}
	return d.coverRule(at)
}

// underRim tells whether the rim holds a first pipe lower than its cover does: the
// first of two stations at its beginning is the rim's.
func underRim(stations []constraint.Station) bool {
	return len(stations) > 1 && stations[1].S == 0 && stations[0].Ceiling < stations[1].Ceiling
}

// coverRule is the rule of cover at a place.
func (d *job) coverRule(p orb.Point) string {
	switch kinds := d.law.PavedAt(p); {
	case slices.Contains(kinds, constraint.ZoneDriveway):
		return "cover_min_driveway"
	case len(kinds) > 0:
		return "cover_min_walk"
	}
	return "cover_min"
}

func between(a, b orb.Point, s float64) orb.Point {
	t := s / math.Max(distance(a, b), constraint.Tolerance)
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}
