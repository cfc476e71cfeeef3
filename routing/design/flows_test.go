package design

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// slowLawn designs the test lot with an inlet besides its roof, to which a lawn's
// water takes ten minutes.
func slowLawn(t *testing.T, rain func(duration float64) float64) *Result {
	t.Helper()
	nan := math.NaN()
	ground, site := testLot(0.05)
	site.Inlets = []constraint.Inlet{{ID: "ad", At: orb.Point{4, 27}, Rim: nan, GrateOpenArea: 0.02, GratePerimeter: 1}}
	c := testCriteria()
	c.Storm.Duration, c.Storm.Rain = 300, rain
	water := Water{
		Runoff: func(orb.Point) (float64, float64) { return 300, 105 },
		Travel: func(orb.Geometry) float64 { return 600 },
	}
	r, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	if r.Status != Feasible {
		t.Fatal(r.Verdict)
	}
	return r
}

// By hand the flows in each pipe: its inflows' times at the head of its run, walked
// along the pipes as printed, and of the rains of those times the one that brings
// most. Each inflow has the rain of its own time, 5 minutes for a roof.
func TestFlowsByTravel(t *testing.T) {
	rain := func(duration float64) float64 { return 5e-5 * math.Pow(300/duration, 0.4) }
	r := slowLawn(t, rain)
	n := &r.Network
	type water struct{ weighted, time float64 }
	upstream := func(k int) (list []water) {
		for _, in := range r.Inflows {
			time, v := 300.0, 0
			weighted := in.Area * 0.95
			if in.Kind == network.Inlet {
				time, weighted = 600, 105
			}
			if want := weighted * rain(time); math.Abs(in.Flow-want) > 1e-12 || in.TimeOfConc != time {
				t.Errorf("%s: %v m3/s at %v s, by hand %v", in.ID, in.Flow, in.TimeOfConc, want)
			}
			for n.Nodes[v].ID != in.ID {
				v++
			}
			head := time
			for ; n.Nodes[v].Out >= 0; v = n.Pipes[n.Nodes[v].Out].To {
				joins := 0
				for j := range n.Pipes {
					if n.Pipes[j].To == v {
						joins++
					}
				}
				if joins > 1 || n.Nodes[v].Kind.Inflow() {
					head = time
				}
				if n.Nodes[v].Out == k {
					list = append(list, water{weighted, head})
				}
				p := &n.Pipes[n.Nodes[v].Out]
				time += p.Length / p.Velocity
			}
		}
		return list
	}
	sum := 0.0
	for _, in := range r.Inflows {
		sum += in.Flow
	}
	for k := range n.Pipes {
		p := &n.Pipes[k]
		most, at := 0.0, 0.0
		for _, a := range upstream(k) {
			q := 0.0
			for _, b := range upstream(k) {
				q += b.weighted * math.Min(1, a.time/b.time) * rain(a.time)
			}
			if q > most {
				most, at = q, a.time
			}
		}
		if math.Abs(p.Flow-most) > flowSlack*most || math.Abs(p.RainDuration-at) > 1 {
			t.Errorf("%s: %v m3/s in %v s, by hand %v in %v", p.ID, p.Flow, p.RainDuration, most, at)
		}
		if out := n.Nodes[p.To].Out; out >= 0 && n.Pipes[out].Flow < p.Flow {
			t.Errorf("%s is laid for less than %s above it", n.Pipes[out].ID, p.ID)
		}
		if n.Nodes[p.To].Out < 0 && (p.Flow > 0.995*sum || p.RainDuration <= 300) {
			t.Errorf("the last pipe has %v m3/s of %v that enter, in %v s: no time was spent on the way", p.Flow, sum, p.RainDuration)
		}
	}
}

// Where one intensity is all that is given no time changes anything: flows add up.
func TestFlowsOfOneIntensity(t *testing.T) {
	r := slowLawn(t, nil)
	sum := 0.0
	for _, in := range r.Inflows {
		sum += in.Flow
	}
	for k := range r.Network.Pipes {
		if p := &r.Network.Pipes[k]; r.Network.Nodes[p.To].Out < 0 && math.Abs(p.Flow-sum) > 1e-12 {
			t.Errorf("%v m3/s leave, %v enter", p.Flow, sum)
		}
	}
}

// Between published return periods the rarer one's factor holds, and no more runs
// off than falls.
func TestFrequencyFactor(t *testing.T) {
	for years, want := range map[float64]float64{1: 1, 10: 1, 11: 1.1, 25: 1.1, 50: 1.2, 100: 1.25, 500: 1.25} {
		s := Storm{Years: years, Frequency: [4]float64{1, 1.1, 1.2, 1.25}}
		if got := s.Factor(); got != want {
			t.Errorf("%g years: %g, want %g", years, got, want)
		}
		if got := s.RunsOff(0.35); math.Abs(got-0.35*want) > 1e-15 {
			t.Errorf("%g years: %g of lawn runs off", years, got)
		}
		if got := s.RunsOff(0.95); got > 1 || years >= 25 && got != 1 {
			t.Errorf("%g years: %g of a roof runs off", years, got)
		}
	}
	if (Storm{Years: 100}).Factor() != 1 {
		t.Error("a storm without factors has one")
	}
}

// By hand: a lawn of 100 m2 at 0.35 and a roof of 100 m2 at 0.95, in a 100-year storm
// half as hard again: 1.5 x 1.25 x 0.35 and 1.5 x 1 of what falls on them.
func TestFlowsInARarerStorm(t *testing.T) {
	factors := [4]float64{1, 1.1, 1.2, 1.25}
	r := &Result{Storm: Storm{Intensity: tenth, Years: 10, Frequency: factors}}
	rare := Storm{Intensity: 1.5 * tenth, Years: 100, Frequency: factors}
	for _, c := range []struct{ weighted, want float64 }{{35, 1.5 * 1.25 * 35}, {95, 1.5 * 100}} {
		in := Inflow{Area: 100, Weighted: c.weighted, Flow: c.weighted * tenth}
		if got := r.FlowIn(&in, rare); math.Abs(got-c.want*tenth) > 1e-15 {
			t.Errorf("%g m2 weighted: %v m3/s, by hand %v", c.weighted, got, c.want*tenth)
		}
		if got := r.FlowIn(&in, r.Storm.Times(2)); math.Abs(got-2*in.Flow) > 1e-15 {
			t.Errorf("twice the storm brings %v of %v", got, in.Flow)
		}
	}
}
