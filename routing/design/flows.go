package design

import (
	"math"

	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// Over is the intensity of the storm's rain over a duration, m/s: of a table's
// by its durations, of a single figure the figure.
func (s Storm) Over(duration float64) float64 {
	if s.Rain == nil {
		return s.Intensity
	}
	return s.Rain(duration)
}

// Times is a storm so many times as hard.
func (s Storm) Times(times float64) Storm {
	rain := s.Rain
	s.Intensity *= times
	if rain != nil {
		s.Rain = func(duration float64) float64 { return times * rain(duration) }
	}
	return s
}

// Factor is the storm's frequency factor, by which it raises runoff coefficients: a
// rarer storm falls on ground that is wet. Between published return periods the
// rarer one's holds, beyond the last the last.
func (s Storm) Factor() float64 {
	if s.Frequency[0] == 0 {
		return 1
	}
	for k, years := range FrequencyYears {
		if s.Years <= years {
			return s.Frequency[k]
		}
	}
	return s.Frequency[len(s.Frequency)-1]
}

// RunsOff is the share of the storm that runs off ground of a runoff coefficient.
func (s Storm) RunsOff(coeff float64) float64 { return hydraulics.StormCoeff(coeff, s.Factor()) }

// weightedIn is an inflow's area times its runoff coefficients in a storm other
// than the one designed for, by the mean coefficient of the area.
func (r *Result) weightedIn(in *Inflow, s Storm) float64 {
	if s.Factor() == r.Storm.Factor() {
		return in.Weighted
	}
	return math.Min(in.Area, in.Weighted*s.Factor()/r.Storm.Factor())
}

// FlowIn is what comes to an inflow at its peak in a storm other than the one
// designed for, m3/s.
func (r *Result) FlowIn(in *Inflow, s Storm) float64 {
	flow := in.Flow * s.Over(in.TimeOfConc) / r.Storm.Over(in.TimeOfConc)
	if in.Weighted > 0 {
		flow *= r.weightedIn(in, s) / in.Weighted
	}
	return flow
}

// shed sets an inflow's design flow: of an area, weighted by runoff coefficients,
// whose farthest water takes travel to come, s; NaN where that is not known. No
// time is shorter than the storm's duration, the least of a table.
func (in *Inflow) shed(s Storm, area, weighted, travel float64) {
	in.Area, in.Weighted = area, weighted
	in.TimeOfConc = s.Duration
	if !math.IsNaN(travel) {
		in.TimeOfConc = hydraulics.TimeOfConc(s.Duration, travel)
	}
	in.Flow = hydraulics.RationalFlow(1, s.Over(in.TimeOfConc), weighted)
}

// Coeff is an inflow's runoff coefficient in the design storm, over all that drains
// to it.
func (in *Inflow) Coeff() float64 {
	return hydraulics.Catchment{Area: in.Area, Weighted: in.Weighted}.Coeff()
}

// arrival is what an inflow brings to its own node.
func (in *Inflow) arrival() hydraulics.Arrival {
	return hydraulics.Arrival{Weighted: in.Weighted, Time: in.TimeOfConc}
}

// flowOf is the most that some inflows bring together, m3/s, were there no way
// between them: along pipes it only comes later, and less.
func (d *job) flowOf(inflows []int) float64 {
	list := make([]hydraulics.Arrival, len(inflows))
	for k, i := range inflows {
		list[k] = d.in[i].arrival()
	}
	flow, _ := hydraulics.PeakFlow(list, d.criteria.Storm.Over)
	return flow
}

func (d *job) totalFlow() float64 { return d.flowOf(everyOf(len(d.in))) }

// travelTime is how long water takes through a pipe at its design flow, s.
func travelTime(p *network.Pipe) float64 {
	if p.Velocity == 0 {
		return 0 // nothing comes, at no time
	}
	return p.Length / p.Velocity
}

// arrivals lists for each pipe what comes to the head of its run, the place above
// it where water last joined: one flow holds from there to the next join. weighted
// is an inflow's area times its runoff coefficients.
func arrivals(n *network.Network, inflows []Inflow, weighted func(*Inflow) float64) [][]hydraulics.Arrival {
	joins := make([]int, len(n.Nodes)) // pipes that end at each node
	for k := range n.Pipes {
		joins[n.Pipes[k].To]++
	}
	list := make([][]hydraulics.Arrival, len(n.Pipes))
	for i := range inflows {
		in := &inflows[i]
		head, elapsed := 0.0, 0.0
		for v := nodeOf(n, in); v >= 0 && n.Nodes[v].Out >= 0; {
			k := n.Nodes[v].Out
			if n.Nodes[v].Kind.Inflow() || joins[v] > 1 {
				head = elapsed
			}
			list[k] = append(list[k], hydraulics.Arrival{Weighted: weighted(in), Time: in.TimeOfConc + head})
			elapsed += travelTime(&n.Pipes[k])
			v = n.Pipes[k].To
		}
	}
	return list
}

// asDesigned is an inflow's area times its runoff coefficients in the design storm.
func asDesigned(in *Inflow) float64 { return in.Weighted }

// nodeOf is the node of a served inflow, -1 for none.
func nodeOf(n *network.Network, f *Inflow) int {
	for v := range n.Nodes {
		if f.Status == Served && n.Nodes[v].Kind == f.Kind && n.Nodes[v].ID == f.ID {
			return v
		}
	}
	return -1
}

const (
	// travelRounds is how often flows are taken anew with the time water takes
	// through the pipes just laid.
	travelRounds = 5
	// flowSlack is the share of a flow by which it may change once more: no rain is
	// known to it.
	flowSlack = 1e-3
)

// lay lays pipes along a tree as if all came through them at once, which is more
// than comes (see inTime).
func (d *job) lay(t tree, larger int) (*layer, error) { return d.layFor(t, larger, nil) }

// lightened is laid anew for the flows that the times water takes through its pipes
// leave, in rounds until they settle: other pipes, other times. Where lighter pipes
// would let water come higher over a rim, it stays as it is.
func (l *layer) lightened() *layer {
	for n := 0; n < travelRounds && !l.inTime(); n++ {
		next, err := l.layFor(l.t, l.larger, l.arrivals())
		if err != nil || next.overRims() > l.overRims()+rimSlack {
			break
		}
		l = next
	}
	return l
}

// arrivals lists for each chain what comes to its head through the pipes laid.
func (l *layer) arrivals() [][]hydraulics.Arrival {
	byPipe := arrivals(&l.net, l.in, asDesigned)
	list := make([][]hydraulics.Arrival, len(l.chains))
	for k := range l.chains {
		list[k] = byPipe[l.net.Nodes[l.node[l.chains[k].head()]].Out]
	}
	return list
}

// atOnce lists for each chain what comes to its head were there no way through
// the pipes.
func (l *layer) atOnce() [][]hydraulics.Arrival {
	at := make([][]hydraulics.Arrival, len(l.t)) // what joins at each vertex
	list := make([][]hydraulics.Arrival, len(l.chains))
	for k := range l.chains {
		c := &l.chains[k]
		if i := l.t[c.head()].inflow; i >= 0 {
			list[k] = append(list[k], l.in[i].arrival())
		}
		list[k] = append(list[k], at[c.head()]...)
		at[c.foot()] = append(at[c.foot()], list[k]...)
	}
	return list
}

// peak is a flow, m3/s, and the duration of the rain that brings it, s.
type peak struct{ flow, time float64 }

// peaks is the flow of each chain for what comes to its head, and no less than of
// a chain above: what a longer rain brings there is no reason to lay less pipe.
func (l *layer) peaks(come [][]hydraulics.Arrival) []peak {
	list := make([]peak, len(l.chains))
	least := make([]peak, len(l.t)) // of the chains that end at each vertex
	for k := range l.chains {
		c := &l.chains[k]
		var p peak
		p.flow, p.time = hydraulics.PeakFlow(come[k], l.criteria.Storm.Over)
		if i := l.t[c.head()].inflow; i >= 0 && l.in[i].Flow > p.flow {
			p = peak{l.in[i].Flow, l.in[i].TimeOfConc}
		}
		if above := least[c.head()]; above.flow > p.flow {
			p = above
		}
		list[k] = p
		if p.flow > least[c.foot()].flow {
			least[c.foot()] = p
		}
	}
	return list
}

// setFlows gives every chain the flow it is laid for.
func (l *layer) setFlows() {
	come := l.come
	if come == nil {
		come = l.atOnce()
	}
	for k, p := range l.peaks(come) {
		l.chains[k].flow, l.chains[k].time = p.flow, p.time
	}
}

// inTime tells whether the times through the pipes laid leave every flow as it
// was taken.
func (l *layer) inTime() bool {
	for k, p := range l.peaks(l.arrivals()) {
		if flow := l.chains[k].flow; math.Abs(p.flow-flow) > flowSlack*flow {
			return false
		}
	}
	return true
}

// PeakShares returns for each inflow the share of its design flow that it brings on
// the mean while the last pipe it drains to carries most: the inflows' own peaks
// come at other times, and their sum at none. 1 for what is not served.
func (r *Result) PeakShares() []float64 {
	n := &r.Network
	list := arrivals(n, r.Inflows, asDesigned)
	last := func(i int) int {
		k := -1
		for v := nodeOf(n, &r.Inflows[i]); v >= 0 && n.Nodes[v].Out >= 0; v = n.Pipes[k].To {
			k = n.Nodes[v].Out
		}
		return k
	}
	sum := map[int]float64{} // of the inflows' own peaks, by last pipe
	for i, in := range r.Inflows {
		sum[last(i)] += hydraulics.RationalFlow(1, r.Storm.Over(in.TimeOfConc), in.Weighted)
	}
	shares := make([]float64, len(r.Inflows))
	for i := range shares {
		shares[i] = 1
		if k := last(i); k >= 0 && sum[k] > 0 {
			flow, _ := hydraulics.PeakFlow(list[k], r.Storm.Over)
			shares[i] = flow / sum[k]
		}
	}
	return shares
}
