package hydraulics

import (
	"fmt"
	"math"
)

// Reach is one straight pipe of a tree. Its upper node is its own; its lower
// end lies at the upper node of the next reach or at an outlet. Elevations and
// lengths are metres, flows m3/s.
type Reach struct {
	Next       int // the reach it drains to, -1 at an outlet
	Length     float64
	Diameter   float64 // inside
	Roughness  float64 // Manning n
	InvertUp   float64
	InvertDown float64
	Flow       float64
	// Tailwater is the elevation of the water outside an outlet; -Inf for a free
	// one. Only where Next is -1.
	Tailwater float64
	// Entry is the loss coefficient at the upper end and Join the one at the lower
	// end (a bend, the wye it comes in by, an emitter's elbow), both on the
	// reach's own velocity head. The head an outlet throws away is not in Join,
	// and a free outlet has no Join.
	Entry, Join float64
	// AtRest says that water stands still at the upper node (a basin, a riser)
	// and has to be set going; so it has at the head of a line.
	AtRest bool
	Rim    float64 // elevation at which water leaves the upper node; NaN where closed
}

// Regime says how a reach flows.
type Regime string

// The regimes.
const (
	FreeSurface Regime = "free surface"
	PartlyFull  Regime = "partly full" // full over some of its length
	Pressurised Regime = "pressurised" // full over all of it
)

// Grade is the grade line of one reach: elevations of the water in a pipe that
// is not full, of the pressure in one that is.
type Grade struct {
	Down, Up     float64 // at the ends, within the pipe
	Node         float64 // at the upper node
	VelocityDown float64 // m/s at the ends
	VelocityUp   float64
	Regime       Regime
	Freeboard    float64 // Rim less Node; NaN where there is no rim
}

// Slowest is the lower velocity of a reach's ends, m/s: where an emitter or a
// high street backs the water up, it is below that of uniform flow.
func (g *Grade) Slowest() float64 { return math.Min(g.VelocityDown, g.VelocityUp) }

// ReachError reports a reach that cannot be one.
type ReachError struct {
	Reach int
	Says  string
}

func (e *ReachError) Error() string { return fmt.Sprintf("reach %d: %s", e.Reach, e.Says) }

// GradeLine returns the grade line of a tree of reaches, in their order, worked
// from the outlets up.
//
//	rim _____                        AtRest: V^2/2g (1 + Entry) below the node
//	   |     |.......__________        grade line
//	   | box |________         ""--..__________ tailwater
//	   |_____|________  pipe, pressurised below, free surface above
//
// At an outlet the water starts at the tailwater or, where that is lower, at
// critical depth (uniform depth on a steep slope). Up a reach the energy
// equation is stepped, by Manning's friction, wherever flow is deeper than
// critical; where it cannot be, the slope is steep and the depth critical: the
// upper end is never below critical depth. Where water shoots into a pool the
// momentum it brings is not counted, which errs on the high side. Between
// capacityRatio and full a pipe is given its full conveyance, so that it is full
// exactly where uniform flow is (see NormalDepth).
//
// At a node all that arrives meets one level: what leaves, with its entry loss,
// and the velocity head it has beyond the mean of what arrives. Velocity head
// lost is not recovered. Each arriving reach has its own join loss above that.
//
// Source: FHWA HEC-22 for the order of work and HDS-5 Eq. 3.4c for the outlet,
// whose whole velocity head is lost: the line ends at the tailwater.
//
// The error is a *ReachError: an index, a ring, a number that is none, or a
// pipe that rises downstream.
func GradeLine(reaches []Reach) ([]Grade, error) {
	t, err := treeOf(reaches)
	if err != nil {
		return nil, err
	}
	return t.gradeLine(reaches), nil
}

// tree is how reaches hang together.
type tree struct {
	order  []int   // each reach after the one it drains to
	arrive [][]int // the reaches that end at a reach's upper node
}

func (t *tree) gradeLine(reaches []Reach) []Grade {
	grades := make([]Grade, len(reaches))
	meets := make([]float64, len(reaches)) // level that those arriving at an upper node meet
	for _, k := range t.order {
		r := &reaches[k]
		below := r.Tailwater
		if r.Next >= 0 {
			below = meets[r.Next]
		}
		below += r.Join * velocityHead(r.velocityAt(below))
		g := r.up(below)
		head := velocityHead(g.VelocityUp)
		g.Node = g.Up + r.Entry*head
		meets[k] = g.Node
		if r.AtRest || len(t.arrive[k]) == 0 {
			g.Node += head
			meets[k] = g.Node
		} else {
			meets[k] += math.Max(0, head-t.headBrought(reaches, k, g.Node))
		}
		g.Freeboard = r.Rim - g.Node
		grades[k] = g
	}
	return grades
}

// headBrought is the velocity head of what arrives at the upper node of a reach
// with a level there, the mean by flow; what enters at the node itself has none.
func (t *tree) headBrought(reaches []Reach, k int, level float64) float64 {
	sum, flow := 0.0, 0.0
	for _, a := range t.arrive[k] {
		r := &reaches[a]
		sum += r.Flow * velocityHead(r.velocityAt(level))
		flow += r.Flow
	}
	if flow = math.Max(flow, reaches[k].Flow); flow == 0 {
		return 0
	}
	return sum / flow
}

// velocityAt is the velocity at the lower end with the level there, at most that
// of the depth at which the reach ends freely.
func (r *Reach) velocityAt(level float64) float64 {
	if r.Flow == 0 {
		return 0
	}
	return r.Flow / SegmentAt(r.Diameter, r.endDepth(level)).Area
}

// endDepth is the depth at the lower end with the level there.
func (r *Reach) endDepth(level float64) float64 {
	depth := level - r.InvertDown
	if depth >= r.Diameter {
		return depth
	}
	return math.Max(depth, r.freeDepth())
}

// freeDepth is the depth at which the reach ends where nothing holds it: the
// critical one, or the uniform one where that is less.
func (r *Reach) freeDepth() float64 {
	return math.Min(CriticalDepth(r.Flow, r.Diameter), NormalDepth(r.Flow, r.Diameter, r.Roughness, r.slope()).Depth)
}

func (r *Reach) slope() float64 { return (r.InvertUp - r.InvertDown) / r.Length }

// treeOf orders reaches from the outlets up, each judged.
func treeOf(reaches []Reach) (*tree, error) {
	t := &tree{arrive: make([][]int, len(reaches))}
	for k := range reaches {
		r := &reaches[k]
		if says := r.fault(len(reaches)); says != "" {
			return nil, &ReachError{k, says}
		}
		if r.Next < 0 {
			t.order = append(t.order, k)
		} else {
			t.arrive[r.Next] = append(t.arrive[r.Next], k)
		}
	}
	for i := 0; i < len(t.order); i++ {
		t.order = append(t.order, t.arrive[t.order[i]]...)
	}
	seen := make([]bool, len(reaches))
	for _, k := range t.order {
		seen[k] = true
	}
	for k := range seen {
		if !seen[k] {
			return nil, &ReachError{k, "drains into a ring, to no outlet"}
		}
	}
	return t, nil
}

// fault says what is wrong with a reach, or "".
func (r *Reach) fault(count int) string {
	bad := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	switch {
	case r.Next < -1 || r.Next >= count:
		return fmt.Sprintf("drains to reach %d, which is not there", r.Next)
	case !(r.Length > 0) || !(r.Diameter > 0) || !(r.Roughness > 0) || bad(r.Length) || bad(r.Diameter) || bad(r.Roughness):
		return fmt.Sprintf("length, diameter and roughness must be above zero, got %g m, %g m and %g", r.Length, r.Diameter, r.Roughness)
	case !(r.Flow >= 0) || !(r.Entry >= 0) || !(r.Join >= 0) || bad(r.Flow) || bad(r.Entry) || bad(r.Join):
		return fmt.Sprintf("flow and losses must not be negative, got %g m3/s, %g and %g", r.Flow, r.Entry, r.Join)
	case !(r.InvertUp >= r.InvertDown) || bad(r.InvertUp) || bad(r.InvertDown):
		return fmt.Sprintf("invert %g m at its upper end, %g m at its lower: a drain falls", r.InvertUp, r.InvertDown)
	case r.Next < 0 && (math.IsNaN(r.Tailwater) || math.IsInf(r.Tailwater, 1)):
		return fmt.Sprintf("tailwater %g m at its outlet; -Inf where it is free", r.Tailwater)
	}
	return ""
}
