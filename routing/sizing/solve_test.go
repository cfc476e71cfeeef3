package sizing

import (
	"errors"
	"math"
	"strings"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

var (
	four = constraint.Size{Nominal: "4 in", Inside: 0.100, Outside: 0.110, Roughness: 0.012}
	six  = constraint.Size{Nominal: "6 in", Inside: 0.150, Outside: 0.160, Roughness: 0.012}
)

func yardLimits() hydraulics.FlowLimits {
	return hydraulics.FlowLimits{SlopeMin: 0.01, SlopeMax: math.Inf(1), FillingMax: 1, VelocityMax: math.Inf(1)}
}

// twoInto is a yard of two laterals, 10 m each, into a main of 10 m: ground at
// 10.0 throughout, cover 0.3 m, 4 and 6 in, the price a trench's depth.
func twoInto(flows [3]float64) *Problem {
	p := &Problem{
		Sizes: []constraint.Size{four, six},
		Step:  0.01,
		Cost: Cost{
			Head: func(_, size int, up float64) float64 { return (10 - up) * 100 },
			Foot: func(_, size int, down float64) float64 { return (10-down)*100 + float64(size)*50 },
		},
	}
	for k, next := range []int{2, 2, -1} {
		pipe := Pipe{Next: next, Length: 10, Flow: flows[k]}
		for _, size := range p.Sizes {
			pipe.Choices = append(pipe.Choices, Choice{Stations: Trench([]Ground{{0, 10}, {10, 10}}, size, 0.3, 1), Limits: yardLimits()})
		}
		p.Pipes = append(p.Pipes, pipe)
	}
	return p
}

// By hand. 4 in at 1 % carries 0.1^(8/3) x 0.3117/0.012 x 0.1 = 5.60 L/s, 6 in
// 16.5. Laterals of 2 L/s keep 4 in: ceiling 10 - 0.3 - 0.105 = 9.595, so they
// start on 9.59 and end 0.10 lower on 9.49. The main's 5 L/s go in 4 in too: from
// 9.49 to 9.39. Cost 2 (41 + 51) + (51 + 61) = 296.
func TestTwoLateralsByHand(t *testing.T) {
	d, err := Solve(twoInto([3]float64{0.002, 0.002, 0.005}))
	if err != nil {
		t.Fatal(err)
	}
	want := []Run{{0, 9.59, 9.49}, {0, 9.59, 9.49}, {0, 9.49, 9.39}}
	for k, r := range d.Runs {
		if r.Size != want[k].Size || math.Abs(r.InvertUp-want[k].InvertUp) > 1e-9 || math.Abs(r.InvertDown-want[k].InvertDown) > 1e-9 {
			t.Errorf("pipe %d: %+v, by hand %+v", k, r, want[k])
		}
	}
	if math.Abs(d.Cost-296) > 1e-9 {
		t.Errorf("cost %g, by hand 296", d.Cost)
	}
}

// With 6 L/s the main is 6 in at 1 % (50 more), or 4 in on (6/5.60)^2 = 1.148 %,
// 2 levels lower at its end (2 more): the steeper one is cheaper.
func TestSteeperBeforeWider(t *testing.T) {
	d, err := Solve(twoInto([3]float64{0.002, 0.002, 0.006}))
	if err != nil {
		t.Fatal(err)
	}
	if r := d.Runs[2]; r.Size != 0 || math.Abs(r.InvertUp-r.InvertDown-0.12) > 1e-9 {
		t.Errorf("main %+v, by hand 4 in with a fall of 0.12 m", r)
	}
}

// A lateral that needs 6 in forces the main to 6 in, unless the main is the one
// pipe that may be smaller than what arrives.
func TestSizesDoNotShrinkButForTheLast(t *testing.T) {
	for _, shrinks := range []bool{false, true} {
		p := twoInto([3]float64{0.002, 0.002, 0.002})
		p.Pipes[1].Choices[0].Stations = nil // only 6 in
		p.Pipes[2].Shrinks = shrinks
		d, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if want := map[bool]int{false: 1, true: 0}[shrinks]; d.Runs[2].Size != want {
			t.Errorf("shrinks %v: main of size %d, want %d", shrinks, d.Runs[2].Size, want)
		}
	}
}

func TestInfeasible(t *testing.T) {
	for _, tt := range []struct {
		name  string
		spoil func(p *Problem)
		pipe  int
		cause Cause
		short float64
	}{
		{"nothing offered", func(p *Problem) { p.Pipes[1].Choices = make([]Choice, 2) }, 1, NotOffered, 0},
		// 100 L/s at no more than 2 %: 6 in carries 23.
		{"too much water", func(p *Problem) {
			p.Pipes[0].Flow = 0.1
			for d := range p.Sizes {
				p.Pipes[0].Choices[d].Limits.SlopeMax = 0.02
			}
		}, 0, NoSlope, 0},
		{"floor over ceiling", func(p *Problem) {
			for d := range p.Sizes {
				p.Pipes[2].Choices[d].Stations[0].Floor = 9.7
			}
		}, 2, NoCorridor, 0},
		// Laterals reach 9.49 at best and the main's end 9.39; the gutter asks 9.45.
		{"gutter too high", func(p *Problem) {
			for d := range p.Sizes {
				p.Pipes[2].Choices[d].Stations[1].Floor = 9.45
			}
		}, 2, NoFall, 0.06},
		{"join too high", func(p *Problem) {
			for d := range p.Sizes {
				p.Pipes[2].Choices[d].Stations[0].Floor = 9.52
			}
		}, 2, NoFall, 0.03},
		{"shut between", func(p *Problem) {
			for d := range p.Sizes {
				c := &p.Pipes[0].Choices[d]
				c.Stations = append(c.Stations[:1:1], constraint.Free(5, 8.9, 8.8), c.Stations[1])
			}
		}, 0, NoWay, 0},
		{"priced out", func(p *Problem) {
			p.Cost.Run = func(int, int, float64, float64) float64 { return math.Inf(1) }
		}, 0, NoWay, 0},
	} {
		p := twoInto([3]float64{0.002, 0.002, 0.005})
		tt.spoil(p)
		_, err := Solve(p)
		var none *InfeasibleError
		if !errors.As(err, &none) || none.Pipe != tt.pipe || none.Cause != tt.cause || math.Abs(none.Short-tt.short) > 1e-9 {
			t.Errorf("%s: %v, want pipe %d: %s, short %g", tt.name, err, tt.pipe, tt.cause, tt.short)
			continue
		}
		if says := err.Error(); !strings.Contains(says, string(tt.cause)) || strings.Contains(says, "missing") != (tt.short > 0) {
			t.Errorf("%s: says %q", tt.name, says)
		}
	}
}

func TestBadProblems(t *testing.T) {
	for _, tt := range []struct {
		says  string
		spoil func(p *Problem)
	}{
		{"no pipes", func(p *Problem) { p.Pipes = nil }},
		{"no sizes", func(p *Problem) { p.Sizes = nil }},
		{"step of levels", func(p *Problem) { p.Step = 0 }},
		{"unknown match", func(p *Problem) { p.Match = 7 }},
		{"smallest first", func(p *Problem) { p.Sizes = []constraint.Size{six, four} }},
		{"roughness must be above zero", func(p *Problem) { p.Sizes[1].Roughness = 0 }},
		{"which is not there", func(p *Problem) { p.Pipes[0].Next = 3 }},
		{"drains into itself", func(p *Problem) { p.Pipes[2].Next = 0 }},
		{"length must be above zero", func(p *Problem) { p.Pipes[0].Length = math.NaN() }},
		{"flow must not be negative", func(p *Problem) { p.Pipes[0].Flow = -1 }},
		{"has 1 choices for 2 sizes", func(p *Problem) { p.Pipes[0].Choices = p.Pipes[0].Choices[:1] }},
		{"limits of size 4 in", func(p *Problem) { p.Pipes[0].Choices[0].Limits.FillingMax = 1.1 }},
		{"out of order or not numbers", func(p *Problem) { p.Pipes[0].Choices[0].Stations[0].Ceiling = math.NaN() }},
		{"without bounds", func(p *Problem) { p.Pipes[0].Choices[0].Stations[0].Ceiling = math.Inf(1) }},
		{"run from 0 to 9 m of 10 m", func(p *Problem) { p.Pipes[0].Choices[0].Stations[1].S = 9 }},
		{"its cost in size 4 in is NaN", func(p *Problem) { p.Cost.Head = func(int, int, float64) float64 { return math.NaN() } }},
		{"its cost in size 4 in is -Inf", func(p *Problem) {
			p.Cost.Run = func(int, int, float64, float64) float64 { return math.Inf(-1) }
		}},
	} {
		p := twoInto([3]float64{0.002, 0.002, 0.005})
		tt.spoil(p)
		_, err := Solve(p)
		var bad *ProblemError
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("want %q, got %v", tt.says, err)
		}
	}
}
