package profile

import "math"

// line is the run y - g (S - Si) from break i: a corner of a polygon of runs.
type line struct{ y, g float64 }

// runs is a convex set of runs from one break, its corners in order round it.
// Corners may coincide: a set of one run is a polygon too.
type runs []line

// clip keeps the runs with a + b y + c g >= 0. out is a buffer other than p.
func (p runs) clip(out runs, a, b, c float64) runs {
	out = out[:0]
	if len(p) == 0 {
		return out
	}
	before := p[len(p)-1]
	f0 := a + b*before.y + c*before.g
	for _, v := range p {
		f1 := a + b*v.y + c*v.g
		if f0 < 0 != (f1 < 0) {
			t := f0 / (f0 - f1)
			out = append(out, line{before.y + t*(v.y-before.y), before.g + t*(v.g-before.g)})
		}
		if f1 >= 0 {
			out = append(out, v)
		}
		before, f0 = v, f1
	}
	return out
}

// cuts tells whether some run of p has a + b y + c g < 0: most limits cut
// nothing, and a copy costs more than the look.
func (p runs) cuts(a, b, c float64) bool {
	for _, v := range p {
		if a+b*v.y+c*v.g < 0 {
			return true
		}
	}
	return false
}

// state is the runs of one choice of sides at the utilities passed so far.
type state struct {
	runs, spare runs
	stretch     int // of utility last met, -1: none
	above       bool
}

func (s *state) keep(a, b, c float64) {
	if s.runs.cuts(a, b, c) {
		s.runs, s.spare = s.runs.clip(s.spare, a, b, c), s.runs
	}
}

// atMost and atLeast hold the invert at distance d from the break.
func (s *state) atMost(d, limit float64)  { s.keep(limit, -1, d) }
func (s *state) atLeast(d, limit float64) { s.keep(-limit, 1, -d) }

// admit takes the limits of a point at distance d into each state, splitting
// them where a stretch of utility begins, and drops those left empty.
func admit(states []state, p *point, d float64) []state {
	n := len(states)
	for k := 0; k < n; k++ {
		s := &states[k]
		s.atMost(d, p.Ceiling)
		s.atLeast(d, p.Floor)
		if p.stretch < 0 || len(s.runs) == 0 {
			continue
		}
		if s.stretch != p.stretch {
			under := state{runs: append(runs(nil), s.runs...), stretch: p.stretch}
			under.atMost(d, p.Low+slack)
			s.stretch, s.above = p.stretch, true
			s.atLeast(d, p.High-slack)
			states = append(states, under)
		} else if s.above {
			s.atLeast(d, p.High-slack)
		} else {
			s.atMost(d, p.Low+slack)
		}
	}
	kept := states[:0]
	for k := range states {
		if len(states[k].runs) > 0 {
			kept = append(kept, states[k])
		}
	}
	return kept
}

// pair is the inverts at both ends of a run.
type pair struct{ from, to float64 }

// pairs is a convex set of runs between two breaks by their ends, corners in
// order round it.
type pairs []pair

func (r runs) between(length float64) pairs {
	p := make(pairs, len(r))
	for k, v := range r {
		p[k] = pair{v.y, v.y - v.g*length}
	}
	return p
}

// interval is a closed interval of inverts, empty where low > high.
type interval struct{ low, high float64 }

func (i interval) empty() bool { return i.low > i.high }

func (i interval) meet(j interval) interval {
	return interval{max(i.low, j.low), min(i.high, j.high)}
}

var (
	nothing    = interval{math.Inf(1), math.Inf(-1)}
	everything = interval{math.Inf(-1), math.Inf(1)}
)

func (i *interval) take(v float64) { i.low, i.high = min(i.low, v), max(i.high, v) }

// image is the inverts at the lower end of the runs that start within from.
func (p pairs) image(from interval) interval {
	out := nothing
	a := p[len(p)-1]
	for _, b := range p {
		if b.from >= from.low && b.from <= from.high {
			out.take(b.to)
		}
		for _, x := range [2]float64{from.low, from.high} {
			if a.from < x != (b.from < x) {
				out.take(a.to + (b.to-a.to)*(x-a.from)/(b.from-a.from))
			}
		}
		a = b
	}
	return out
}

// starts is the inverts at the upper end of the runs that end at to, which is
// first brought into the range of p.
func (p pairs) starts(to float64) interval {
	span := nothing
	for _, v := range p {
		span.take(v.to)
	}
	return p.startsOf(max(span.low, min(span.high, to)))
}

// startsOf is starts of an end in the range of p. It is what sizes and grades
// chosen together wait for, so it compares for itself.
func (p pairs) startsOf(to float64) interval {
	out := nothing
	take := func(v float64) {
		if v < out.low {
			out.low = v
		}
		if v > out.high {
			out.high = v
		}
	}
	a := p[len(p)-1]
	for _, b := range p {
		if b.to == to {
			take(b.from)
		}
		if a.to < to != (b.to < to) {
			take(a.from + (b.from-a.from)*(to-a.to)/(b.to-a.to))
		}
		a = b
	}
	return out
}
