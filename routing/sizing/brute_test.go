package sizing

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// randomProblem is a tree of up to six pipes on a few levels. Costs are numbers
// drawn for each pipe, size and level, so nothing rises or falls smoothly.
func randomProblem(rng *rand.Rand) *Problem {
	p := &Problem{Step: 0.05, Datum: 10 + rng.Float64(), Match: Match(rng.IntN(2))}
	n := 1 + rng.IntN(6)
	for d := range 1 + rng.IntN(2) {
		inside := []float64{0.1, 0.15}[d]
		p.Sizes = append(p.Sizes, constraint.Size{Nominal: fmt.Sprint(inside), Inside: inside, Outside: inside + 0.01, Roughness: 0.012})
	}
	depth := make([]int, n) // pipes down to the outlet
	for k := range n {
		pipe := Pipe{Next: -1, Length: 2 + 8*rng.Float64(), Flow: 0.008 * rng.Float64(), Shrinks: rng.IntN(5) == 0}
		if k > 0 && rng.IntN(8) > 0 {
			pipe.Next = rng.IntN(k)
			depth[k] = depth[pipe.Next] + 1
		}
		// High enough above what lies below it that most trees can be built.
		base := p.Datum + 0.1*float64(depth[k])
		for _, size := range p.Sizes {
			top := base + 0.1*rng.Float64()
			ground := []Ground{{0, top + 0.45}, {pipe.Length, top + 0.35}}
			c := Choice{
				Stations: Trench(ground, size, 0.1, 0.25+0.1*rng.Float64()+size.Rise()),
				Limits: hydraulics.FlowLimits{SlopeMin: 0.002 * rng.Float64(), SlopeMax: 0.02 + 0.05*rng.Float64(),
					FillingMax: 0.6 + 0.4*rng.Float64(), VelocityMin: 0.2 * rng.Float64(), VelocityMax: 1.5},
			}
			if rng.IntN(2) == 0 {
				c.Stations = withInner(rng, c.Stations, pipe.Length)
			}
			if rng.IntN(20) == 0 {
				c.Stations = nil
			}
			pipe.Choices = append(pipe.Choices, c)
		}
		p.Pipes = append(p.Pipes, pipe)
	}
	p.Cost = randomCost(rng)
	return p
}

// withInner puts a limit or a utility somewhere along a pipe.
func withInner(rng *rand.Rand, st []constraint.Station, length float64) []constraint.Station {
	t := rng.Float64()
	middle := constraint.Free(t*length, st[0].Ceiling*(1-t)+st[1].Ceiling*t-0.05*rng.Float64(), st[0].Floor*(1-t)+st[1].Floor*t+0.05*rng.Float64())
	list := []constraint.Station{st[0], middle, st[1]}
	if rng.IntN(2) == 0 {
		at := &list[rng.IntN(3)]
		at.Low = at.Floor + (at.Ceiling-at.Floor)*rng.Float64()
		at.High = at.Low + 0.08*rng.Float64()
	}
	return list
}

// drawn is a number in [-10, 90) that only its arguments decide.
func drawn(seed uint64, pipe, size int, elevations ...float64) float64 {
	h := seed
	for _, v := range append(elevations, float64(pipe), float64(size)) {
		h = (h ^ uint64(math.Round(v*1e5))) * 0x9E3779B97F4A7C15
		h ^= h >> 29
	}
	return float64(h%10000)/100 - 10
}

func randomCost(rng *rand.Rand) Cost {
	var c Cost
	a, b, d := rng.Uint64(), rng.Uint64(), rng.Uint64()
	if rng.IntN(4) > 0 {
		c.Head = func(pipe, size int, up float64) float64 { return drawn(a, pipe, size, up) }
	}
	if rng.IntN(4) > 0 {
		c.Foot = func(pipe, size int, down float64) float64 { return drawn(b, pipe, size, down) }
	}
	if rng.IntN(3) == 0 {
		c.Run = func(pipe, size int, up, down float64) float64 { return drawn(d, pipe, size, up, down) }
	}
	return c
}

// enumerate tries every size and pair of levels of every pipe, each pipe after
// the one it drains to, and returns the least cost, +Inf where nothing fits.
func enumerate(p *Problem) float64 {
	best := math.Inf(1)
	var levels []float64 // all that any pipe of randomProblem can reach
	for l := -2; l <= 40; l++ {
		levels = append(levels, p.Datum+float64(l)*p.Step)
	}
	// Each pipe's own choices, from its own limits.
	type priced struct {
		size, up, down int // up and down index levels
		cost           float64
	}
	choices := make([][]priced, len(p.Pipes))
	chosen := make([]priced, len(p.Pipes))
	for k := range p.Pipes {
		for d, size := range p.Sizes {
			for i, up := range levels {
				for j, down := range levels[:i+1] {
					r := Run{d, up, down}
					if p.Match == Crowns {
						r.InvertUp, r.InvertDown = up-size.Inside, down-size.Inside
					}
					if keepsLimits(p, k, r) {
						choices[k] = append(choices[k], priced{d, i, j, priceOf(p, k, r)})
					}
				}
			}
		}
	}
	var try func(k int, cost float64)
	try = func(k int, cost float64) {
		if k == len(p.Pipes) {
			best = math.Min(best, cost)
			return
		}
		next := p.Pipes[k].Next
		for _, r := range choices[k] {
			if next >= 0 {
				n := &chosen[next]
				if r.down < n.up || r.size > n.size && !p.Pipes[next].Shrinks {
					continue
				}
			}
			chosen[k] = r
			try(k+1, cost+r.cost)
		}
	}
	try(0, 0)
	return best
}

func joins(p *Problem, r, next Run, shrinks bool) bool {
	arrives, leaves := r.InvertDown, next.InvertUp
	if p.Match == Crowns {
		arrives += p.Sizes[r.Size].Inside
		leaves += p.Sizes[next.Size].Inside
	}
	return arrives >= leaves-1e-9 && (shrinks || r.Size <= next.Size)
}

func priceOf(p *Problem, k int, r Run) float64 {
	sum := 0.0
	if p.Cost.Head != nil {
		sum += p.Cost.Head(k, r.Size, r.InvertUp)
	}
	if p.Cost.Foot != nil {
		sum += p.Cost.Foot(k, r.Size, r.InvertDown)
	}
	if p.Cost.Run != nil {
		sum += p.Cost.Run(k, r.Size, r.InvertUp, r.InvertDown)
	}
	return sum
}

// keepsLimits judges one pipe alone, its flow by the uniform flow on its slope.
func keepsLimits(p *Problem, k int, r Run) bool {
	const slack = 1e-9
	pipe := &p.Pipes[k]
	c := pipe.Choices[r.Size]
	for _, st := range c.Stations {
		y := r.InvertUp + (r.InvertDown-r.InvertUp)*st.S/pipe.Length
		if y > st.Ceiling+slack || y < st.Floor-slack || y > st.Low+slack && y < st.High-slack {
			return false
		}
	}
	slope := (r.InvertUp - r.InvertDown) / pipe.Length
	l := c.Limits
	if len(c.Stations) == 0 || slope < l.SlopeMin-slack || slope > l.SlopeMax+slack {
		return false
	}
	if slope <= 0 {
		return false // every limit of filling asks for some
	}
	u := hydraulics.NormalDepth(pipe.Flow, p.Sizes[r.Size].Inside, p.Sizes[r.Size].Roughness, slope)
	return !u.FlowsFull && u.DepthRatio <= l.FillingMax && u.Velocity >= l.VelocityMin && u.Velocity <= l.VelocityMax
}

func TestOptimalOnRandomTrees(t *testing.T) {
	rng := rand.New(rand.NewPCG(79, 5))
	const trees = 500
	infeasible, full := 0, 0
	for n := range trees {
		p := randomProblem(rng)
		want := enumerate(p)
		d, err := Solve(p)
		var none *InfeasibleError
		switch {
		case errors.As(err, &none):
			infeasible++
			if !math.IsInf(want, 1) {
				t.Fatalf("tree %d: %v, but it costs %g", n, err, want)
			}
			continue
		case err != nil:
			t.Fatalf("tree %d: %v", n, err)
		case math.Abs(d.Cost-want) > 1e-9*(1+math.Abs(want)):
			t.Fatalf("tree %d of %d pipes: cost %g, every choice tried %g", n, len(p.Pipes), d.Cost, want)
		}
		if len(p.Pipes) == 6 {
			full++
		}
		sum := 0.0
		for k, r := range d.Runs {
			sum += priceOf(p, k, r)
			if !keepsLimits(p, k, r) {
				t.Errorf("tree %d pipe %d: %+v breaks its limits", n, k, r)
			}
			if next := p.Pipes[k].Next; next >= 0 && !joins(p, r, d.Runs[next], p.Pipes[next].Shrinks) {
				t.Errorf("tree %d pipe %d: %+v does not join %+v", n, k, r, d.Runs[next])
			}
		}
		if math.Abs(sum-d.Cost) > 1e-9*(1+math.Abs(sum)) {
			t.Errorf("tree %d: says %g, its runs cost %g", n, d.Cost, sum)
		}
	}
	t.Logf("%d trees, %d infeasible, %d of the others with six pipes", trees, infeasible, full)
	if infeasible < trees/10 || infeasible > trees/2 || full < trees/20 {
		t.Errorf("%d of %d infeasible, %d others with six pipes: the trees have become one-sided", infeasible, trees, full)
	}
}

// tabled is a straight pipe as a way of its own: every pair of levels, priced.
type tabled struct {
	upLo, upHi, downLo, downHi int
	cost                       func(up, down int) float64 // +Inf where the limits forbid it
}

func (w tabled) Ends() (upLo, upHi, downLo, downHi int) { return w.upLo, w.upHi, w.downLo, w.downHi }

func (w tabled) least(heads []float64, down int) (up int, cost float64) {
	cost = math.Inf(1)
	for k, head := range heads {
		if c := head + w.cost(w.upLo+k, down); c <= cost {
			up, cost = w.upLo+k, c
		}
	}
	return up, cost
}

func (w tabled) Down(heads []float64) (feet []float64) {
	for down := w.downLo; down <= w.downHi; down++ {
		_, cost := w.least(heads, down)
		feet = append(feet, cost)
	}
	return feet
}

func (w tabled) Up(heads []float64, down int) int {
	up, _ := w.least(heads, down)
	return up
}

// Pipes with a way of their own, beside straight ones, cost what they cost as
// straight ones.
func TestWaysOfTheirOwn(t *testing.T) {
	rng := rand.New(rand.NewPCG(79, 6))
	swapped := 0
	for n := range 200 {
		p := randomProblem(rng)
		p.Cost.Run = nil
		want, err := Solve(p)
		q := *p
		q.Pipes = slices.Clone(p.Pipes)
		for k := range q.Pipes {
			q.Pipes[k].Choices = slices.Clone(p.Pipes[k].Choices)
			for d := range q.Pipes[k].Choices {
				if c := &q.Pipes[k].Choices[d]; len(c.Stations) > 0 && rng.IntN(2) == 0 {
					*c = Choice{Way: tabled{-2, 40, -2, 40, func(up, down int) float64 {
						s := solver{Problem: p}
						if !keepsLimits(p, k, Run{d, s.invert(d, up), s.invert(d, down)}) {
							return math.Inf(1)
						}
						return 0
					}}}
					swapped++
				}
			}
		}
		got, again := Solve(&q)
		switch {
		case (err == nil) != (again == nil):
			t.Fatalf("tree %d: %v, with ways of their own %v", n, err, again)
		case err == nil && math.Abs(got.Cost-want.Cost) > 1e-9*(1+math.Abs(want.Cost)):
			t.Fatalf("tree %d: cost %g, with ways of their own %g", n, want.Cost, got.Cost)
		}
	}
	if swapped < 300 {
		t.Errorf("%d ways are too few to try", swapped)
	}
}
