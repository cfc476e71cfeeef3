package hydraulics

import "math"

// MinTimeOfConc is the floor of a time of concentration, s: 5 minutes, the
// shortest duration intensities are tabulated for.
// Source: WSDOT Hydraulics Manual M 23-03.12; examples of FHWA HEC-22, 4th ed.
const MinTimeOfConc = 5 * minute

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

// ManningVelocity returns the velocity of open flow of hydraulic radius m.
func ManningVelocity(hydraulicRadius, roughness, slope float64) float64 {
	mustBePositive(hydraulicRadius, roughness)
	mustNotBeNegative(slope)
	return math.Cbrt(square(hydraulicRadius)) * math.Sqrt(slope) / roughness
}

// Retention returns the greatest retention S of a curve number, m, which is
// 1000/CN - 10 inches. Curve numbers run from above 0 to 100.
// Source: USDA NRCS NEH 630.
func Retention(curveNumber float64) float64 {
	mustBePositive(curveNumber)
	mustNotBeNegative(100 - curveNumber)
	return (1000/curveNumber - 10) * inch
}

// LagTimeOfConc returns a time of concentration, s, by the lag method, from
// flow length m, curve number and mean slope of the land.
// Source: USDA NRCS NEH 630, chapter 15 (May 2010), Eq. 15-4b.
func LagTimeOfConc(length, curveNumber, slope float64) float64 {
	mustBePositive(length, slope)
	retention := Retention(curveNumber) / inch
	return hour * math.Pow(length/foot, 0.8) * math.Pow(retention+1, 0.7) / (1140 * math.Sqrt(slope*100))
}

// ChannelFallTimeOfConc returns a time of concentration, s, of a steep basin
// from the length of its channel and the fall along it, both m:
// 57 (L^3/H)^0.385 minutes with L in km.
// Source: road drainage course notes (Brazil), page 29; far above a yard's scale.
func ChannelFallTimeOfConc(length, fall float64) float64 {
	mustBePositive(length, fall)
	const km = 1000.0
	l := length / km
	return minute * 57 * math.Pow(l*l*l/fall, 0.385)
}

// TimeOfConc returns the sum of travel times, s, but at least minimum.
func TimeOfConc(minimum float64, travel ...float64) float64 {
	sum := 0.0
	for _, t := range travel {
		mustNotBeNegative(t)
		sum += t
	}
	return max(sum, minimum)
}
