package hydraulics

import "math"

// The travel time formulas are empirical in US units; their constants stay as
// printed and these turn SI into the printed units.
const (
	minute = 60.0
	hour   = 3600.0
	foot   = 0.3048 // international foot, EPSG:9002
	inch   = foot / 12
)

// SheetFlowTime returns the travel time of sheet flow, s, over length m of
// ground with sheet-flow roughness n, for the 2-year 24-hour rain depth in m.
// All arguments must be above zero. The formula holds up to 300 ft (TR-55) or
// 100 ft (NEH 630-15); the caller cuts the length.
// Source: USDA NRCS TR-55, 2nd ed., Eq. 3-3.
func SheetFlowTime(roughness, length, rainDepth2y24h, slope float64) float64 {
	mustBePositive(roughness, length, rainDepth2y24h, slope)
	return hour * 0.007 * math.Pow(roughness*length/foot, 0.8) /
		(math.Sqrt(rainDepth2y24h/inch) * math.Pow(slope, 0.4))
}

// Velocity of shallow concentrated flow on slope 1, m/s.
// Source: USDA NRCS TR-55, 2nd ed., Fig. 3-1, 16.1345 and 20.3282 ft/s.
const (
	ShallowUnpaved = 16.1345 * foot
	ShallowPaved   = 20.3282 * foot
)

// ShallowVelocity returns the velocity of shallow concentrated flow, m/s;
// cover is ShallowUnpaved, ShallowPaved or the like.
func ShallowVelocity(cover, slope float64) float64 {
	mustBePositive(cover)
	mustNotBeNegative(slope)
	return cover * math.Sqrt(slope)
}

// TimeOfConc returns the sum of travel times, s, but at least minimum: 5 minutes,
// the shortest duration intensities are tabulated for, are usual.
// Source: WSDOT Hydraulics Manual M 23-03.12; examples of FHWA HEC-22, 4th ed.
func TimeOfConc(minimum float64, travel ...float64) float64 {
	sum := 0.0
	for _, t := range travel {
		mustNotBeNegative(t)
		sum += t
	}
	return max(sum, minimum)
}
