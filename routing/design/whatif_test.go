package design

import (
	"math"
	"slices"
	"testing"

	"curbfall/routing/network"
)

// inletAndRoof is an inlet of 3 L/s and, 60 m of pipe below it, a downspout of 1 L/s,
// both into one pipe: node 0 to 1 to 2.
func inletAndRoof() *Result {
	return &Result{
		Inflows: []Inflow{
			{ID: "in-1", Kind: network.Inlet, Flow: 0.003, Weighted: 0.003 / tenth, TimeOfConc: 300, Status: Served},
			{ID: "ds-1", Kind: network.Downspout, Flow: 0.001, Weighted: 0.001 / tenth, TimeOfConc: 300, Status: Served},
		},
		Network: network.Network{
			Nodes: []network.Node{{ID: "in-1", Kind: network.Inlet, Out: 0}, {ID: "ds-1", Kind: network.Downspout, Out: 1}, {ID: "outlet", Kind: network.OutletNode, Out: -1}},
			Pipes: []network.Pipe{
				{ID: "p1", From: 0, To: 1, Length: 60, Velocity: 0.5, Flow: 0.003, Capacity: 0.006},
				{ID: "p2", From: 1, To: 2, Length: 10, Velocity: 0.5, Flow: 0.004, Capacity: 0.005},
			},
		},
		Spills: []Spill{{Node: "in-1", Kind: network.Inlet, Share: 1.5}, {Node: "ds-1", Kind: network.Downspout, Share: 2.5}},
	}
}

// tenth is 100 mm/h, m/s.
const tenth = 0.1 / 3600

// By hand: 3 and 1 L/s in the design storm of 100 mm/h; the pipe of both carries
// 5 L/s, the inlet overflows from one and a half times the storm.
func TestWhatIf(t *testing.T) {
	r, s := inletAndRoof(), Storm{Intensity: tenth}
	r.Storm = s
	for _, c := range []struct {
		times     float64
		flow      float64
		over      []string
		overflows []string
	}{
		{1, 0.004, nil, nil},
		{1.25, 0.005, nil, nil},
		{1.5, 0.006, []string{"p2"}, []string{"in-1"}},
		{3, 0.012, []string{"p1", "p2"}, []string{"in-1", "ds-1"}},
	} {
		w := r.WhatIf("storm", s.Times(c.times))
		if d := w.Flow - c.flow; d > 1e-12 || d < -1e-12 || !slices.Equal(w.Over, c.over) || !slices.Equal(w.Overflows, c.overflows) {
			t.Errorf("%g times: got %v, want %v %v %v", c.times, w, c.flow, c.over, c.overflows)
		}
	}
}

// By hand: water takes 60 m / 0.5 m/s = 120 s from the inlet to the downspout, so
// the first pipe has the rain of 300 s and the second that of 420 s, which is nine
// tenths of it: 4 x 0.9 = 3.6, where that of 300 s brings 1 + 3 x 300/420 = 3.14. A
// storm 1.4 times as hard over 300 s and 1.25 times over 420 s brings 4.5, or 1.4 x
// 3.14 = 4.4: 1.25 times the second pipe's flow, 5.0 L/s. It just holds.
func TestWhatIfByDuration(t *testing.T) {
	r := inletAndRoof()
	rain := func(short, long float64) Storm {
		return Storm{Intensity: short * tenth, Rain: func(d float64) float64 {
			if d == 300 {
				return short * tenth
			}
			return long * tenth
		}}
	}
	harder := rain(1.4, 0.9*1.25)
	r.Storm = rain(1, 0.9)
	list := arrivals(&r.Network, r.Inflows, asDesigned)
	if got := list[1][0].Time; len(list[0]) != 1 || len(list[1]) != 2 || got != 420 || list[1][1].Time != 300 || list[0][0].Time != 300 {
		t.Fatalf("%v", list)
	}
	w := r.WhatIf("storm", harder)
	if math.Abs(w.Flow-0.0056) > 1e-12 || len(w.Over) > 0 || len(w.Overflows) > 0 {
		t.Errorf("%+v", w)
	}
	r.Network.Pipes[1].Capacity = 0.00499
	if w := r.WhatIf("storm", harder); !slices.Equal(w.Over, []string{"p2"}) {
		t.Errorf("%+v", w)
	}
}
