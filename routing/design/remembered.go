package design

import (
	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// entering is a last pipe to a place on the curb.
type entering struct {
	hole int
	at   orb.Point
}

// entersCurb is the law for an outlet pipe to the curb. Attempts with the same
// hole differ in its slope alone, on which the law's answers do not depend: from
// the second attempt on they are kept.
func (d *job) entersCurb(hole int, x constraint.CurbPoint) constraint.Line {
	k := entering{hole, x.At}
	if line, again := d.entered[k]; again {
		if line == nil {
			line = remembered(d.law.EnterCurb(d.criteria.Catalogue.Bores[hole].Outlet, x))
			d.entered[k] = line
		}
		return line
	}
	if d.entered == nil {
		d.entered = map[entering]constraint.Line{}
	}
	d.entered[k] = nil
	return d.law.EnterCurb(d.criteria.Catalogue.Bores[hole].Outlet, x)
}

// remembered is a line whose end is always the same, and which keeps what it has
// answered. It serves one goroutine.
func remembered(line constraint.Line) constraint.Line {
	type answer struct {
		stations []constraint.Station
		priced   float64
		ok       bool
	}
	known := map[orb.Point]answer{}
	return func(to []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
		x, asked := known[a]
		if !asked {
			list, priced, ok := line(to, a, b)
			if x = (answer{priced: priced, ok: ok}); ok {
				x.stations = append(x.stations, list[len(to):]...)
			}
			known[a] = x
			return list, priced, ok
		}
		return append(to, x.stations...), x.priced, x.ok
	}
}
