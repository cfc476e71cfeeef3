package profile

import (
	"math"

	"curbfall/routing/constraint"
)

// Check returns a *Violation where runs break the law of a valid chain by more
// than constraint.Tolerance, nil where they keep it everywhere. It asks the
// chain alone and shares nothing with Solve. Runs may end anywhere.
func Check(c *Chain, laid []Run) error {
	if len(laid) == 0 {
		return &Violation{What: "no runs", At: c.Start()}
	}
	last := laid[len(laid)-1]
	if d := max(math.Abs(laid[0].From-c.Start()), math.Abs(last.To-c.End())); d > sameStation {
		return &Violation{What: "runs do not span the chain", At: laid[0].From, Value: last.To, Limit: c.End()}
	}
	k := checking{c}
	first := laid[0].InvertFrom
	for _, v := range []*Violation{
		most("first invert above its range", c.Start(), first, c.StartHigh),
		least("first invert below its range", c.Start(), first, c.StartLow),
		least("last invert too low", c.End(), last.InvertTo, c.EndMin),
	} {
		if v != nil {
			return v
		}
	}
	for n, r := range laid {
		if v := k.run(r); v != nil {
			return v
		}
		if n > 0 {
			if v := k.joint(laid[n-1], r); v != nil {
				return v
			}
		}
	}
	return nil
}

type checking struct{ *Chain }

func most(what string, s, value, limit float64) *Violation {
	if value <= limit+constraint.Tolerance {
		return nil
	}
	return &Violation{What: what, At: s, Value: value, Limit: limit}
}

func least(what string, s, value, limit float64) *Violation {
	if value >= limit-constraint.Tolerance {
		return nil
	}
	return &Violation{What: what, At: s, Value: value, Limit: limit}
}

func (c checking) run(r Run) *Violation {
	from := c.Start()
	for _, st := range c.Stretches {
		if min(r.To, st.To)-max(r.From, from) > sameStation {
			if v := least("fall too small", r.From, r.InvertFrom-r.InvertTo, st.SlopeMin*(r.To-r.From)); v != nil {
				v.What, v.Value, v.Limit = "slope too small", r.Slope(), st.SlopeMin
				return v
			}
		}
		from = st.To
	}
	if !math.IsInf(c.SlopeMax, 1) {
		if v := most("fall too large", r.From, r.InvertFrom-r.InvertTo, c.SlopeMax*(r.To-r.From)); v != nil {
			return v
		}
	}
	for k, st := range c.Stations {
		if c.holds(k, r) {
			if v := at(st, r.Invert(st.S)); v != nil {
				return v
			}
		}
		if k == 0 {
			continue
		}
		if v := c.stretch(c.Stations[k-1], st, r); v != nil {
			return v
		}
	}
	return nil
}

// holds tells whether station k limits run r. At a node on a jump the last
// station belongs to the lower run alone and the first to the upper one.
func (c checking) holds(k int, r Run) bool {
	s := c.Stations[k].S
	switch {
	case s > r.From+sameStation && s < r.To-sameStation:
		return true
	case math.Abs(s-r.To) <= sameStation:
		return !(c.isNode(s) && k > 0 && c.Stations[k-1].S == s && (k+1 == len(c.Stations) || c.Stations[k+1].S > s))
	case math.Abs(s-r.From) <= sameStation:
		return !(c.isNode(s) && k+1 < len(c.Stations) && c.Stations[k+1].S == s && (k == 0 || c.Stations[k-1].S < s))
	}
	return false
}

// isNode tells whether a node other than an end of the chain stands at s.
func (c checking) isNode(s float64) bool {
	if s <= c.Start()+sameStation || s >= c.End()-sameStation {
		return false
	}
	for _, n := range c.Nodes {
		if math.Abs(n-s) <= sameStation {
			return true
		}
	}
	return false
}

func at(st constraint.Station, invert float64) *Violation {
	if v := most("invert above the ceiling", st.S, invert, st.Ceiling); v != nil {
		return v
	}
	if v := least("invert below the floor", st.S, invert, st.Floor); v != nil {
		return v
	}
	if invert > st.Low+constraint.Tolerance && invert < st.High-constraint.Tolerance {
		return &Violation{What: "invert within a utility's clearance", At: st.S, Value: invert, Limit: st.Low}
	}
	return nil
}

// stretch checks a run between two stations where it ends between them, and
// that it keeps to one side of a utility.
func (c checking) stretch(a, b constraint.Station, r Run) *Violation {
	from, to := max(a.S, r.From), min(b.S, r.To)
	if to-from <= sameStation {
		return nil
	}
	var side [2]bool
	for k, s := range [2]float64{from, to} {
		st := between(a, b, s)
		if v := at(st, r.Invert(s)); v != nil {
			return v
		}
		side[k] = r.Invert(s) > (st.Low+st.High)/2
	}
	if banded(a) && banded(b) && side[0] != side[1] {
		return &Violation{What: "run through a utility's clearance", At: from, Value: r.Invert(from), Limit: a.Low}
	}
	return nil
}

// joint checks where one run follows another.
func (c checking) joint(a, b Run) *Violation {
	if math.Abs(a.To-b.From) > sameStation {
		return &Violation{What: "gap between runs", At: a.To, Value: b.From, Limit: a.To}
	}
	if v := most("invert rises between runs", b.From, b.InvertFrom, a.InvertTo); v != nil {
		return v
	}
	if a.InvertTo-b.InvertFrom <= constraint.Tolerance {
		return nil
	}
	if !c.isNode(b.From) {
		return &Violation{What: "drop away from a node", At: b.From, Value: b.InvertFrom, Limit: a.InvertTo}
	}
	for k, st := range c.Stations {
		if k > 0 && c.Stations[k-1].S < b.From-sameStation && st.S > b.From+sameStation {
			st = between(c.Stations[k-1], st, b.From)
		}
		if math.Abs(st.S-b.From) > sameStation || !banded(st) {
			continue
		}
		if b.InvertFrom < st.High-constraint.Tolerance && a.InvertTo > st.Low+constraint.Tolerance {
			return &Violation{What: "drop through a utility's clearance", At: b.From, Value: b.InvertFrom, Limit: st.High}
		}
	}
	return nil
}
