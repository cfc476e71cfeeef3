package units

import "math"

// Rounding says to which side the last digit of a printed number goes. What lacks or
// is asked for goes to the side that does: with 3 mm more, 3.2 mm are still missing.
type Rounding int

// The sides.
const (
	Nearest Rounding = iota
	Up
	Down
)

// digitSlack is how far past a digit a number still counts as that digit, in
// digits: what sums of floats are off by.
const digitSlack = 1e-6

// Step returns v in whole steps.
func (r Rounding) Step(v, step float64) float64 {
	switch r {
	case Up:
		return math.Ceil(v/step-digitSlack) * step
	case Down:
		return math.Floor(v/step+digitSlack) * step
	}
	return math.Round(v/step) * step
}

// Length is FormatLength to a side.
func (r Rounding) Length(metres float64, s System) string {
	if s == SI {
		return r.fixed(metres, 2, "m")
	}
	return r.fixed(metres/s.LengthUnit().Metres(), 1, "ft")
}

// Elevation is FormatElevation to a side.
func (r Rounding) Elevation(metres float64, s System) string {
	if s == SI {
		return r.fixed(metres, 3, "m")
	}
	return r.fixed(metres/s.LengthUnit().Metres(), 2, "ft")
}

// Depth is FormatDepth to a side.
func (r Rounding) Depth(metres float64, s System) string {
	if s == SI {
		return r.fixed(metres/metresPerMillimetre, 0, "mm")
	}
	return r.fixed(metres/metresPerInch, 1, "in")
}

// Slope is FormatSlope to a side.
func (r Rounding) Slope(slope float64) string { return r.fixed(slope*100, 2, "%") }

// Flow is FormatFlow to a side.
func (r Rounding) Flow(cubicMetresPerSecond float64, s System) string {
	switch {
	case s == SI:
		return r.figures(cubicMetresPerSecond*litresPerCubicMetre, 2, "L/s")
	case math.Abs(cubicMetresPerSecond) < cubicFootPerSecond:
		return r.figures(cubicMetresPerSecond*secondsPerMinute/gallon, 1, "gpm")
	}
	return r.figures(cubicMetresPerSecond/cubicFoot, 2, "cfs")
}

// Area is FormatArea to a side.
func (r Rounding) Area(squareMetres float64, s System) string {
	switch {
	case s == SI:
		return r.figures(squareMetres, 2, "m2")
	case squareMetres < squareFoot:
		return r.figures(squareMetres/squareInch, 0, "in2")
	}
	return r.figures(squareMetres/squareFoot, 1, "ft2")
}
