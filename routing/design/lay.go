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
	widest  int                    // bore the route was searched with
	larger  int                    // sizes each pipe is larger than its flow asks for
	come    [][]hydraulics.Arrival // to the head of each chain; nil: as if at once
	chains  []chain
	at      []profile.Chain
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

// layFor lays pipes along a tree for what comes to each chain, nil as if at once:
// with the bores its flows ask for where their height allows, else with narrower ones, down to the bore the tree was found
// with. Each pipe is so many sizes larger than it needs to be, as far as there
// are sizes and height.
func (d *job) layFor(t tree, found, larger int, come [][]hydraulics.Arrival) (*layer, error) {
	last := len(d.criteria.Catalogue.Bores) - 1
	widest := min(last, d.boreFor(d.totalFlow(), d.smallestMain(), last)+larger)
	for ; ; widest-- {
		l := &layer{job: d, t: t.simplified(), first: d.smallestMain(), widest: widest, larger: larger, come: come}
		ok, err := l.fit(widest <= found)
		if err != nil {
			return nil, err
		}
		if ok {
			l.build()
			return l, nil
		}
	}
}

// fit sizes and grades the chains; ok is false where bores wider than the
// searched one do not find the height. last makes that an error.
func (l *layer) fit(last bool) (ok bool, err error) {
	l.chains = l.t.chains()
	l.at = make([]profile.Chain, len(l.chains))
	l.runs = make([][]profile.Run, len(l.chains))
	l.lengths = make([][]float64, len(l.chains))
	l.sizeChains()
	for k := range l.chains {
		if err := l.corridor(k); err != nil {
			if last {
				return false, err
			}
			return false, nil
		}
	}
	if !l.settleHeads() && !last {
		return false, nil
	}
	return true, l.grade()
}

// sizeChains gives every chain its flow and the smallest bore that carries it
// at its least slope; where even the searched bore does not, a steeper slope.
func (l *layer) sizeChains() {
	l.setFlows()
	arriving := make([][]int, len(l.t))
	for k := range l.chains {
		c := &l.chains[k]
		least := l.first
		if v := l.t[c.head()]; v.inflow >= 0 {
			c.inflows = 1
		}
		for _, a := range arriving[c.head()] {
			c.inflows += l.chains[a].inflows
			least = max(least, l.chains[a].bore)
		}
		c.bore = l.boreFor(c.flow, least, max(least, l.widest))
		c.bore = max(c.bore, min(c.bore+l.larger, l.widest))
		b := l.criteria.Catalogue.Bores[c.bore]
		c.slope = math.Max(l.slopeMin(b), slopeFor(b, c.flow))
		arriving[c.foot()] = append(arriving[c.foot()], k)
	}
}

// boreOf is the bore of a chain.
func (l *layer) boreOf(k int) constraint.Bore { return l.criteria.Catalogue.Bores[l.chains[k].bore] }

// corridor asks the law along a chain.
func (l *layer) corridor(k int) error {
	c := &l.chains[k]
	bore := l.boreOf(k)
	ch := profile.NewChain()
	l.lengths[k] = []float64{0}
	for i := 1; i < len(c.vertices); i++ {
		u, v := c.vertices[i-1], c.vertices[i]
		line, slope := l.lineOf(k, u, v)
		st, _, ok := line(nil, l.t[u].at, l.t[v].at)
		if !ok {
			return fmt.Errorf("the route from %v to %v is not open to a %s pipe", l.t[u].at, l.t[v].at, bore.Nominal)
		}
		ch.Append(st, slope)
		l.lengths[k] = append(l.lengths[k], ch.End())
	}
	// The outlet pipe is one straight grade: no break within it.
	last := ch.End()
	if l.outletEdge(k) {
		last = l.lengths[k][len(l.lengths[k])-2]
	}
	ch.BreakEvery(breakStep)
	ch.Breaks = slices.DeleteFunc(ch.Breaks, func(s float64) bool { return s > last })
	if v := l.t[c.foot()]; v.outlet >= 0 {
		ch.EndMin = l.used[v.outlet].minInvert
	}
	l.at[k] = *ch
	return nil
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

// lineOf returns the law for the edge from u to v of chain k, and its least
// slope.
func (l *layer) lineOf(k, u, v int) (constraint.Line, float64) {
	c, bore := &l.chains[k], l.boreOf(k)
	exit := constraint.Exit{}
	if i := l.t[u].inflow; i >= 0 {
		exit = l.exits[i]
	}
	if o := l.t[v].outlet; o >= 0 {
		switch x := l.used[o]; {
		case x.curb != nil:
			b := l.holeOf(k)
			slope := math.Max(l.slopeMin(b), slopeFor(asOutlet(b), c.flow))
			if exit.Length > 0 {
				return l.law.LeaveToCurb(b.Outlet, *x.curb, exit), slope
			}
			return l.law.EnterCurb(b.Outlet, *x.curb), slope
		case x.kind == constraint.Daylight:
			return l.law.EnterDaylight(bore, x.minInvert, c.slope), c.slope
		}
	}
	if exit.Length > 0 {
		return l.law.Leave(bore, exit), c.slope
	}
	return l.law.Interior(bore), c.slope
}

// easeRounds halves the slope asked for capacity down to a ten millionth.
const easeRounds = 24

// settleHeads bounds the first invert of each chain by what can arrive there.
// Slopes asked for capacity eat fall that pipes below may need: where they take
// too much, all are eased alike, as little as does, toward the least slopes.
// It tells whether that was enough.
func (l *layer) settleHeads() bool {
	asked := make([][]profile.Stretch, len(l.at))
	for k := range l.at {
		asked[k] = slices.Clone(l.at[k].Stretches)
	}
	settle := func(share, room float64) bool {
		for k := range l.at {
			least := l.slopeMin(l.boreOf(k))
			for i, a := range asked[k] {
				m := math.Min(least, a.SlopeMin)
				l.at[k].Stretches[i].SlopeMin = m + share*(a.SlopeMin-m)
			}
		}
		return l.arrive(room)
	}
	room := roomSteps * l.criteria.InvertStep
	if settle(1, room) || settle(1, 0) {
		return true
	}
	if !settle(0, room) {
		room = 0
	}
	low, high := 0.0, 1.0
	for range easeRounds {
		if mid := (low + high) / 2; settle(mid, room) {
			low = mid
		} else {
			high = mid
		}
	}
	return settle(low, room)
}

// roomSteps is the height slopes are eased for in every chain, in steps of an
// invert: one for each end to stand on its step, one for a break between.
const roomSteps = 3

// arrive follows the highest inverts down the tree, each chain's end a little
// lower for room; it tells whether every chain has one.
func (l *layer) arrive(room float64) bool {
	arrive := make([]float64, len(l.t))
	for v := range arrive {
		arrive[v] = math.Inf(1)
	}
	ok := true
	for k := range l.chains {
		c, ch := &l.chains[k], &l.at[k]
		ch.StartHigh = arrive[c.head()]
		y, short := profile.Highest(ch)
		end := y[len(y)-1] - room
		ok = ok && (short == nil || short.Missing <= layingSlack) && end >= ch.EndMin-layingSlack
		arrive[c.foot()] = math.Min(arrive[c.foot()], end)
	}
	return ok
}

// grade lays the runs, the outlet's chain first: a chain's end must lie at or
// above the invert of the one it joins.
func (l *layer) grade() error {
	steps := profile.Steps{Invert: l.criteria.InvertStep, Grade: gradeStep}
	if err := l.holdDown(steps); err != nil {
		return err
	}
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
		if err != nil {
			runs, err = profile.SolveIn(eased(ch), steps)
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
