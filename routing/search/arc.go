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
	// stations stand where a utility may be passed above as well as below: then
	// four numbers do not tell, and inverts are walked along.
	stations *[]constraint.Station
}

// compress reduces the stations of a line to its arc at least slope m.
func compress(st []constraint.Station, length, priced, m float64) arc {
	a := arc{length: length, priced: priced, ceil: math.Inf(1), need: math.Inf(-1), ok: true}
	high := math.Inf(1) // the highest profile with nothing entering
	at := 0.0
	for _, s := range st {
		c, f := s.Ceiling, s.Floor
		if s.Low < s.High { // a utility: a lower ceiling, a higher floor, or both ways
			switch {
			case s.High > c+constraint.Tolerance:
				c = min(c, s.Low)
			case s.Low < f-constraint.Tolerance:
				f = max(f, s.High)
			case a.stations == nil:
				all := append([]constraint.Station(nil), st...)
				a.stations = &all
			}
		}
		high = min(high-m*(s.S-at), c)
		at = s.S
		if high < f-constraint.Tolerance {
			return arc{length: length}
		}
		a.need = max(a.need, f+m*s.S)
	}
	a.ceil = high - m*(length-at)
	return a
}

// down returns the highest invert that leaves, given the highest entering, at
// least slope m; ok is false where none does.
func (a arc) down(y, m float64) (float64, bool) {
	if !a.ok {
		return 0, false
	}
	if a.stations != nil {
		return a.walkDown(y, m)
	}
	if y < a.need-constraint.Tolerance {
		return 0, false
	}
	return min(y-m*a.length, a.ceil), true
}

// up returns the lowest invert that may enter, given the lowest that must leave.
func (a arc) up(r, m float64) (float64, bool) {
	if !a.ok {
		return 0, false
	}
	if a.stations != nil {
		return a.walkUp(r, m)
	}
	if r > a.ceil+constraint.Tolerance {
		return 0, false
	}
	return max(r+m*a.length, a.need), true
}

func (a arc) walkDown(y, m float64) (float64, bool) {
	at := 0.0
	for _, s := range *a.stations {
		next, ok := s.Down(y - m*(s.S-at))
		if !ok {
			return 0, false
		}
		y, at = next, s.S
	}
	return y - m*(a.length-at), true
}

func (a arc) walkUp(r, m float64) (float64, bool) {
	at := a.length
	for k := len(*a.stations) - 1; k >= 0; k-- {
		s := (*a.stations)[k]
		above, ok := s.Up(r + m*(at-s.S))
		if !ok {
			return 0, false
		}
		r, at = above, s.S
	}
	return r + m*at, true
}
