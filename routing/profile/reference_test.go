package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/routing/constraint"
)

// The reference knows nothing of polygons: it tries every set of breaks and
// every choice of sides at the utilities, writes each run's limits as rows
// a u + b v <= c in the inverts u, v at its ends, and eliminates u by adding
// each row that bounds it above to each that bounds it below (Fourier and
// Motzkin), which leaves an interval for v to start the next run with.

type row struct{ a, b, c float64 }

// eliminate returns the interval of v that the rows leave.
func eliminate(rows []row) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	bound := func(b, c float64) {
		switch {
		case b > 1e-12:
			high = math.Min(high, c/b)
		case b < -1e-12:
			low = math.Max(low, c/b)
		case c < -1e-12:
			low, high = math.Inf(1), math.Inf(-1)
		}
	}
	for _, p := range rows {
		if p.a == 0 {
			bound(p.b, p.c)
			continue
		}
		for _, q := range rows {
			if p.a > 0 && q.a < 0 {
				bound(p.b/p.a-q.b/q.a, p.c/p.a-q.c/q.a)
			}
		}
	}
	return low, high
}

type reference struct {
	c     *Chain
	ease  float64
	group []int // stretch of utility of each station, -1: none
	sides []bool
}

func newReference(c *Chain, ease float64) *reference {
	r := &reference{c: c, ease: ease}
	n := 0
	for k, st := range c.Stations {
		g := -1
		if st.Low < st.High {
			if k > 0 && r.group[k-1] >= 0 && c.Stations[k-1].S < st.S {
				g = r.group[k-1]
			} else {
				g = n
				n++
			}
		}
		r.group = append(r.group, g)
	}
	r.sides = make([]bool, n)
	return r
}

// limits returns the rows of station st, of stretch group, at S within a run.
func (r *reference) limits(rows []row, st constraint.Station, group int, from, to float64) []row {
	t := (st.S - from) / (to - from)
	high, low := st.Ceiling, st.Floor
	if group >= 0 && r.sides[group] {
		low = math.Max(low, st.High)
	} else if group >= 0 {
		high = math.Min(high, st.Low)
	}
	return append(rows, row{1 - t, t, high + r.ease}, row{t - 1, -t, r.ease - low})
}

func (r *reference) isNode(s float64) bool {
	return s > r.c.Start() && s < r.c.End() && slices.Contains(r.c.Nodes, s)
}

func (r *reference) rows(from, to float64) []row {
	var rows []row
	st := r.c.Stations
	for k := range st {
		s := st[k].S
		firstOf := k == 0 || st[k-1].S < s
		lastOf := k == len(st)-1 || st[k+1].S > s
		skip := s < from || s > to
		if !(firstOf && lastOf) && r.isNode(s) {
			skip = skip || s == from && firstOf || s == to && lastOf
		}
		if !skip {
			rows = r.limits(rows, st[k], r.group[k], from, to)
		}
		if (s == from || s == to) && r.group[k] >= 0 {
			// A drop keeps to the sides of both stations of a jump.
			only := constraint.Station{S: s, Ceiling: math.Inf(1), Floor: math.Inf(-1), Low: st[k].Low, High: st[k].High}
			for _, w := range r.limits(nil, only, r.group[k], from, to) {
				if !math.IsInf(w.c, 0) {
					rows = append(rows, w)
				}
			}
		}
		if k == 0 {
			continue
		}
		for _, x := range []float64{from, to} {
			if x > st[k-1].S && x < s {
				t := (x - st[k-1].S) / (s - st[k-1].S)
				mix := func(a, b float64) float64 { return a + (b-a)*t }
				m := constraint.Free(x, mix(st[k-1].Ceiling, st[k].Ceiling), mix(st[k-1].Floor, st[k].Floor))
				g := -1
				if r.group[k] >= 0 && r.group[k] == r.group[k-1] {
					g = r.group[k]
					m.Low, m.High = mix(st[k-1].Low, st[k].Low), mix(st[k-1].High, st[k].High)
				}
				rows = r.limits(rows, m, g, from, to)
			}
		}
	}
	before := r.c.Start()
	for _, q := range r.c.Stretches {
		if math.Min(q.To, to) > math.Max(before, from) {
			rows = append(rows, row{-1, 1, -q.SlopeMin * (to - from)})
		}
		before = q.To
	}
	if !math.IsInf(r.c.SlopeMax, 1) {
		rows = append(rows, row{1, -1, r.c.SlopeMax * (to - from)})
	}
	return rows
}

// admits tells whether runs between these breaks exist for the sides chosen.
func (r *reference) admits(breaks []float64) bool {
	low, high := r.c.StartLow-r.ease, r.c.StartHigh+r.ease
	for k := 1; k < len(breaks); k++ {
		rows := r.rows(breaks[k-1], breaks[k])
		if !math.IsInf(low, 0) {
			rows = append(rows, row{-1, 0, -low})
		}
		if !math.IsInf(high, 0) {
			rows = append(rows, row{1, 0, high})
		}
		low, high = eliminate(rows)
		if k == len(breaks)-1 {
			low = math.Max(low, r.c.EndMin-r.ease)
		}
		if low > high {
			return false
		}
		if r.isNode(breaks[k]) {
			low = math.Inf(-1)
		}
	}
	return true
}

// fewest returns the fewest runs and their breaks, 0 where there are none.
func (r *reference) fewest(breaks []float64) int {
	n := len(breaks) - 2
	best := 0
	for set := 0; set < 1<<n; set++ {
		chosen := []float64{breaks[0]}
		for k := 0; k < n; k++ {
			if set>>k&1 == 1 {
				chosen = append(chosen, breaks[k+1])
			}
		}
		chosen = append(chosen, breaks[n+1])
		if best > 0 && len(chosen)-1 >= best {
			continue
		}
		for sides := 0; sides < 1<<len(r.sides); sides++ {
			for k := range r.sides {
				r.sides[k] = sides>>k&1 == 1
			}
			if r.admits(chosen) {
				best = len(chosen) - 1
				break
			}
		}
	}
	return best
}

// allBreaks lists the breaks of a chain as its generator spaced them.
func allBreaks(c *Chain) []float64 {
	all := []float64{c.Start(), c.End()}
	all = append(all, c.Nodes...)
	if c.Breaks == nil {
		for _, st := range c.Stations {
			all = append(all, st.S)
		}
	}
	all = append(all, c.Breaks...)
	slices.Sort(all)
	return slices.Compact(all)
}

// draw is a random number in a range; rounded to the grid where one is set, so
// that limits meet exactly and cases lie on the edge of feasible.
type draw struct {
	*rand.Rand
	grid float64
}

func (d draw) in(low, high float64) float64 {
	v := low + (high-low)*d.Float64()
	if d.grid > 0 {
		v = math.Round(v/d.grid) * d.grid
	}
	return v
}

// randomChain is a small corridor with, each now and then, jumps, utilities,
// nodes, breaks off the stations, bounds at the ends and a largest slope.
func randomChain(rng *rand.Rand, stations int) *Chain {
	d := draw{Rand: rng}
	if rng.IntN(3) == 0 {
		d.grid = 0.125 // exact in binary, so sums of limits meet
	}
	c := NewChain()
	s, z, narrow := 0.0, 100.0, 0.1+0.5*rng.Float64()
	utilities := rng.IntN(4) // none, few, many, most
	drift, rough := -0.6*rng.Float64(), 0.1+0.4*rng.Float64()
	for k := 0; k < stations; k++ {
		z += d.in(drift-rough, drift+rough)
		st := constraint.Free(s, z, z-d.in(narrow/2, 2*narrow))
		if rng.IntN(4) < utilities {
			st.Low = st.Floor + d.in(-0.1, narrow)
			st.High = st.Low + d.in(0, 0.4*rng.Float64())
		}
		c.Stations = append(c.Stations, st)
		if s > 0 && rng.IntN(4) == 0 && k < stations-1 {
			z += d.in(-0.3, 0.3)
			continue // a jump: the next station has this S
		}
		s += 0.5 * float64(1+rng.IntN(6))
	}
	end := c.End()
	c.Stretches = []Stretch{{To: end, SlopeMin: 0.02 * float64(rng.IntN(3))}}
	if rng.IntN(3) == 0 {
		cut := 0.5 * float64(rng.IntN(int(2*end)+1))
		c.Stretches = []Stretch{{To: cut, SlopeMin: 0.01}, {To: end, SlopeMin: 0.03}}
	}
	if rng.IntN(3) == 0 {
		c.SlopeMax = 0.1 + 0.4*rng.Float64()
	}
	for k := range c.Stations[1 : len(c.Stations)-1] {
		if v := c.Stations[k+1].S; rng.IntN(4) == 0 && v > 0 && v < end && !slices.Contains(c.Nodes, v) {
			c.Nodes = append(c.Nodes, v)
		}
	}
	if rng.IntN(2) == 0 {
		c.Breaks = []float64{}
		for k := 0; k < 4; k++ {
			c.Breaks = append(c.Breaks, 0.25*float64(rng.IntN(int(4*end))))
		}
	}
	first, last := c.Stations[0], c.Stations[len(c.Stations)-1]
	if rng.IntN(4) == 0 {
		c.StartHigh = first.Ceiling - d.in(0, 0.2)
	}
	if rng.IntN(4) == 0 {
		c.StartLow = first.Floor + d.in(0, 0.2)
	}
	if rng.IntN(4) == 0 {
		c.EndMin = last.Floor + d.in(0, 0.2)
	}
	return c
}

// Solve must not need more runs than every set of breaks tried within the exact
// limits, nor fewer than within limits relaxed by the law's tolerance.
func TestFewestAgainstEverySetOfBreaks(t *testing.T) {
	const corridors = 10000
	rng := rand.New(rand.NewPCG(1, 2))
	counts, apart := map[int]int{}, 0
	for k := 0; k < corridors; k++ {
		c := randomChain(rng, 4+rng.IntN(4))
		laid, err := Solve(c)
		var bad *ChainError
		if errors.As(err, &bad) {
			t.Fatalf("corridor %d: %v", k, err)
		}
		breaks := allBreaks(c)
		strict := newReference(c, 0).fewest(breaks)
		eased := strict
		if strict != len(laid) {
			apart++
			eased = newReference(c, constraint.Tolerance).fewest(breaks)
		}
		most, fewest, got := orNever(strict), orNever(eased), orNever(len(laid))
		if got > most || got < fewest {
			t.Fatalf("corridor %d: %d runs (%v), every set of breaks: %d, eased %d\n%+v", k, len(laid), err, strict, eased, c)
		}
		counts[len(laid)]++
		if err == nil {
			if v := Check(c, laid); v != nil {
				t.Fatalf("corridor %d: %v\n%+v\n%+v", k, v, laid, c)
			}
		}
	}
	t.Logf("corridors by fewest runs (0: infeasible): %v; %d decided by the tolerance", counts, apart)
	if counts[0] == corridors || counts[1] < 100 || counts[2] < 100 || counts[3] < 50 {
		t.Errorf("the corridors do not try enough: %v", counts)
	}
}

func orNever(runs int) int {
	if runs == 0 {
		return math.MaxInt
	}
	return runs
}
