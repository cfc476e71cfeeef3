package search

import (
	"math"

	"curbfall/routing/constraint"
)

// arc is what the law leaves of a straight line for inverts running along it:
// an invert y entering leaves as min(y - fall, ceil), if y >= need.
type arc struct {
	length, priced float64
	ceil, need     float64
	ok             bool
}

// compress reduces the stations of a line to its arc at least slope m.
func compress(st []constraint.Station, length, priced, m float64) arc {
	a := arc{length: length, priced: priced, ceil: math.Inf(1), need: math.Inf(-1), ok: true}
	high := math.Inf(1) // the highest profile with nothing entering
	at := 0.0
	for _, s := range st {
		c, f := s.Ceiling, s.Floor
		if s.Low < s.High { // a utility: a lower ceiling or a higher floor
			switch {
			case s.High > c:
				c = math.Min(c, s.Low)
			case s.Low < f:
				f = math.Max(f, s.High)
			default: // both ways are open: below is always buildable first
				c = math.Min(c, s.Low)
			}
		}
		high = math.Min(high-m*(s.S-at), c)
		at = s.S
		if high < f-constraint.Tolerance {
			return arc{length: length}
		}
		a.need = math.Max(a.need, f+m*s.S)
	}
	a.ceil = high - m*(length-at)
	return a
}

func (a arc) down(y, m float64) (float64, bool) {
	if !a.ok || y < a.need-constraint.Tolerance {
		return 0, false
	}
	return math.Min(y-m*a.length, a.ceil), true
}

func (a arc) up(r, m float64) (float64, bool) {
	if !a.ok || r > a.ceil+constraint.Tolerance {
		return 0, false
	}
	return math.Max(r+m*a.length, a.need), true
}
