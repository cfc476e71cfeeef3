package lawcheck

import "math"

// flowing compares the printed depth and velocity of a pipe's design flow, L/s,
// with Manning's in a part-full circle: theta = 2 acos(1 - 2 y/D),
// A = D^2 (theta - sin theta)/8, R = A/(D theta/2). A pipe asked for more than
// it carries flows full.
func (c *checker) flowing(p *pipe, full float64) {
	ratio, velocity, flow := p.number["depth_ratio"], p.number["velocity_mps"], p.number["design_flow_lps"]
	d := p.inside()
	area := math.Pi * d * d / 4
	wrong := func(value, want float64, says string) {
		c.report(Printed, p.id, c.foot(p), value, want, "%s", says)
	}
	switch {
	case math.IsNaN(ratio) || math.IsNaN(velocity):
		c.report(Form, p.id, c.foot(p), ratio, math.NaN(), "depth_ratio and velocity_mps are null, and it carries water")
	case flow > full*(1+rateTolerance) || ratio == 1:
		if ratio != 1 || flow < full*(1-rateTolerance) {
			wrong(ratio, 1, "depth_ratio is 1 where a pipe flows full, and there alone")
		}
		if want := flow / litresPerCubicMetre / area; !(math.Abs(velocity-want) <= rateTolerance*want) {
			wrong(velocity, want, "velocity_mps is not the flow over the full area")
		}
	default:
		share, wet := partFull(ratio)
		if !(math.Abs(share*full-flow) <= rateTolerance*full) {
			wrong(share*full/litresPerCubicMetre, flow/litresPerCubicMetre, "at depth_ratio Manning's flow is not the design flow")
		}
		if want := velocityOf(flow, wet*area); !(math.Abs(velocity-want) <= rateTolerance*math.Max(1, want)) {
			wrong(velocity, want, "velocity_mps is not the flow over the wet area")
		}
	}
}

func velocityOf(flow, area float64) float64 {
	if flow == 0 {
		return 0
	}
	return flow / litresPerCubicMetre / area
}

// partFull returns flow and wet area at a depth ratio, as shares of the full
// pipe's.
func partFull(ratio float64) (flow, area float64) {
	theta := 2 * math.Acos(1-2*ratio)
	if !(theta > 0) {
		return 0, 0
	}
	area = (theta - math.Sin(theta)) / (2 * math.Pi)
	radius := 1 - math.Sin(theta)/theta
	return area * math.Pow(radius, 2.0/3), area
}
