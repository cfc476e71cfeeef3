package design

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/profile"
)

// rollingLine is a corridor over rough ground from an elevation on, 1 % or more.
func rollingLine(rng *rand.Rand, z float64) *profile.Chain {
	c := profile.NewChain()
	var line []constraint.Station
	for k := range 9 {
		line = append(line, constraint.Free(2*float64(k), z, z-0.1-0.1*rng.Float64()))
		z += -0.04 + 0.16*(rng.Float64()-0.5)
	}
	c.Append(line, 0.01)
	return c
}

// fewestRuns is the fewest runs of a chain, many where there are none.
func fewestRuns(c *profile.Chain, high, end float64) int {
	e := *c
	e.StartHigh, e.EndMin = high, end
	laid, err := profile.Solve(&e)
	if err != nil {
		return 1000
	}
	return len(laid)
}

// Two laterals into a main: no invert at the wye, tried every 2 mm, takes fewer
// grades in all than holdDown does.
func TestFewestGradesOverATree(t *testing.T) {
	rng := rand.New(rand.NewPCG(50, 51))
	tried, saved, several, easy := 0, 0, 0, 0
	for tried < 120 {
		l := &layer{job: &job{criteria: Criteria{InvertStep: 0.001}}}
		l.t = tree{{next: 2, inflow: 0, outlet: -1}, {next: 2, inflow: 1, outlet: -1}, {next: 3, inflow: -1, outlet: -1}, {next: -1, inflow: -1, outlet: 0}}
		l.chains = l.t.chains()
		l.runs = make([][]profile.Run, 3)
		a, b := rollingLine(rng, 100), rollingLine(rng, 100)
		main := rollingLine(rng, 99.66)
		l.at = []profile.Chain{*a, *b, *main}
		if !l.arrive(0) {
			continue
		}
		plain := 0 // the main as high as can arrive
		high := l.at[2].StartHigh
		if laid, err := profile.Solve(&l.at[2]); err == nil {
			head := laid[0].InvertFrom - joinSlack
			plain = len(laid) + fewestRuns(a, math.Inf(1), head) + fewestRuns(b, math.Inf(1), head)
		}
		if err := l.grade(); err != nil {
			t.Fatal(err)
		}
		got := 0
		for k, runs := range l.runs {
			got += len(runs)
			if v := profile.Check(eased(&l.at[k]), runs); v != nil {
				t.Fatal(v)
			}
			if profile.Check(&l.at[k], runs) != nil {
				easy++
			}
			if k < 2 && runs[len(runs)-1].InvertTo < l.runs[2][0].InvertFrom-joinSlack-constraint.Tolerance {
				t.Fatalf("lateral %d comes in at %.4f below the main at %.4f", k, runs[len(runs)-1].InvertTo, l.runs[2][0].InvertFrom)
			}
		}
		best := 1000
		for y := high; y > high-0.25; y -= 0.002 {
			best = min(best, fewestRuns(main, y, math.Inf(-1))+fewestRuns(a, math.Inf(1), y)+fewestRuns(b, math.Inf(1), y))
		}
		if got > best {
			t.Fatalf("%d grades, %d are enough", got, best)
		}
		tried++
		if got > 3 {
			several++
		}
		saved += plain - got
	}
	t.Logf("%d trees, %d of them of more than a grade each; %d grades fewer than as high as can arrive", tried, several, saved)
	if several < 20 || saved < 10 || easy > 1 {
		t.Error("the trees do not try enough")
	}
}
