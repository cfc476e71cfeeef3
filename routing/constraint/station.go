package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// Station is a point of a straight line in plan with what the law admits
// there. Between two stations of one line ceiling and floor run linearly; the
// ground's own curve is already taken off, so an invert that keeps to the
// stations keeps to the law at every point between. Where a limit jumps, two
// stations share one S.
type Station struct {
	S       float64 // plan distance from the line's start, m
	Ceiling float64 // highest invert, elevation m
	Floor   float64 // lowest invert, elevation m
	// Inverts strictly between Low and High are forbidden (a utility); Low =
	// +Inf, High = -Inf where nothing is.
	Low, High float64
}

// Free returns a station without a utility.
func Free(s, ceiling, floor float64) Station {
	return Station{S: s, Ceiling: ceiling, Floor: floor, Low: math.Inf(1), High: math.Inf(-1)}
}

// Down returns the highest admissible invert at the station not above y, and
// false where there is none.
func (st Station) Down(y float64) (float64, bool) {
	y = min(y, st.Ceiling)
	if st.barred(y) {
		y = st.Low
	}
	return y, y >= st.Floor-Tolerance
}

// Up returns the lowest admissible invert at the station not below y, and
// false where there is none.
func (st Station) Up(y float64) (float64, bool) {
	y = max(y, st.Floor)
	if st.barred(y) {
		y = st.High
	}
	return y, y <= st.Ceiling+Tolerance
}

// barred tells whether a utility forbids the invert y: one as far over its band's
// end as rounding goes lies at the end.
func (st Station) barred(y float64) bool { return y > st.Low+Tolerance && y < st.High-Tolerance }

// Tolerance is how far an invert may pass a limit and still count as equal to
// it, m: above the rounding in a sum of a few hundred elevations, far below
// anything a crew can set.
const Tolerance = 1e-9

// Line asks the law about the straight line from a to b, drawn downstream. It
// appends the stations from 0 to the line's length in order, and returns the
// priced length (the sum of metres times the factor of the ground crossed).
// ok is false where no pipe may lie on the line at any depth (a keep-out, a
// setback, a void, the lot's edge); stations are then incomplete.
type Line func(stations []Station, a, b orb.Point) (_ []Station, priced float64, ok bool)
