package design

import (
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// Tailwater is how deep water stands outside an outlet in the design storm, m,
// by type of outlet. NaN where none is given: then a curb face has its hole
// drowned to the top, for the gutter runs in the same storm; an emitter its
// lid; a storm inlet one foot below the ground there; a daylight end nothing.
// -Inf is a free outfall.
type Tailwater struct {
	CurbFace   float64 // over the gutter
	GutterFlow bool    // at a curb face the street's own flow tells, whatever CurbFace is
	Emitter    float64 // over the lid
	Daylight   float64 // over the invert
	StormInlet float64 // over the invert
}

// stormInletDrop is how far below its rim, the ground, a storm inlet's water is
// taken to stand, m: one foot. Common practice, no source.
const stormInletDrop = 0.3048

// level returns the elevation of the water outside an outlet whose last pipe
// carries a flow; -Inf where it is free. Water leaves an emitter over its seat
// all round, taken as wide as the pipe that rises to it: a lid is wider, which
// errs on the high side.
func (w Tailwater) level(outlet *network.Node, last *network.Pipe, flow float64) float64 {
	over := func(base, depth, otherwise float64) float64 {
		if constraint.Given(depth) {
			return base + depth
		}
		return otherwise
	}
	switch outlet.OutletType {
	case constraint.CurbFace:
		if w.GutterFlow {
			return outlet.Street // that of the design storm at any share of it
		}
		return over(outlet.Gutter, w.CurbFace, last.InvertDown+last.Size.Inside)
	case constraint.Emitter:
		seat := hydraulics.EmitterTailwater(outlet.Lid, math.Pi*last.Size.Inside, flow)
		return math.Max(seat, over(outlet.Lid, w.Emitter, outlet.Lid))
	case constraint.StormInlet:
		return over(last.InvertDown, w.StormInlet, outlet.Ground-stormInletDrop)
	}
	return over(last.InvertDown, w.Daylight, math.Inf(-1))
}

// Spill is a place where the grade line reaches the open: the rim of an inlet
// or channel drain, or the ground at a downspout, where the leader meets the
// drain and the joint is seldom tight.
type Spill struct {
	Node  string
	Kind  network.NodeKind
	Level float64 // elevation of rim or ground
	Share float64 // of the design storm's flows at which it does; 0: without any
}

// SpillsUpTo is the share of the design storm's flows up to which spills are
// looked for: a 100-year rain is about one and a half times the 10-year one, and
// twice that is beyond any table. From memory.
const SpillsUpTo = 3

// quarterBend is the bend at a downspout's foot and below an emitter's lid.
const quarterBend = math.Pi / 2

// basin tells whether water stands still in what a node is built as, before it
// is set going again.
func basin(k network.NodeKind) bool {
	return k == network.Inlet || k == network.ChannelDrain || k == network.SedimentTrap
}

// pipework is a network as the grade line looks at it: reach k is pipe k.
type pipework struct {
	*network.Network
	water    Tailwater
	arriving [][]int // pipes that end at each node
}

func pipeworkOf(n *network.Network, w Tailwater) *pipework {
	p := &pipework{n, w, make([][]int, len(n.Nodes))}
	for k := range n.Pipes {
		p.arriving[n.Pipes[k].To] = append(p.arriving[n.Pipes[k].To], k)
	}
	return p
}

// reaches returns the pipes with their losses and, at outlets, the water
// outside at the design flow.
func (w *pipework) reaches() []hydraulics.Reach {
	list := make([]hydraulics.Reach, len(w.Pipes))
	for k := range w.Pipes {
		p := &w.Pipes[k]
		from, to := &w.Nodes[p.From], &w.Nodes[p.To]
		list[k] = hydraulics.Reach{
			Next: to.Out, Length: p.Length, Diameter: p.Size.Inside, Roughness: p.Size.Roughness,
			InvertUp: p.InvertUp, InvertDown: p.InvertDown, Flow: p.Flow, AtRest: basin(from.Kind),
			Entry: w.entry(p), Join: w.join(p), Rim: openLevel(from),
		}
		if to.Out < 0 {
			list[k].Tailwater = w.water.level(to, p, p.Flow)
		}
	}
	return list
}

// openLevel is the elevation at which water leaves a node; NaN where closed.
func openLevel(n *network.Node) float64 {
	if n.Kind == network.Downspout {
		return n.Ground
	}
	return n.Rim
}

// entry is the loss coefficient at a pipe's upper end: a square edge from a
// basin, the leader's quarter bend at a downspout that heads a line, and where
// pipe narrows the square edge's by the share of area lost (a sudden
// contraction, from memory; the whole of it is that from a basin, FHWA HDS-5).
func (w *pipework) entry(p *network.Pipe) float64 {
	if basin(w.Nodes[p.From].Kind) {
		return hydraulics.EntrySquareEdge
	}
	before := w.arriving[p.From]
	if len(before) == 0 {
		return hydraulics.BendLoss(quarterBend)
	}
	widest := 0.0
	for _, k := range before {
		widest = math.Max(widest, w.Pipes[k].Size.Inside)
	}
	ratio := p.Size.Inside / widest
	return hydraulics.EntrySquareEdge * math.Max(0, 1-ratio*ratio)
}

// join is the loss coefficient at a pipe's lower end: the bend to the pipe that
// leaves, the branch where others come in, an emitter's elbow. Into a basin and
// out of an outlet the whole velocity head is lost, which the grade line has.
func (w *pipework) join(p *network.Pipe) float64 {
	to := &w.Nodes[p.To]
	switch {
	case to.OutletType == constraint.Emitter:
		return hydraulics.BendLoss(quarterBend)
	case to.Out < 0 || basin(to.Kind):
		return 0
	}
	turn := turnAt(w.Nodes[p.From].At, to.At, w.Nodes[w.Pipes[to.Out].To].At)
	if len(w.arriving[p.To]) > 1 {
		return hydraulics.WyeLoss(turn)
	}
	return hydraulics.BendLoss(turn)
}

// set puts the grade line at every node, freeboard at every open rim. At an
// outlet it is the water outside or, where that is lower, in the pipe's end.
func (w *pipework) set(reaches []hydraulics.Reach, grades []hydraulics.Grade) {
	for i := range w.Nodes {
		v := &w.Nodes[i]
		v.HGL = math.Inf(-1)
		if v.Out >= 0 {
			v.HGL = grades[v.Out].Node
		}
		for _, k := range w.arriving[i] {
			if r := &reaches[k]; r.Next < 0 {
				end := r.Tailwater
				if r.Join == 0 {
					end = math.Max(end, grades[k].Down)
				}
				v.HGL = math.Max(v.HGL, end)
			}
		}
		v.Freeboard = v.Rim - v.HGL
	}
}

// spills lists where water would leave, the place of the least storm first.
func (w *pipework) spills(reaches []hydraulics.Reach) ([]Spill, error) {
	order, err := hydraulics.SpillOrder(reaches, SpillsUpTo, func(k int, share float64) float64 {
		p := &w.Pipes[k]
		return w.water.level(&w.Nodes[p.To], p, share*p.Flow)
	})
	var list []Spill
	for _, s := range order {
		v := &w.Nodes[w.Pipes[s.Reach].From]
		list = append(list, Spill{v.ID, v.Kind, openLevel(v), s.Scale})
	}
	return list, err
}

// draining returns the reaches that drain to an outlet node.
func (w *pipework) draining(reaches []hydraulics.Reach, outlet int) (list []hydraulics.Reach) {
	for k := range w.Pipes {
		end := w.Pipes[k].To
		for w.Nodes[end].Out >= 0 {
			end = w.Pipes[w.Nodes[end].Out].To
		}
		if end == outlet {
			list = append(list, reaches[k])
		}
	}
	return list
}
