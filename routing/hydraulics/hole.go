package hydraulics

import "math"

// HoleControl says what limits the flow through a curb hole.
type HoleControl string

// The controls.
const (
	EntranceControl HoleControl = "entrance" // the reducer lets no more in, as an orifice or at critical depth
	PipeControl     HoleControl = "pipe"     // friction and tailwater let no more out
)

// HoleCapacity returns the flow that the last pipe, narrower than the main it
// ends, carries through the curb with water at rest before its reducer no higher
// than headwater, an elevation: the crown of the main to keep the main a free
// channel, or the lowest rim. The smaller holds of what the pipe carries against
// its tailwater by the energy equation (GradeLine), its entry loss and whole
// velocity head from rest, and what its mouth lets in as an orifice under the
// head over its centre, with the coefficient of a grate's opening: no source was
// read for a reducer, a sharp edge errs on the low side. hole.Flow is not read;
// 0 where no water runs.
func HoleCapacity(hole Reach, headwater float64) (flow float64, control HoleControl) {
	mustBePositive(hole.Length, hole.Diameter, hole.Roughness)
	mustNotBeNegative(hole.InvertUp-hole.InvertDown, hole.Entry, hole.Join)
	// Below the crown the entry at critical depth holds, which the pipe has.
	over := math.Max(headwater, hole.InvertUp+hole.Diameter) - (hole.InvertUp + hole.Diameter/2)
	mouth := OrificeFlow(OrificeCoeff, fullArea*square(hole.Diameter), over)
	hole.Next, hole.AtRest = -1, true
	alone := tree{order: []int{0}, arrive: make([][]int, 1)}
	line := func(q float64) Grade {
		hole.Flow = q
		return alone.gradeLine([]Reach{hole})[0]
	}
	rises := func(q float64) bool { return line(q).Node > headwater }
	if !rises(mouth) {
		return mouth, EntranceControl
	}
	lo, hi := 0.0, mouth
	for hi-lo > holeSlack*mouth {
		if mid := (lo + hi) / 2; rises(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	if line(lo).Up <= hole.InvertUp+CriticalDepth(lo, hole.Diameter)+depthSlack {
		return lo, EntranceControl
	}
	return lo, PipeControl
}

// holeSlack is how exactly a hole's flow is found, relative to what its mouth
// lets in: far finer than any coefficient here.
const holeSlack = 1e-6

// OutletsNeeded returns how many outlets of a capacity a flow takes, at least 1.
// A flow over a whole number by rounding alone asks for no more.
func OutletsNeeded(flow, capacity float64) int {
	mustBePositive(capacity)
	mustNotBeNegative(flow)
	return max(1, int(math.Ceil(flow/capacity*(1-holeSlack))))
}
