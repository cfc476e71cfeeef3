package profile

import (
	"cmp"
	"math"
	"slices"
)

// choice is an invert a run may start or end at, with the best way to it.
type choice struct {
	y     float64
	step  int  // y is so many steps
	off   bool // y is Solve's own, off the steps
	worth      // of all runs to here
	from  int  // choice before it, -1: none yet
}

// inverts is the choices of one break, the lowest first.
type inverts []choice

// choices lists the inverts in steps within v, and own, NaN where there is none.
func (s Steps) choices(v interval, own float64) inverts {
	low, high := int(math.Ceil((v.low-rounding)/s.Invert)), int(math.Floor((v.high+rounding)/s.Invert))
	var l inverts
	for k := low; k <= high; k++ {
		l = append(l, choice{y: float64(k) * s.Invert, step: k, from: -1})
	}
	if !math.IsNaN(own) && !s.OnInvert(own) {
		l = append(l, choice{y: own, off: true, from: -1})
		slices.SortFunc(l, func(a, b choice) int { return cmp.Compare(a.y, b.y) })
	}
	return l
}

// spans are the inverts at both ends of all runs between two breaks.
func spans(sets []pairs) (from, to interval) {
	from, to = nothing, nothing
	for _, p := range sets {
		for _, v := range p {
			from.take(v.from)
			to.take(v.to)
		}
	}
	return from, to
}

// settle returns the best runs in steps between given breaks; none where there
// are none. own are runs between the same breaks whose inverts may be taken too,
// nil where only steps will do.
//
// Stage by stage it keeps the best way to each invert a run may end at: what
// comes after a run depends on that invert alone.
func (t *settler) settle(seq []int, own []Run) settled {
	n := len(seq) - 1
	ends := func(k int) (from, to float64) { // own inverts of run k
		if own == nil {
			return math.NaN(), math.NaN()
		}
		return own[k].InvertFrom, own[k].InvertTo
	}
	first, _ := spans(t.f.between(seq[0], seq[1]))
	start, _ := ends(0)
	departs, arrives := make([]inverts, n), make([]inverts, n)
	departs[0] = t.steps.choices(first, start)
	for i := range departs[0] {
		departs[0][i].from = 0
		departs[0][i].rank = departs[0][i].offRank()
	}
	for k := range n {
		_, span := spans(t.f.between(seq[k], seq[k+1]))
		_, end := ends(k)
		arrives[k] = t.steps.choices(span, end)
		t.run(departs[k], arrives[k], seq[k], seq[k+1])
		if k+1 < n {
			span, _ = spans(t.f.between(seq[k+1], seq[k+2]))
			start, _ = ends(k + 1)
			departs[k+1] = t.leave(arrives[k], t.f.q.breaks[seq[k+1]], span, start)
		}
	}
	last := -1
	for i, c := range arrives[n-1] {
		if c.from >= 0 && (last < 0 || c.above(arrives[n-1][last].worth)) {
			last = i
		}
	}
	if last < 0 {
		return settled{}
	}
	s := settled{runs: make([]Run, n), worth: arrives[n-1][last].worth}
	for k := n - 1; k >= 0; k-- {
		to := arrives[k][last]
		from := departs[k][to.from]
		s.runs[k] = Run{From: t.f.q.breaks[seq[k]].s, To: t.f.q.breaks[seq[k+1]].s, InvertFrom: from.y, InvertTo: to.y}
		last = from.from
	}
	return s
}

func (c *choice) offRank() int {
	if c.off {
		return offRank
	}
	return 0
}

// run carries the best ways over every run from one break to another.
func (t *settler) run(from, to inverts, i, j int) {
	if len(from) == 0 || len(to) == 0 {
		return
	}
	length := t.f.q.breaks[j].s - t.f.q.breaks[i].s
	ranks := make([]int, max(0, from.top()-to.bottom())+1) // by fall in steps
	for fall := range ranks {
		ranks[fall] = t.steps.rank(float64(fall)*t.steps.Invert, length)
	}
	for _, p := range t.f.between(i, j) {
		starts, _ := spans([]pairs{p})
		for a := range from {
			u := &from[a]
			if u.from < 0 || u.y < starts.low-rounding || u.y > starts.high+rounding {
				continue
			}
			y := max(starts.low, min(starts.high, u.y))
			ends := p.image(interval{y, y})
			b, _ := slices.BinarySearchFunc(to, ends.low-rounding, func(c choice, y float64) int { return cmp.Compare(c.y, y) })
			for ; b < len(to) && to[b].y <= ends.high+rounding; b++ {
				v := &to[b]
				t.work--
				w := worth{rank: u.rank + v.offRank(), area: u.area + length*(u.y+v.y)/2}
				if u.off || v.off {
					w.rank += t.steps.rank(u.y-v.y, length)
				} else if fall := u.step - v.step; fall >= 0 {
					w.rank += ranks[fall]
				}
				if v.from < 0 || w.above(v.worth) {
					v.worth, v.from = w, a
				}
			}
		}
	}
}

// top and bottom are the highest and the lowest step listed.
func (l inverts) top() int {
	for k := len(l) - 1; k >= 0; k-- {
		if !l[k].off {
			return l[k].step
		}
	}
	return math.MinInt / 2
}

func (l inverts) bottom() int {
	for k := range l {
		if !l[k].off {
			return l[k].step
		}
	}
	return math.MaxInt / 2
}

// leave returns the inverts within span a run may start at from break b: those
// where one ended, and at a node all below on the same side of each utility.
func (t *settler) leave(arrived inverts, b breakpoint, span interval, own float64) inverts {
	out := t.steps.choices(span, own)
	sides := []interval{everything}
	if b.node {
		sides = t.f.q.sides(b)
	}
	for _, side := range sides {
		best, w := -1, len(arrived)-1
		for k := len(out) - 1; k >= 0; k-- {
			v := &out[k]
			for ; w >= 0 && arrived[w].y >= v.y-rounding; w-- {
				same := b.node || arrived[w].y <= v.y+rounding
				if same && arrived[w].from >= 0 && side.holds(arrived[w].y) && (!b.node || best < 0 || arrived[w].above(arrived[best].worth)) {
					best = w
				}
			}
			if best < 0 || !side.holds(v.y) || !b.node && arrived[best].y > v.y+rounding {
				continue
			}
			if now := arrived[best].worth; v.from < 0 || now.above(v.worth) {
				v.worth, v.from = now, best
				if b.node && v.y < arrived[best].y-rounding {
					v.rank += v.offRank() // another number to set
				}
			}
		}
	}
	return out
}

// holds tells whether a side holds an invert.
func (i interval) holds(y float64) bool { return y >= i.low-rounding && y <= i.high+rounding }
