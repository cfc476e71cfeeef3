package design

import (
	"fmt"
	"math"
	"slices"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
	"curbfall/routing/profile"

	"github.com/paulmach/orb"
)

// layer turns a plan tree into pipes: sizes, grades, nodes.
type layer struct {
	*job
	t       tree
	first   int                    // smallest bore for a main
	larger  int                    // sizes each pipe is larger than its flow asks for
	come    [][]hydraulics.Arrival // to the head of each chain; nil: as if at once
	chains  []chain
	offers  [][]*profile.Chain // by chain and bore: what the law admits; nil where none lies
	over    []float64          // by outlet: flow its pipes need not carry, m3/s
	at      []profile.Chain    // by chain: the offer taken
	runs    [][]profile.Run
	lengths [][]float64 // station of each vertex along its chain
	net     network.Network
	node    []int // network node of each tree vertex, -1 before it is made

	opened     [][]opening        // by chain, between vertices
	openVertex []network.NodeKind // by vertex: the opening there, "" where none
}

// breakStep is the spacing of places a grade may break between fittings, m.
const breakStep = 0.5

// layingSlack is what an inverts' straight line may take from the limits where
// the search's own profile, free to bend at every point, leaves nothing: under
// the millimetre a level is read to, m.
const layingSlack = 3e-4

// gradeStep is what a crew sets a grade in: the last digit of a pipe laser is
// a thousandth of a percent, of a level and a rod over a length of pipe about a
// tenth. Common practice, no source.
const gradeStep = 0.001

// joinSlack is how far a pipe may end below the one it joins for rounding
// alone, m: a thousandth of what a checker sees.
const joinSlack = 1e-6

// layFor lays pipes along a tree for what comes to each chain, nil as if at once,
// sizes and grades chosen together (choose). Each pipe is so many sizes larger
// than it needs to be, as far as there are sizes and height.
func (d *job) layFor(t tree, larger int, come [][]hydraulics.Arrival) (*layer, error) {
	l := &layer{job: d, first: d.smallestMain(), larger: larger, come: come}
	if l.along(t.simplified()) != nil { // past a corner by a hair a line may be open in its parts alone
		if err := l.along(t); err != nil {
			return nil, err
		}
	}
	if err := l.leaveOver(); err != nil {
		return nil, err
	}
	l.choose()
	if err := l.grade(); err != nil {
		return nil, err
	}
	l.build()
	return l, nil
}

// along asks the law along a tree.
func (l *layer) along(t tree) error {
	l.t, l.chains = t, t.chains()
	l.gather()
	return l.offer()
}

// gather gives every chain its flow, and the inflows that bring it.
func (l *layer) gather() {
	l.setFlows()
	arriving := make([][]int, len(l.t))
	for k := range l.chains {
		c := &l.chains[k]
		if v := l.t[c.head()]; v.inflow >= 0 {
			c.inflows = 1
		}
		for _, a := range arriving[c.head()] {
			c.inflows += l.chains[a].inflows
		}
		arriving[c.foot()] = append(arriving[c.foot()], k)
	}
}

// amply is the widest bore a chain is offered: the one that carries its flow at
// its least slope, and as much larger as is asked.
func (l *layer) amply(k int) int {
	last := len(l.criteria.Catalogue.Bores) - 1
	return min(last, l.boreFor(l.chains[k].flow, l.first, last)+l.larger)
}

// offer asks the law along every chain for each bore it may have.
func (l *layer) offer() error {
	l.offers = make([][]*profile.Chain, len(l.chains))
	l.at = make([]profile.Chain, len(l.chains))
	l.runs = make([][]profile.Run, len(l.chains))
	l.lengths = make([][]float64, len(l.chains))
	for k := range l.chains {
		l.offers[k] = make([]*profile.Chain, len(l.criteria.Catalogue.Bores))
		most := l.amply(k)
		if l.allOutlet(k) {
			most = l.first // the outlet pipe alone, whose bore is the hole's
		}
		var err error
		open := false
		for b := l.first; b < len(l.offers[k]); b++ {
			if b > most && b != l.flatter(k) {
				continue
			}
			if l.offers[k][b], err = l.corridor(k, b); err == nil {
				open = true
			}
		}
		if !open {
			return err
		}
	}
	return nil
}

// flatter is the bore a chain is offered though it is wider than its flow asks for,
// -1 for none: that of a main that may lie flatter, where a way was found for no
// smaller one.
func (l *layer) flatter(k int) int {
	bore := l.used[l.outletOf(k)].bore
	for _, wide := range l.mains()[1:] {
		if wide <= bore && !l.allOutlet(k) {
			return wide
		}
	}
	return -1
}

// allOutlet tells whether a chain is nothing but an outlet pipe to a curb face.
func (l *layer) allOutlet(k int) bool { return l.outletEdge(k) && len(l.chains[k].vertices) == 2 }

// boreOf is the bore of a chain.
func (l *layer) boreOf(k int) constraint.Bore { return l.criteria.Catalogue.Bores[l.chains[k].bore] }

// corridor asks the law along a chain for a bore.
func (l *layer) corridor(k, b int) (*profile.Chain, error) {
	c, bore := &l.chains[k], l.criteria.Catalogue.Bores[b]
	ch, lengths := profile.NewChain(), []float64{0}
	for i := 1; i < len(c.vertices); i++ {
		u, v := c.vertices[i-1], c.vertices[i]
		st, _, ok := l.lineOf(k, u, v, bore)(nil, l.t[u].at, l.t[v].at)
		if !ok {
			return nil, fmt.Errorf("the route from %v to %v is not open to a %s pipe", l.t[u].at, l.t[v].at, bore.Nominal)
		}
		ch.Append(st, 0)
		lengths = append(lengths, ch.End())
	}
	l.lengths[k] = lengths
	// The outlet pipe is one straight grade: no break within it.
	last := ch.End()
	if l.outletEdge(k) {
		last = lengths[len(lengths)-2]
	}
	ch.BreakEvery(breakStep)
	ch.BreakAtUtilities()
	ch.Breaks = slices.DeleteFunc(ch.Breaks, func(s float64) bool { return s > last })
	if v := l.t[c.foot()]; v.outlet >= 0 {
		ch.EndMin = l.used[v.outlet].minInvert
	}
	return ch, nil
}

// outletEdge tells whether a chain ends with an outlet pipe to a curb face.
func (l *layer) outletEdge(k int) bool {
	o := l.t[l.chains[k].foot()].outlet
	return o >= 0 && l.used[o].curb != nil
}

// holeOf is the bore of the outlet pipe chain k ends with.
func (l *layer) holeOf(k int) constraint.Bore {
	return l.criteria.Catalogue.Bores[l.used[l.t[l.chains[k].foot()].outlet].hole]
}

// lineOf returns the law for the edge from u to v of chain k in a bore.
func (l *layer) lineOf(k, u, v int, bore constraint.Bore) constraint.Line {
	inflow := l.t[u].inflow
	if o := l.t[v].outlet; o >= 0 {
		switch x := l.used[o]; {
		case x.curb != nil && inflow >= 0:
			return l.law.LeaveToCurb(l.holeOf(k).Outlet, *x.curb, l.exits[inflow])
		case x.curb != nil:
			return l.law.EnterCurb(l.holeOf(k).Outlet, *x.curb)
		case x.kind == constraint.Daylight:
			return l.law.EnterDaylight(bore, x.minInvert, l.slopeAsked(bore, l.chains[k].flow))
		}
	}
	if inflow >= 0 {
		return l.law.Leave(bore, l.exits[inflow])
	}
	return l.law.Interior(bore)
}

// slopeAsked is the least slope of a bore that is to carry a flow.
func (d *job) slopeAsked(b constraint.Bore, flow float64) float64 {
	return math.Max(d.slopeMin(b), slopeFor(b, flow))
}

// grade lays the runs, the outlet's chain first: a chain's end must lie at or
// above the invert of the one it joins.
func (l *layer) grade() error {
	steps := profile.Steps{Invert: l.criteria.InvertStep, Grade: gradeStep}
	leaving := make([]float64, len(l.t))
	for v := range leaving {
		leaving[v] = math.Inf(-1)
	}
	for k := len(l.chains) - 1; k >= 0; k-- {
		c, ch := &l.chains[k], &l.at[k]
		if l.t[c.foot()].outlet < 0 {
			ch.EndMin = leaving[c.foot()] - joinSlack
		}
		runs, err := profile.SolveIn(ch, steps)
		if err != nil || len(runs) > 1 {
			// The laying slack, where it is that or no way or one more grade.
			if fewer, easing := profile.SolveIn(eased(ch), steps); easing == nil && (err != nil || len(fewer) < len(runs)) {
				runs, err = fewer, nil
			}
		}
		if err != nil {
			return fmt.Errorf("laying the pipe from vertex %v: %w", l.t[c.head()].at, err)
		}
		l.runs[k] = runs
		leaving[c.head()] = runs[0].InvertFrom
	}
	return nil
}

// eased is a chain with every limit eased by the laying slack.
func eased(c *profile.Chain) *profile.Chain {
	e := *c
	e.Stations = slices.Clone(c.Stations)
	for i := range e.Stations {
		e.Stations[i].Ceiling += layingSlack
		e.Stations[i].Floor -= layingSlack
	}
	e.StartHigh += layingSlack
	e.EndMin -= layingSlack
	return &e
}

// pointAt is the point at station s of chain k.
func (l *layer) pointAt(k int, s float64) orb.Point {
	c, at := &l.chains[k], l.lengths[k]
	for i := 1; i < len(at); i++ {
		if s <= at[i] || i == len(at)-1 {
			a, b := l.t[c.vertices[i-1]].at, l.t[c.vertices[i]].at
			t := (s - at[i-1]) / (at[i] - at[i-1])
			return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
		}
	}
	return l.t[c.head()].at
}

// pipeAt is the flow's state in a pipe.
func pipeAt(p *network.Pipe) {
	slope := p.Slope()
	p.Capacity = hydraulics.FullCapacity(p.Size.Inside, p.Size.Roughness, slope)
	part := hydraulics.NormalDepth(p.Flow, p.Size.Inside, p.Size.Roughness, slope)
	p.DepthRatio, p.Velocity = part.DepthRatio, part.Velocity
}
