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
