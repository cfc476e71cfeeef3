package design

import (
	"fmt"
	"math"

	"curbfall/routing/profile"
)

// leftOverRounds halves the flow left over down to a ten millionth.
const leftOverRounds = 24

// overAlike is the share of an outlet's flow in which what is left over is not
// told apart: flows are printed to three figures, and the last of it takes
// every millimetre there is.
const overAlike = 0.002

// leaveOver asks of every pipe the slope at which it carries its flow. Where that
// takes fall that is not there, each outlet's pipes are asked to carry all but
// so much, as little as does: no choice of sizes leaves less over, but for what
// is not told apart.
func (l *layer) leaveOver() error {
	l.over = make([]float64, len(l.used))
	for o := range l.used {
		finds := func(over float64) bool {
			l.ask(o, over)
			return l.arrive(o)
		}
		if finds(0) {
			continue
		}
		all := l.flowTo(o)
		low, high := 0.0, all
		if !finds(high) {
			return fmt.Errorf("no size finds the height it needs on the way to outlet %d", o+1)
		}
		for range leftOverRounds {
			if mid := (low + high) / 2; finds(mid) {
				high = mid
			} else {
				low = mid
			}
		}
		l.over[o] = high + overAlike*all
		finds(l.over[o])
	}
	return nil
}

// flowTo is the design flow of an outlet, m3/s.
func (l *layer) flowTo(o int) (flow float64) {
	for k := range l.chains {
		if l.t[l.chains[k].foot()].outlet == o {
			flow += l.chains[k].flow
		}
	}
	return flow
}

// outletOf is the outlet of the plan that a chain leads to.
func (l *layer) outletOf(k int) int {
	v := l.chains[k].foot()
	for l.t[v].next >= 0 {
		v = l.t[v].next
	}
	return l.t[v].outlet
}

// ask sets the least slopes of an outlet's pipes to carry all but so much of
// their flow, m3/s.
func (l *layer) ask(o int, over float64) {
	for k := range l.chains {
		if l.outletOf(k) != o {
			continue
		}
		flow := math.Max(0, l.chains[k].flow-over)
		for b, ch := range l.offers[k] {
			if ch == nil {
				continue
			}
			for i := range ch.Stretches {
				ch.Stretches[i].SlopeMin = l.slopeAsked(l.criteria.Catalogue.Bores[b], flow)
			}
			if l.outletEdge(k) {
				ch.Stretches[len(ch.Stretches)-1].SlopeMin = l.slopeAsked(asOutlet(l.holeOf(k)), flow)
			}
		}
	}
}

// arrive bounds the first invert of each offer to an outlet by the highest that
// can arrive there through pipes no wider; it tells whether every chain has an
// offer with height enough. A higher arrival is never worse, nor is a narrower
// one.
func (l *layer) arrive(o int) bool {
	highest := make([][]float64, len(l.t)) // by vertex and bore
	for v := range highest {
		highest[v] = make([]float64, len(l.criteria.Catalogue.Bores))
		for b := range highest[v] {
			highest[v][b] = math.Inf(1)
		}
	}
	for k := range l.chains {
		if l.outletOf(k) != o {
			continue
		}
		c, best := &l.chains[k], math.Inf(-1)
		for b, ch := range l.offers[k] {
			if ch != nil {
				ch.StartHigh = highest[c.head()][l.widestInto(k, b)]
				best = math.Max(best, highestEnd(ch))
			}
			highest[c.foot()][b] = math.Min(highest[c.foot()][b], best)
		}
		if math.IsInf(best, -1) {
			return false
		}
	}
	return true
}

// highestEnd is the highest last invert of a chain, -Inf where its height lacks
// more than the laying slack.
func highestEnd(ch *profile.Chain) float64 {
	if math.IsInf(ch.StartHigh, -1) {
		return ch.StartHigh
	}
	y, short := profile.Highest(ch)
	if short != nil && short.Missing > layingSlack {
		return math.Inf(-1)
	}
	return y[len(y)-1]
}
