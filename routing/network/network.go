// Package network holds a drainage system as it will be built: nodes and the
// straight-graded pipes between them, one tree to each outlet.
//
//	downspout o--lateral--o wye --main-- o reducer --outlet pipe--> o outlet
//	area drain o--lateral--/
package network

import (
	"math"
	"slices"
	"strconv"
	"strings"

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

// Turn is the largest change of direction at node v of a pipe that comes in, in
// radians; 0 where none comes in or none goes on.
func (n *Network) Turn(v int) (most float64) {
	out := n.Nodes[v].Out
	if out < 0 {
		return 0
	}
	direction := func(p *Pipe) (x, y float64) {
		a, b := n.Nodes[p.From].At, n.Nodes[p.To].At
		return b[0] - a[0], b[1] - a[1]
	}
	u, w := direction(&n.Pipes[out])
	for k := range n.Pipes {
		if n.Pipes[k].To == v {
			x, y := direction(&n.Pipes[k])
			most = math.Max(most, math.Abs(math.Atan2(x*w-y*u, x*u+y*w)))
		}
	}
	return most
}

// turnTold is the least turn worth telling, radians: a joint gives as much.
// Common practice, no source.
const turnTold = math.Pi / 180

// Fitting names what is built at node v, with the degrees it turns water where a
// bend or a wye does, and that it narrows the pipe where it does: "wye 45",
// "cleanout bend 22.5", "wye 45 and reducer".
func (n *Network) Fitting(v int) string {
	words := strings.ReplaceAll(string(n.Nodes[v].Kind), "_", " ")
	if turn := n.Turn(v); turn >= turnTold && !n.Nodes[v].Kind.Inflow() && n.Nodes[v].Kind != SedimentTrap {
		if k := n.Nodes[v].Kind; k != Bend && k != Wye {
			words += " bend"
		}
		words += " " + strconv.FormatFloat(math.Round(turn*1800/math.Pi)/10, 'f', -1, 64)
	}
	if n.narrows(v) && n.Nodes[v].Kind != Reducer {
		words += " and reducer"
	}
	return words
}

// narrows tells whether a pipe into node v is of a larger size than the one out.
func (n *Network) narrows(v int) bool {
	out := n.Nodes[v].Out
	return out >= 0 && slices.ContainsFunc(n.Pipes, func(p Pipe) bool { return p.To == v && p.Size.Diameter > n.Pipes[out].Size.Diameter })
}

// PlanLength is the total plan length of all pipes, m.
func (n *Network) PlanLength() float64 {
	total := 0.0
	for k := range n.Pipes {
		total += n.Pipes[k].Length
	}
	return total
}
