package profile

import (
	"math"

	"curbfall/routing/constraint"
)

// Chain is the pipe between two nodes of the tree, drawn downstream, with what
// the law admits along it. All elevations are metres in one datum, all
// stretches metres of plan distance S in the sense of Stations. Make one with
// NewChain: a zero value bounds the first invert at zero.
type Chain struct {
	// Stations, two or more, S not falling, limits finite. Two of equal S are a
	// jump, and both hold there.
	Stations []constraint.Station
	// Stretches give the least slope, in order downstream; the last one reaches
	// the last station. A run over several keeps to the largest.
	Stretches []Stretch
	SlopeMax  float64 // +Inf: no limit
	// StartLow..StartHigh holds the first invert, EndMin the last one, beside
	// the limits of their stations.
	StartLow, StartHigh, EndMin float64
	// Nodes are the S where a pipe ends in any case, as at a bend. A run may
	// continue straight through; a run that starts there may start lower than the
	// one before ended, but not on another side of a utility. At a node on a jump
	// the upper run keeps the upper station's limits and the lower run the lower
	// one's, unless it is the same run. The chain's ends need no mention, and keep
	// every station that stands there.
	Nodes []float64
	// Breaks are the S where a run may end, beside Nodes and both ends; any
	// order. nil: at every station. Breaks nearer than breakApart to one before
	// are left out, nodes and ends staying.
	Breaks []float64
}

// Stretch is the part of a chain from the end of the one before (the first:
// from the chain's start) to To.
type Stretch struct {
	To       float64 // S, m
	SlopeMin float64 // least fall over plan length
}

// Run is one constant grade, drawn downstream: the invert is linear in S.
type Run struct {
	From, To             float64 // S, m
	InvertFrom, InvertTo float64 // elevation, m
}

// Slope is fall over plan length.
func (r Run) Slope() float64 { return (r.InvertFrom - r.InvertTo) / (r.To - r.From) }

// Invert is the invert at S, elevation m. The run's line goes on beyond it.
func (r Run) Invert(s float64) float64 {
	t := (s - r.From) / (r.To - r.From)
	return r.InvertFrom*(1-t) + r.InvertTo*t
}

// InvertAt returns the invert of runs at S, at a drop that of the lower run;
// runs as Solve returns them, one at least.
func InvertAt(runs []Run, s float64) float64 {
	k := len(runs) - 1
	for k > 0 && s < runs[k].From {
		k--
	}
	return runs[k].Invert(s)
}

// sameStation is how near a break must be to a station to stand on it, m: the
// rounding of summed lengths, far below the 2 mm a plan is checked to.
const sameStation = 1e-6

// breakApart is the least length of a run, m: no pipe is cut to less than the
// millimetre, and a shorter lever makes a slope out of rounding.
const breakApart = 1e-3

// NewChain returns an empty chain with nothing bounded but by the law.
func NewChain() *Chain {
	return &Chain{SlopeMax: math.Inf(1), StartLow: math.Inf(-1), StartHigh: math.Inf(1), EndMin: math.Inf(-1)}
}

// Start is S of the first station, End of the last one.
func (c *Chain) Start() float64 { return c.Stations[0].S }

// End is S of the last station.
func (c *Chain) End() float64 { return c.Stations[len(c.Stations)-1].S }

// Append adds a straight line in plan at the lower end: its stations, from 0 to
// its length, and its least slope. Where it joins the chain stands a node.
func (c *Chain) Append(line []constraint.Station, slopeMin float64) {
	at := 0.0
	if len(c.Stations) > 0 {
		at = c.End()
		c.Nodes = append(c.Nodes, at)
	}
	for _, st := range line {
		st.S += at
		c.Stations = append(c.Stations, st)
	}
	c.Stretches = append(c.Stretches, Stretch{To: c.End(), SlopeMin: slopeMin})
}

// BreakEvery makes Breaks of every step metres from the upper end. step > 0.
func (c *Chain) BreakEvery(step float64) {
	c.Breaks = make([]float64, 0, int((c.End()-c.Start())/step)+1)
	for k := 1; ; k++ {
		s := c.Start() + float64(k)*step
		if s >= c.End() {
			return
		}
		c.Breaks = append(c.Breaks, s)
	}
}

// BreakAtUtilities adds Breaks where a utility begins and ends: a pipe held up over
// one may have to be down a hand's breadth behind it.
func (c *Chain) BreakAtUtilities() {
	for k := 1; k < len(c.Stations); k++ {
		if banded(c.Stations[k-1]) != banded(c.Stations[k]) {
			c.Breaks = append(c.Breaks, c.Stations[k].S)
		}
	}
}

// Validate returns a *ChainError for a chain that is none.
func (c *Chain) Validate() error {
	if len(c.Stations) < 2 {
		return &ChainError{What: "has fewer than two stations", Value: float64(len(c.Stations)), Limit: 2}
	}
	for k, st := range c.Stations {
		for _, v := range []float64{st.S, st.Ceiling, st.Floor} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return &ChainError{What: "has a limit that is no number", At: st.S, Value: v}
			}
		}
		if math.IsNaN(st.Low) || math.IsNaN(st.High) {
			return &ChainError{What: "has a utility at no elevation", At: st.S, Value: math.NaN()}
		}
		if banded(st) && (math.IsInf(st.Low, 0) || math.IsInf(st.High, 0)) {
			return &ChainError{What: "has a utility without end", At: st.S, Value: st.Low, Limit: st.High}
		}
		if k > 0 && st.S < c.Stations[k-1].S {
			return &ChainError{What: "has stations out of order", At: st.S, Value: st.S, Limit: c.Stations[k-1].S}
		}
	}
	if l := c.End() - c.Start(); l < breakApart {
		return &ChainError{What: "is too short", At: c.Start(), Value: l, Limit: breakApart}
	}
	return c.validateSlopes()
}

func (c *Chain) validateSlopes() error {
	for _, v := range []float64{c.StartLow, c.StartHigh, c.EndMin} {
		if math.IsNaN(v) {
			return &ChainError{What: "has an end that is no number", At: c.Start(), Value: v}
		}
	}
	if !(c.SlopeMax > 0) {
		return &ChainError{What: "has no largest slope above zero", At: c.Start(), Value: c.SlopeMax}
	}
	before := c.Start()
	for _, st := range c.Stretches {
		if !(st.SlopeMin >= 0) || math.IsInf(st.SlopeMin, 1) {
			return &ChainError{What: "has a least slope below zero", At: st.To, Value: st.SlopeMin}
		}
		if !(st.To >= before) {
			return &ChainError{What: "has stretches out of order", At: st.To, Value: st.To, Limit: before}
		}
		before = st.To
	}
	if before < c.End()-sameStation || len(c.Stretches) == 0 {
		return &ChainError{What: "has stretches that stop before its end", At: before, Value: before, Limit: c.End()}
	}
	for _, list := range [][]float64{c.Nodes, c.Breaks} {
		for _, s := range list {
			if math.IsNaN(s) || s < c.Start()-sameStation || s > c.End()+sameStation {
				return &ChainError{What: "has a break outside of it", At: s, Value: s, Limit: c.End()}
			}
		}
	}
	return nil
}

func banded(st constraint.Station) bool { return st.Low < st.High }
