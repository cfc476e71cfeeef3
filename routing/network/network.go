// Package network holds a drainage system as it will be built: nodes and the
// straight-graded pipes between them, one tree to each outlet.
//
//	downspout o--lateral--o wye --main-- o reducer --outlet pipe--> o outlet
//	area drain o--lateral--/
package network

import (
	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// NodeKind says what stands at a node.
type NodeKind string

// The kinds of node.
const (
	Downspout    NodeKind = "downspout"
	Inlet        NodeKind = "inlet"
	ChannelDrain NodeKind = "channel_drain"
	Bend         NodeKind = "bend"
	Wye          NodeKind = "wye"
	Cleanout     NodeKind = "cleanout"
	SedimentTrap NodeKind = "sediment_trap"
	Reducer      NodeKind = "reducer" // pipe size or family changes
	GradeBreak   NodeKind = "grade_break"
	OutletNode   NodeKind = "outlet"
)

// Inflow tells whether water enters at a node of this kind.
func (k NodeKind) Inflow() bool { return k == Downspout || k == Inlet || k == ChannelDrain }

// Role is a pipe's part in the system.
type Role string

// The roles of a pipe: a lateral carries one inflow, a main several, and the
// outlet pipe is the last one.
const (
	Lateral    Role = "lateral"
	Main       Role = "main"
	OutletPipe Role = "outlet"
)

// Node is an end of a pipe. Elevations and lengths are metres; a number that
// does not apply is NaN.
type Node struct {
	ID          string
	Kind        NodeKind
	At          orb.Point
	Ground      float64 // elevation
	Rim         float64 // elevation, open inlets alone
	Invert      float64 // of the outgoing pipe; of the incoming one at an outlet
	InvertDepth float64 // ground to invert
	Station     float64 // plan distance to the outlet along the pipes
	Roof        string  // of a downspout
	Inflow      float64 // design flow entering here, m3/s
	OutletType  constraint.OutletType
	Gutter      float64 // elevation, curb outlets alone
	Street      float64 // level of the street's water in the design storm, elevation, where the gutter's flow is worked out
	Lid         float64 // elevation, emitters alone
	HGL         float64 // of the grade line in the design storm, elevation; the water's level where the pipe is not full
	Freeboard   float64 // Rim less HGL, open inlets alone; negative where water comes out
	Assumed     bool    // an inflow we proposed
	Out         int     // index of the outgoing pipe, -1 at an outlet
}

// Pipe is one straight-graded run between two nodes, drawn downstream.
type Pipe struct {
	ID           string
	Role         Role
	From, To     int // node indices
	Length       float64
	Size         constraint.Size
	InvertUp     float64
	InvertDown   float64
	CoverMin     float64 // least ground to outside top
	DepthMax     float64 // greatest ground to invert
	Flow         float64 // design flow, m3/s
	RainDuration float64 // of the rain that brings it, s
	Capacity     float64 // flowing full, m3/s
	DepthRatio   float64 // depth of flow over inside diameter at design flow; 1 where it flows full
	Velocity     float64 // at design flow, m/s
}

// Fall is the drop of the invert along the pipe, m.
func (p *Pipe) Fall() float64 { return p.InvertUp - p.InvertDown }

// Slope is fall over plan length.
func (p *Pipe) Slope() float64 { return p.Fall() / p.Length }

// Network is the system: every node but an outlet has one outgoing pipe.
type Network struct {
	Nodes []Node
	Pipes []Pipe
}

// PlanLength is the total plan length of all pipes, m.
func (n *Network) PlanLength() float64 {
	total := 0.0
	for k := range n.Pipes {
		total += n.Pipes[k].Length
	}
	return total
}
