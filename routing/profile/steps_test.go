package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/routing/constraint"
)

// standing is how good runs in steps are, counted apart from the package.
type standing struct {
	off, whole, nearest int
	area                float64
}

func (a standing) compare(b standing) int {
	for _, d := range []int{b.off - a.off, a.whole - b.whole, a.nearest - b.nearest} {
		if d != 0 {
			return d
		}
	}
	const same = 1e-6 // m2: sums of areas in another order
	switch {
	case a.area > b.area+same:
		return 1
	case a.area < b.area-same:
		return -1
	}
	return 0
}

// standingOf counts inverts off the steps, whole grades, and whole grades whose
// inverts are the nearest there are. A grade is whole where laying it from the
// lower invert ends less than a step from the upper one.
func standingOf(laid []Run, s Steps) standing {
	w := standing{area: area(laid)}
	off := func(y float64) int {
		if steps := y / s.Invert; math.Abs(steps-math.Round(steps))*s.Invert > 1e-10 {
			return 1
		}
		return 0
	}
	for k, r := range laid {
		if k == 0 || r.InvertFrom != laid[k-1].InvertTo {
			w.off += off(r.InvertFrom)
		}
		w.off += off(r.InvertTo)
		length, miss := r.To-r.From, math.Inf(1)
		grade := (r.InvertFrom - r.InvertTo) / length / s.Grade
		for _, g := range []float64{math.Floor(grade), math.Ceil(grade)} {
			miss = math.Min(miss, math.Abs(r.InvertTo+g*s.Grade*length-r.InvertFrom))
		}
		if miss < s.Invert-1e-10 {
			w.whole++
		}
		if miss <= s.Invert/2+1e-10 {
			w.nearest++
		}
	}
	return w
}

// every visits all runs in steps on a set of breaks that keep the law.
func (b bench) every(breaks []float64, laid []Run, visit func([]Run)) {
	k := len(laid)
	if k == len(breaks)-1 {
		if Check(b.c, laid) == nil {
			visit(laid)
		}
		return
	}
	froms, tos := b.steps, b.steps
	if b.own != nil {
		froms, tos = append(slices.Clone(b.steps), b.own[k].InvertFrom), append(slices.Clone(b.steps), b.own[k].InvertTo)
	}
	for _, from := range froms {
		if k > 0 {
			if y := laid[k-1].InvertTo; from > y || from != y && !b.r.isNode(breaks[k]) {
				continue
			}
		}
		for _, to := range tos {
			r := Run{From: breaks[k], To: breaks[k+1], InvertFrom: from, InvertTo: to}
			if to <= from && b.run(r) {
				b.every(breaks, append(laid, r), visit)
			}
		}
	}
}

// bench is a corridor with the steps that lie in it.
type bench struct {
	c     *Chain
	r     *reference
	steps []float64
	own   []Run // whose inverts may be taken too, nil: none
	known map[Run]bool
}

func newBench(c *Chain, s Steps) bench {
	b := bench{c: c, r: newReference(c, 0), known: map[Run]bool{}}
	low, high := math.Inf(1), math.Inf(-1)
	for _, st := range c.Stations {
		low, high = math.Min(low, st.Floor), math.Max(high, st.Ceiling)
	}
	for k := math.Floor(low / s.Invert); k <= math.Ceil(high/s.Invert); k++ {
		b.steps = append(b.steps, k*s.Invert)
	}
	return b
}

func (b bench) run(r Run) bool {
	ok, known := b.known[r]
	if !known {
		ok = checking{b.c}.run(r) == nil
		b.known[r] = ok
	}
	return ok
}

// everySet visits all n runs in steps, on every set of breaks, that keep the law.
func (b bench) everySet(n int, visit func([]Run)) {
	breaks := allBreaks(b.c)
	var choose func(chosen []float64, next int)
	choose = func(chosen []float64, next int) {
		if len(chosen) == n {
			b.every(append(slices.Clone(chosen), b.c.End()), nil, visit)
			return
		}
		for k := next; k < len(breaks)-1; k++ {
			choose(append(slices.Clone(chosen), breaks[k]), k+1)
		}
	}
	choose([]float64{b.c.Start()}, 1)
}

// exhaustive is the best standing of n runs in steps, false where there are none.
func exhaustive(c *Chain, s Steps, n int) (best standing, found bool) {
	newBench(c, s).everySet(n, func(laid []Run) {
		if w := standingOf(laid, s); !found || w.compare(best) > 0 {
			best, found = w, true
		}
	})
	return best, found
}

// mixed is the best standing of runs at the breaks of exact ones, in steps or at
// their inverts.
func mixed(c *Chain, s Steps, exact []Run) (best standing) {
	b := newBench(c, s)
	b.own = exact
	breaks := []float64{c.Start()}
	for _, r := range exact {
		breaks = append(breaks, r.To)
	}
	first := true
	b.every(breaks, nil, func(laid []Run) {
		if w := standingOf(laid, s); first || w.compare(best) > 0 {
			best, first = w, false
		}
	})
	return best
}

// grazes tells whether an invert misses a step by a tolerance alone: which of
// the two then holds hangs on whose tolerance is asked.
func grazes(laid []Run, s Steps) bool {
	for _, r := range laid {
		for _, y := range []float64{r.InvertFrom, r.InvertTo} {
			if d := math.Abs(y - math.Round(y/s.Invert)*s.Invert); d > 1e-11 && d < 1e-7 {
				return true
			}
		}
	}
	return false
}

// In steps coarse enough to try every one of them, at every break, runs are the
// best there are.
func TestStepsAgainstEveryInvert(t *testing.T) {
	rng := rand.New(rand.NewPCG(40, 41))
	onSteps, offSteps, several := 0, 0, 0
	for k := 0; k < 4000; k++ {
		c := randomChain(rng, 3+rng.IntN(4))
		s := Steps{Invert: []float64{0.0625, 0.05, 0.1}[rng.IntN(3)], Grade: []float64{0.02, 0.1, 0.3}[rng.IntN(3)]}
		exact, err := Solve(c)
		if err != nil {
			continue
		}
		if len(exact) > 3 {
			continue // too many to try
		}
		laid, err := SolveIn(c, s)
		if err != nil {
			t.Fatal(err)
		}
		want, found := exhaustive(c, s, len(exact))
		got := standingOf(laid, s)
		switch {
		case !found && got.off == 0:
			t.Fatalf("corridor %d: %+v in steps, none is\n%+v", k, laid, c)
		case found && got.compare(want) != 0:
			t.Fatalf("corridor %d: %+v, the best is %+v\n%+v\n%+v %+v", k, got, want, laid, c, s)
		}
		if !found {
			offSteps++
			if best := mixed(c, s, exact); got.compare(best) != 0 && !grazes(exact, s) {
				t.Fatalf("corridor %d: %+v, the best is %+v\n%+v\n%+v %+v", k, got, best, laid, c, s)
			}
			continue
		}
		onSteps++
		if len(laid) > 1 {
			several++
		}
	}
	t.Logf("%d corridors in steps (%d of several runs), %d without room", onSteps, several, offSteps)
	if onSteps < 1500 || several < 300 || offSteps < 200 {
		t.Error("the corridors do not try enough")
	}
}

// Millimetres and tenths of a percent, and hundredths of either foot, keep
// every limit in as few runs as exact inverts.
func TestStepsKeepTheLaw(t *testing.T) {
	const corridors = 10000
	rng := rand.New(rand.NewPCG(42, 43))
	var runs, whole, inverts, off int
	for k := 0; k < corridors; k++ {
		c := randomChain(rng, 4+rng.IntN(9))
		s := Steps{Invert: []float64{0.001, 0.003048, 12.0 / 3937}[rng.IntN(3)], Grade: 0.001}
		exact, err := Solve(c)
		laid, err2 := SolveIn(c, s)
		if (err == nil) != (err2 == nil) || len(exact) != len(laid) {
			t.Fatalf("corridor %d: %d runs (%v), in steps %d (%v)", k, len(exact), err, len(laid), err2)
		}
		if err != nil {
			continue
		}
		if v := Check(c, laid); v != nil {
			t.Fatalf("corridor %d: %v\n%+v\n%+v", k, v, laid, c)
		}
		w := standingOf(laid, s)
		if w.off == 0 && area(laid) > area(exact)+1e-6 && len(laid) < 3 {
			t.Fatalf("corridor %d: less dug in steps (%g m2) than without (%g m2)", k, area(laid), area(exact))
		}
		if a := standingOf(exact, s); a.compare(w) > 0 {
			t.Fatalf("corridor %d: %+v in steps, %+v without\n%+v", k, w, a, c)
		}
		runs += len(laid)
		whole += w.whole
		inverts += len(laid) + 1
		off += w.off
	}
	t.Logf("%d runs, %d on whole grades; %d inverts, %d off the steps", runs, whole, inverts, off)
	if whole < runs/2 || off > inverts/2 {
		t.Error("too few numbers a crew can set")
	}
}

func TestStepsThatAreNone(t *testing.T) {
	c := rollingChain(rand.New(rand.NewPCG(5, 6)), 20, 40, 1)
	for _, s := range []Steps{{0, 0.001}, {0.001, 0}, {math.NaN(), 0.001}, {-1, 1}} {
		if _, err := SolveIn(c, s); !errors.As(err, new(*StepsError)) {
			t.Errorf("%+v: %v", s, err)
		}
	}
	if _, err := SolveIn(&Chain{}, Steps{0.001, 0.001}); !errors.As(err, new(*ChainError)) {
		t.Errorf("an empty chain: %v", err)
	}
}

// A corridor too narrow for a step keeps its exact inverts, and only there: the
// first invert may be 10.0003 to 10.0007 m, the last one anything from 9.5 on.
func TestStepsWithoutRoom(t *testing.T) {
	c := NewChain()
	c.Append([]constraint.Station{constraint.Free(0, 10.0007, 10.0003), constraint.Free(10, 9.9, 9.5)}, 0.01)
	s := Steps{Invert: 0.001, Grade: 0.001}
	laid, err := SolveIn(c, s)
	if err != nil || len(laid) != 1 {
		t.Fatal(laid, err)
	}
	r := laid[0]
	if s.OnInvert(r.InvertFrom) || !s.OnInvert(r.InvertTo) || !s.OnGrade(r) || Check(c, laid) != nil {
		t.Errorf("%+v", r)
	}
}
