package hydraulics

import "math"

// FlowLimits are what uniform flow in a pipe must keep to. SlopeMax and
// VelocityMax are +Inf where nothing limits them.
type FlowLimits struct {
	SlopeMin, SlopeMax       float64 // of the pipe, fall over length
	FillingMax               float64 // depth over inside diameter, above 0 to 1
	VelocityMin, VelocityMax float64 // m/s, at the flow given
}

// SlopeRange returns the least and the greatest slope at which a flow keeps the
// limits; ok is false where no slope does. For one flow, filling falls and
// velocity rises with slope, so what is between the two keeps them as well. No
// flow has no velocity: only the slope limits hold.
//
// A filling limit at which uniform flow already exceeds the full capacity
// (above 0.82) is kept where the full capacity is not exceeded, as NormalDepth
// has it.
func SlopeRange(flow, diameter, roughness float64, l FlowLimits) (least, most float64, ok bool) {
	mustBePositive(diameter, roughness, l.FillingMax)
	mustNotBeNegative(flow, l.SlopeMin, l.SlopeMax, 1-l.FillingMax, l.VelocityMin, l.VelocityMax)
	least, most = l.SlopeMin, l.SlopeMax
	if flow == 0 {
		return least, most, least <= most
	}
	// deepest is the depth of the flow on the least slope it may have.
	deepest := diameter * math.Min(l.FillingMax, capacityRatio)
	if l.FillingMax < capacityRatio {
		least = math.Max(least, FrictionSlope(flow, diameter, roughness, deepest))
	} else {
		least = math.Max(least, SlopeForFlow(flow, diameter, roughness))
	}
	wettest := SegmentAt(diameter, deepest).Area
	if area := flow / l.VelocityMin; area < wettest {
		least = math.Max(least, FrictionSlope(flow, diameter, roughness, depthOfArea(diameter, area)))
	}
	area := flow / l.VelocityMax // 0 where nothing limits the velocity
	if area > wettest {
		return least, most, false
	}
	if area > 0 {
		most = math.Min(most, FrictionSlope(flow, diameter, roughness, depthOfArea(diameter, area)))
	}
	return least, most, least <= most
}

// capacityRatio is the depth ratio, about 0.8196, at which uniform flow first is
// the full capacity; it is the same for every round pipe.
var capacityRatio = bisect(fullDepthRatio, func(ratio float64) bool {
	q, _ := FlowAtDepth(1, 1, 1, ratio)
	return q >= FullCapacity(1, 1, 1)
})

// depthOfArea returns the depth at which the wetted area is area; below the
// full area.
func depthOfArea(diameter, area float64) float64 {
	return diameter * bisect(1, func(ratio float64) bool { return segment(diameter, ratio).Area >= area })
}
