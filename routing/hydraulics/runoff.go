package hydraulics

// RationalFlow returns the peak flow C i A, m3/s, of rain of intensity m/s on an
// area of m2. In SI the rational method has no constant.
// Source: FHWA HEC-22, 3rd ed., section 3.2.2.
func RationalFlow(runoffCoeff, intensity, area float64) float64 {
	mustNotBeNegative(runoffCoeff, intensity, area)
	return runoffCoeff * intensity * area
}

// Surface is a part of a catchment that sheds water alike.
type Surface struct {
	Area        float64 // m2
	RunoffCoeff float64 // share of rain that runs off, 0-1
}

// WeightedCoeff returns the runoff coefficient of all surfaces together,
// sum(C A) / sum(A), and 0 for no area.
// Source: FHWA HEC-22; TxDOT Hydraulic Design Manual.
func WeightedCoeff(surfaces []Surface) float64 {
	area, shed := 0.0, 0.0
	for _, s := range surfaces {
		mustNotBeNegative(s.Area, s.RunoffCoeff)
		area += s.Area
		shed += s.Area * s.RunoffCoeff
	}
	if area == 0 {
		return 0
	}
	return shed / area
}

// StormCoeff returns a runoff coefficient raised by the frequency factor of a
// rare storm (1.0 at 10 years, 1.25 at 100), never above 1: no more runs off
// than falls. Source: TxDOT Hydraulic Design Manual, ch. 4 s. 12.
func StormCoeff(runoffCoeff, frequencyFactor float64) float64 {
	mustNotBeNegative(runoffCoeff, frequencyFactor)
	return min(1, runoffCoeff*frequencyFactor)
}
