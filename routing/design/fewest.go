package design

import (
	"cmp"
	"math"
	"slices"

	"curbfall/routing/profile"
)

// height is an invert that grades bring to a vertex.
type height struct {
	cost   int     // gradeCost for each grade, and 1 where a chain has no room
	invert float64 // elevation m
	from   float64 // what it takes at the head of the chain that brings it
}

// gradeCost makes one grade more dearer than any number of chains without room
// for inverts on their steps.
const gradeCost = 1000

// roomGrades is the number of grades of a chain up to which room for inverts on
// their steps is sought: with more, the height is so short that there is none.
const roomGrades = 3

// holdDown bounds the first invert of every chain so that the whole tree takes
// the fewest grades, and under as few has room for inverts on their steps and
// lies as high as it can. What is laid as high as can arrive asks those above
// for the highest profile there is, which breaks wherever the ground does and
// has no room at all; a little lower, one grade may do.
//
// It is exact: a higher arrival is never worse further down, so of all ways to
// bring so many grades to a vertex the highest is enough. Chains that lack
// height by the laying slack are eased by it, as when they are laid.
func (l *layer) holdDown(steps profile.Steps) error {
	at := make([][]height, len(l.t))  // by vertex: what can arrive
	by := make([][]height, len(l.at)) // by chain: what it brings
	into := make([][]int, len(l.t))   // chains by their foot
	for k := range l.chains {
		c := &l.chains[k]
		heads := at[c.head()]
		if len(into[c.head()]) == 0 {
			heads = []height{{invert: math.Inf(1)}}
		}
		var err error
		if by[k], err = ends(&l.at[k], heads, steps); len(by[k]) == 0 && err == nil {
			by[k], err = ends(eased(&l.at[k]), heads, steps)
		}
		if err != nil {
			return err
		}
		into[c.foot()] = append(into[c.foot()], k)
		at[c.foot()] = together(into[c.foot()], by)
	}
	bound := make([]float64, len(l.t)) // what has to arrive at a vertex
	for v := range bound {
		bound[v] = math.Inf(-1) // each chain to an outlet knows what that asks
	}
	start := make([]float64, len(l.at))
	for k := len(l.chains) - 1; k >= 0; k-- {
		c := &l.chains[k]
		i := slices.IndexFunc(by[k], func(h height) bool { return h.invert >= bound[c.foot()] })
		if i < 0 {
			return nil
		}
		start[k] = by[k][i].from
		bound[c.head()] = start[k]
	}
	for k, y := range start {
		l.at[k].StartHigh = y
	}
	return nil
}

// ends returns what a chain brings to its foot from heights at its head: for
// each number of grades the highest end, and the highest on its step where
// every invert above can stand on one too.
func ends(c *profile.Chain, heads []height, steps profile.Steps) (list []height, err error) {
	for _, from := range heads {
		e := *c
		e.StartHigh = from.invert
		highest, err := profile.HighestEnds(&e, steps.Invert)
		if err != nil {
			return nil, err
		}
		for r, y := range highest {
			cost := from.cost + gradeCost*(r+1)
			list = append(list, height{cost + 1, y, from.invert})
			if r >= roomGrades {
				continue
			}
			// A step is lost at each end of a grade at most; one or none mostly.
			for _, lost := range []int{0, 1, r + 2} {
				e.EndMin = (math.Floor(y/steps.Invert) - float64(lost)) * steps.Invert
				if !(e.EndMin >= c.EndMin) {
					break
				}
				if runs, err := profile.SolveIn(&e, steps); err == nil && len(runs) <= r+1 && onSteps(runs, steps) {
					list = append(list, height{cost, e.EndMin, from.invert})
					break
				}
			}
		}
	}
	return useful(list), nil
}

// onSteps tells whether every invert of some runs is on its step.
func onSteps(runs []profile.Run, steps profile.Steps) bool {
	for _, r := range runs {
		if !steps.OnInvert(r.InvertFrom) || !steps.OnInvert(r.InvertTo) {
			return false
		}
	}
	return true
}

// useful drops the heights that others reach at no more cost, and those that
// are no number; the least cost comes first.
func useful(list []height) []height {
	slices.SortStableFunc(list, func(a, b height) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(b.invert, a.invert))
	})
	var out []height
	for _, h := range list {
		if !math.IsNaN(h.invert) && (len(out) == 0 || h.invert > out[len(out)-1].invert) {
			out = append(out, h)
		}
	}
	return out
}

// together returns what the chains that end at a vertex bring there: each at
// or above an invert, all their costs counted.
func together(chains []int, by [][]height) []height {
	var list []height
	for _, k := range chains {
	next:
		for _, y := range by[k] {
			sum := height{invert: y.invert}
			for _, m := range chains {
				i := slices.IndexFunc(by[m], func(h height) bool { return h.invert >= y.invert })
				if i < 0 {
					continue next
				}
				sum.cost += by[m][i].cost
			}
			list = append(list, sum)
		}
	}
	return useful(list)
}
