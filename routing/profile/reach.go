package profile

import (
	"cmp"
	"math"
	"slices"
)

// set is a union of intervals of inverts, in order, apart from each other.
type set []interval

// merge sorts the intervals and joins those that meet.
func (s set) merge() set {
	slices.SortFunc(s, func(a, b interval) int { return cmp.Compare(a.low, b.low) })
	out := s[:0]
	for _, v := range s {
		if n := len(out); n > 0 && v.low <= out[n-1].high {
			out[n-1].high = max(out[n-1].high, v.high)
		} else {
			out = append(out, v)
		}
	}
	return out
}

// link is every run between a break and a lower one: one convex set for each
// choice of sides at the utilities.
type link struct {
	to   int
	sets []pairs
}

// links returns every run from break i, by the break it ends at, in order.
func (q *corridor) links(i int) []link {
	b := q.breaks[i]
	out := []link{}
	if i == len(q.breaks)-1 {
		return out
	}
	states := q.fan(i)
	for k := b.lower(); k <= b.last; k++ {
		states = admit(states, &q.points[k], 0)
	}
	for j, k := i+1, b.last+1; j < len(q.breaks) && len(states) > 0; j++ {
		e := q.breaks[j]
		length := e.s - b.s
		for ; k <= e.last && len(states) > 0; k++ {
			for n := range states {
				states[n].keep(-q.fall[k-1], 0, 1)
			}
			states = admit(states, &q.points[k], q.points[k].S-b.s)
			if k == e.upper() && len(states) > 0 {
				l := link{to: j, sets: make([]pairs, len(states))}
				for n := range states {
					l.sets[n] = states[n].runs.between(length)
				}
				out = append(out, l)
			}
		}
	}
	return out
}

// fan is the runs from break i before any limit but those that bound it: the
// first invert, the slope at the break, and the lowest invert at the next one.
func (q *corridor) fan(i int) []state {
	b, next := q.breaks[i], q.breaks[i+1]
	high, low := math.Inf(-1), math.Inf(1)
	for k := b.first; k <= b.last; k++ {
		high, low = max(high, q.points[k].Ceiling), min(low, q.points[k].Floor)
	}
	below := math.Inf(1)
	for k := next.first; k <= next.last; k++ {
		below = min(below, q.points[k].Floor)
	}
	slope := q.fall[b.last]
	most := min(q.slopeMax, (high-below)/(next.s-b.s))
	if high < low || most < slope {
		return nil
	}
	return []state{{runs: runs{{low, slope}, {high, slope}, {high, most}, {low, most}}, stretch: -1}}
}

// sides returns the inverts at a break that touch no utility there, as
// intervals from the lowest up; a drop keeps within one.
func (q *corridor) sides(b breakpoint) []interval {
	out := []interval{everything}
	for k := b.first; k <= b.last; k++ {
		p := q.points[k]
		if p.stretch < 0 {
			continue
		}
		var cut []interval
		for _, v := range out {
			for _, part := range []interval{v.meet(interval{math.Inf(-1), p.Low + slack}), v.meet(interval{p.High - slack, math.Inf(1)})} {
				if !part.empty() {
					cut = append(cut, part)
				}
			}
		}
		out = cut
	}
	return out
}

// depart returns the inverts a run may start at where others arrived: the
// same, and at a node all below on the same side of each utility.
func (q *corridor) depart(i int, arrived set) set {
	b := q.breaks[i]
	if !b.node {
		return arrived
	}
	var out set
	for _, side := range q.sides(b) {
		for k := len(arrived) - 1; k >= 0; k-- {
			if v := arrived[k].meet(side); !v.empty() {
				out = append(out, interval{side.low, v.high})
				break
			}
		}
	}
	return out.merge()
}

// reached holds what sweeps over the breaks found. Index r is the number of
// runs, then the break.
type reached struct {
	q              *corridor
	arrive, depart [][]set
	links          [][]link // by the break they start at; nil: not asked
}

func (q *corridor) reach() *reached {
	n := len(q.breaks)
	start := make([]set, n)
	start[0] = set{everything}
	return &reached{q: q, arrive: [][]set{start}, depart: [][]set{start}, links: make([][]link, n)}
}

// extend sweeps one run further.
func (f *reached) extend() {
	n := len(f.q.breaks)
	arrive, depart := make([]set, n), make([]set, n)
	for i, from := range f.depart[len(f.depart)-1] {
		if len(from) == 0 {
			continue
		}
		if f.links[i] == nil {
			f.links[i] = f.q.links(i)
		}
		for _, l := range f.links[i] {
			for _, p := range l.sets {
				for _, v := range from {
					if to := p.image(v); !to.empty() {
						arrive[l.to] = append(arrive[l.to], to)
					}
				}
			}
		}
	}
	for j := range arrive {
		arrive[j] = arrive[j].merge()
		depart[j] = f.q.depart(j, arrive[j])
	}
	f.arrive, f.depart = append(f.arrive, arrive), append(f.depart, depart)
}

// furthest is the last break that any number of runs reaches.
func (f *reached) furthest() int {
	last := 0
	for _, arrive := range f.arrive {
		for j := range arrive {
			if len(arrive[j]) > 0 {
				last = max(last, j)
			}
		}
	}
	return last
}

// between returns the runs between two breaks, nil where there are none.
func (f *reached) between(i, j int) []pairs {
	k, found := slices.BinarySearchFunc(f.links[i], j, func(l link, j int) int { return l.to - j })
	if !found {
		return nil
	}
	return f.links[i][k].sets
}
