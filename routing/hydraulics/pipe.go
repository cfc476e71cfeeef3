package hydraulics

import "math"

// Gravity is the standard acceleration of free fall, m/s2, exact by convention
// (3rd CGPM, 1901).
const Gravity = 9.80665

// fullArea and fullRadius are A and R of a full circle over D^2 and D. With
// them V = R^(2/3) S^(1/2) / n gives the constants printed in handbooks for SI:
// 0.397 for velocity, 0.312 for flow.
const (
	fullArea   = math.Pi / 4
	fullRadius = 0.25
)

// ManningVelocity returns the velocity of open flow of hydraulic radius m.
func ManningVelocity(hydraulicRadius, roughness, slope float64) float64 {
	mustBePositive(hydraulicRadius, roughness)
	mustNotBeNegative(slope)
	return math.Cbrt(square(hydraulicRadius)) * math.Sqrt(slope) / roughness
}

// FullVelocity returns the velocity of a full pipe, m/s: Manning's
// V = R^(2/3) S^(1/2) / n with R = D/4.
// Source: FHWA HDS-4, k = 1.0 in SI.
func FullVelocity(diameter, roughness, slope float64) float64 {
	return ManningVelocity(fullRadius*diameter, roughness, slope)
}

// FullCapacity returns the flow of a full pipe, m3/s, by inside diameter.
func FullCapacity(diameter, roughness, slope float64) float64 {
	return fullArea * square(diameter) * FullVelocity(diameter, roughness, slope)
}

// SlopeForFlow returns the slope at which a pipe's full capacity is flow: the
// least slope to lay it at, and the friction slope when it runs full.
func SlopeForFlow(flow, diameter, roughness float64) float64 {
	mustBePositive(diameter, roughness)
	mustNotBeNegative(flow)
	return square(flow / FullCapacity(diameter, roughness, 1))
}

// SlopeForVelocity returns the slope at which a full pipe reaches velocity.
func SlopeForVelocity(velocity, diameter, roughness float64) float64 {
	mustBePositive(diameter, roughness)
	mustNotBeNegative(velocity)
	return square(velocity / FullVelocity(diameter, roughness, 1))
}

// SizeForFlow returns the least inside diameter whose full capacity is flow.
// Slope must be above zero.
func SizeForFlow(flow, roughness, slope float64) float64 {
	mustBePositive(roughness, slope)
	mustNotBeNegative(flow)
	// Capacity grows with D^(8/3), so one metre tells every diameter.
	return math.Pow(flow/FullCapacity(1, roughness, slope), 3.0/8)
}

// Segment is the wetted part of a circular pipe.
type Segment struct {
	Area            float64 // of the water, m2
	WettedPerimeter float64 // m
	HydraulicRadius float64 // Area over WettedPerimeter, m
	TopWidth        float64 // of the water surface, m
}

// SegmentAt returns the geometry of water standing depth deep in a pipe; a
// depth above the diameter counts as full.
func SegmentAt(diameter, depth float64) Segment {
	mustBePositive(diameter)
	mustNotBeNegative(depth)
	return segment(diameter, min(depth/diameter, 1))
}

// segment takes the depth ratio. The angle at the centre is
// theta = 2 acos(1 - 2 ratio), written as 4 asin(sqrt ratio), which keeps its
// digits in a nearly empty pipe.
func segment(diameter, ratio float64) Segment {
	if ratio == 0 {
		return Segment{}
	}
	theta := 4 * math.Asin(math.Sqrt(ratio))
	s := Segment{
		Area:            square(diameter) * (theta - math.Sin(theta)) / 8,
		WettedPerimeter: diameter * theta / 2,
		// 2 sqrt(r (1-r)) is sin(theta/2), and exactly 0 when full.
		TopWidth: diameter * 2 * math.Sqrt(ratio*(1-ratio)),
	}
	s.HydraulicRadius = s.Area / s.WettedPerimeter
	return s
}

// FlowAtDepth returns flow and velocity of uniform flow of a given depth.
func FlowAtDepth(diameter, roughness, slope, depth float64) (flow, velocity float64) {
	mustBePositive(roughness)
	mustNotBeNegative(slope)
	s := SegmentAt(diameter, depth)
	if s.Area == 0 {
		return 0, 0
	}
	velocity = ManningVelocity(s.HydraulicRadius, roughness, slope)
	return velocity * s.Area, velocity
}

// FrictionSlope returns the slope of the energy line of flow at a given depth:
// the slope on which that depth would be the normal one. Depth must be above 0.
func FrictionSlope(flow, diameter, roughness, depth float64) float64 {
	mustBePositive(depth)
	mustNotBeNegative(flow)
	return SegmentAt(diameter, depth).frictionSlope(flow, roughness)
}

func (s Segment) frictionSlope(flow, roughness float64) float64 {
	return square(flow / (s.Area * ManningVelocity(s.HydraulicRadius, roughness, 1)))
}

// Partial is the uniform flow in a pipe.
type Partial struct {
	Depth      float64 // normal depth, m; the diameter when the pipe flows full
	DepthRatio float64 // depth over inside diameter, 0 to 1
	Velocity   float64 // m/s; flow over the full area when the pipe flows full
	FlowsFull  bool    // the flow exceeds the full capacity: the slope does not carry it
}

// fullDepthRatio is above the ratio, about 0.8196, at which the rising branch
// reaches full capacity, and below the peak at 0.938 where it turns.
const fullDepthRatio = 0.83

// NormalDepth returns the uniform flow of a flow in a pipe on a slope. No flow
// gives depth and velocity 0.
func NormalDepth(flow, diameter, roughness, slope float64) Partial {
	mustNotBeNegative(flow)
	capacity := FullCapacity(diameter, roughness, slope)
	switch {
	case flow == 0:
		return Partial{}
	case flow > capacity:
		return Partial{Depth: diameter, DepthRatio: 1, Velocity: flow / (fullArea * square(diameter)), FlowsFull: true}
	}
	ratio := bisect(fullDepthRatio, func(ratio float64) bool {
		q, _ := FlowAtDepth(diameter, roughness, slope, ratio*diameter)
		return q >= flow
	})
	_, velocity := FlowAtDepth(diameter, roughness, slope, ratio*diameter)
	return Partial{Depth: ratio * diameter, DepthRatio: ratio, Velocity: velocity}
}

// CriticalDepth returns the depth at which flow has the least energy,
// Q^2 T = g A^3. It nears the diameter and never reaches it.
func CriticalDepth(flow, diameter float64) float64 {
	mustBePositive(diameter)
	mustNotBeNegative(flow)
	if flow == 0 {
		return 0
	}
	// A^3/T rises with depth throughout: one root.
	ratio := bisect(1, func(ratio float64) bool {
		s := segment(diameter, ratio)
		return Gravity*s.Area*s.Area*s.Area >= square(flow)*s.TopWidth
	})
	return ratio * diameter
}

// bisect returns the least number in (0, hi] for which reached holds, to the
// last bit; reached must be false below some number and true from there on.
func bisect(hi float64, reached func(float64) bool) float64 {
	for lo := 0.0; ; {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return hi
		}
		if reached(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
}

func square(x float64) float64 { return x * x }

func mustBePositive(values ...float64) {
	for _, v := range values {
		if !(v > 0) {
			panic("hydraulics: argument must be above zero")
		}
	}
}

func mustNotBeNegative(values ...float64) {
	for _, v := range values {
		if !(v >= 0) {
			panic("hydraulics: argument must not be negative")
		}
	}
}
