package hydraulics

// RationalFlow returns the peak flow C i A, m3/s, of rain of intensity m/s on an
// area of m2. In SI the rational method has no constant.
// Source: FHWA HEC-22, 3rd ed., section 3.2.2.
func RationalFlow(runoffCoeff, intensity, area float64) float64 {
	mustNotBeNegative(runoffCoeff, intensity, area)
	return runoffCoeff * intensity * area
}

// Catchment is what drains to a place.
type Catchment struct {
	Area     float64 // m2
	Weighted float64 // the same times its runoff coefficients, m2
}

// Add adds a part of it that sheds water alike: an area, m2, with its runoff
// coefficient, the share of rain that runs off.
func (c *Catchment) Add(area, coeff float64) {
	mustNotBeNegative(area, coeff)
	c.Area += area
	c.Weighted += area * coeff
}

// Coeff returns the runoff coefficient of the whole, sum(C A) / sum(A), and 0 for
// no area. Source: FHWA HEC-22; TxDOT Hydraulic Design Manual.
func (c Catchment) Coeff() float64 {
	if c.Area == 0 {
		return 0
	}
	return c.Weighted / c.Area
}

// StormCoeff returns a runoff coefficient raised by the frequency factor of a
// rare storm (1.0 at 10 years, 1.25 at 100), never above 1: no more runs off
// than falls. Source: ASCE/WEF practice, as drainage manuals quote it.
func StormCoeff(runoffCoeff, frequencyFactor float64) float64 {
	mustNotBeNegative(runoffCoeff, frequencyFactor)
	return min(1, runoffCoeff*frequencyFactor)
}

// Arrival is what one catchment brings to a place in the pipes.
type Arrival struct {
	Weighted float64 // its area times its runoff coefficients, m2
	Time     float64 // that its farthest drop takes to the place, s
}

// PeakFlow returns the greatest flow that arrives, m3/s, and the duration of the
// rain that brings it, s; intensity, m/s, is that of the rain over a duration.
// It is sum(C A) i at the longest of the times, when all catchments contribute
// whole, unless a harder, shorter rain brings more from those that are quick: in
// it a slow catchment contributes by the share of its time that the rain lasts.
// Of equal flows the longer rain. Nothing arriving is 0 and 0.
// Source: FHWA HEC-22, 3rd ed., section 3.2.2; the share of the slow area from
// memory of its chapter on storm drains.
func PeakFlow(arrivals []Arrival, intensity func(duration float64) float64) (flow, duration float64) {
	for _, a := range arrivals {
		mustNotBeNegative(a.Weighted, a.Time)
		shed := 0.0
		for _, b := range arrivals {
			share := 1.0
			if b.Time > a.Time {
				share = a.Time / b.Time
			}
			shed += share * b.Weighted
		}
		q := RationalFlow(1, intensity(a.Time), shed)
		if q > flow || q == flow && a.Time > duration {
			flow, duration = q, a.Time
		}
	}
	return flow, duration
}
