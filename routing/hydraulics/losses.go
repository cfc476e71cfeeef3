package hydraulics

import "math"

// Losses at the upper end of a pipe, on its own velocity head.
// Source: FHWA HDS-5, 3rd ed. (2012), Table C.2; the projecting end from memory.
const (
	EntrySquareEdge = 0.5 // flush with a wall
	EntrySocket     = 0.2 // socket end
	EntryProjecting = 0.9 // thin pipe standing into a box
)

// bendPerRadian is the loss of a gradual bend on its velocity head, 0.0033 a
// degree. Source: FHWA HEC-22, 4th ed., Eq. 9.6.
const bendPerRadian = 0.0033 * 180 / math.Pi

// BendLoss returns the loss coefficient of a bend by an angle in radians.
func BendLoss(angle float64) float64 {
	mustNotBeNegative(angle)
	return bendPerRadian * angle
}

// deflection is the loss of a flow that joins another at an angle, on its own
// velocity head, every 15 degrees from 0 on.
// Source: AASHTO Model Drainage Manual (1991), pages 13.54 and 13.55; 0 at 0.
var deflection = []float64{0, 0.19, 0.35, 0.47, 0.56, 0.64, 0.70}

// WyeLoss returns the loss coefficient of a branch that joins at an angle in
// radians, 0 to 90 degrees; above, that of 90. Between the published angles it
// is straight.
func WyeLoss(angle float64) float64 {
	mustNotBeNegative(angle)
	x := angle * 12 / math.Pi
	k := int(x)
	if k >= len(deflection)-1 {
		return deflection[len(deflection)-1]
	}
	return deflection[k] + (x-float64(k))*(deflection[k+1]-deflection[k])
}

// velocityHead is V^2 / 2g.
func velocityHead(velocity float64) float64 { return square(velocity) / (2 * Gravity) }
