package design

import (
	"math"
)

// What sizes and grades of a plan tree are chosen by, each before all that
// follow:
//
//  1. the least design flow left over (leaveOver)
//  2. the fewest sizes that pipes lack of those asked of them (larger)
//  3. the fewest grades: a chain laid as high as can arrive breaks wherever the
//     ground does; a little lower, one grade may do
//  4. the fewest ends of chains off the steps inverts are set in
//  5. the least price of pipe and trench (Costs); where none are given the least
//     dig, a pipe a size wider counting like one a step deeper
//
// The choice is exact over all sizes and all inverts in steps (routing/sizing
// over profile.Levels), up to extraMost; on finer levels up to extraFine.

// extraMost is how many grades more than it needs a chain may have so that
// another, or its size, does with less; extraFine is how many on levels finer
// than inverts are set in, where each is ten times the work.
const (
	extraMost = 3
	extraFine = 1
)

// runsMost is with how many grades a chain is tried.
const runsMost = 12

// fineLevel is about how far apart the levels are on which chains may end where
// whole steps of inverts find no way, m: a third of the laying slack.
const fineLevel = 1e-4

// choose takes an offer for each chain and bounds its first invert. Where there
// is no height for steps of any kind it takes the narrowest sizes that find
// their height as high as can arrive.
func (l *layer) choose() {
	for _, finer := range []int{1, int(math.Round(l.criteria.InvertStep / fineLevel))} {
		if w := l.waysOn(finer); w != nil && l.chooseOf(w) {
			return
		}
	}
	l.asHighAsArrives()
}

// chooseOf takes the best offers there are on levels; false where there are
// none.
func (l *layer) chooseOf(w *ways) bool {
	best := w.best()
	if best == nil {
		return false
	}
	for k, r := range best.Runs {
		l.take(k, r.Size)
		if !math.IsInf(l.at[k].StartHigh, 1) {
			l.at[k].StartHigh = r.InvertUp
		}
	}
	return true
}

// take takes the offer of a bore for chain k.
func (l *layer) take(k, bore int) { l.chains[k].bore, l.at[k] = bore, *l.offers[k][bore] }

// asHighAsArrives takes for each chain, from the outlets up, the narrowest bore
// that brings the highest end of those no wider than the pipe below.
func (l *layer) asHighAsArrives() {
	widest := make([]int, len(l.t)) // by vertex: of what arrives
	for k := len(l.chains) - 1; k >= 0; k-- {
		c, most, best := &l.chains[k], len(l.offers[k])-1, math.Inf(-1)
		if l.t[c.foot()].outlet < 0 {
			most = widest[c.foot()]
		}
		for b, ch := range l.offers[k][:most+1] {
			if ch == nil {
				continue
			}
			if end := highestEnd(ch); end > best {
				best = end
				l.take(k, b)
			}
		}
		widest[c.head()] = l.widestInto(k, c.bore)
	}
}

// widestInto is the widest bore of a pipe that runs into chain k of a bore: its
// own, and any where the chain is but an outlet pipe, narrowed by a reducer.
func (l *layer) widestInto(k, bore int) int {
	if l.allOutlet(k) {
		return len(l.offers[k]) - 1
	}
	return bore
}
