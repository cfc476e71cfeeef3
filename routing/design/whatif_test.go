package design

import (
	"slices"
	"testing"

	"curbfall/routing/network"
)

// By hand: 3 and 1 L/s in the design storm of 100 mm/h; the pipe of both carries
// 5 L/s, the inlet overflows from one and a half times the storm.
func TestWhatIf(t *testing.T) {
	r := Result{
		Inflows: []Inflow{{Flow: 0.003}, {Flow: 0.001}},
		Network: network.Network{Pipes: []network.Pipe{{ID: "p1", Flow: 0.003, Capacity: 0.006}, {ID: "p2", Flow: 0.004, Capacity: 0.005}}},
		Spills:  []Spill{{Node: "in-1", Share: 1.5}, {Node: "ds-1", Share: 2.5}},
	}
	const hour = 3600.0
	s := Storm{Intensity: 0.1 / hour}
	for _, c := range []struct {
		intensity float64 // m/s
		flow      float64
		over      []string
		overflows []string
	}{
		{0.1 / hour, 0.004, nil, nil},
		{0.125 / hour, 0.005, nil, nil},
		{0.15 / hour, 0.006, []string{"p2"}, []string{"in-1"}},
		{0.3 / hour, 0.012, []string{"p1", "p2"}, []string{"in-1", "ds-1"}},
	} {
		w := r.WhatIf("storm", c.intensity, s)
		if d := w.Flow - c.flow; d > 1e-12 || d < -1e-12 || !slices.Equal(w.Over, c.over) || !slices.Equal(w.Overflows, c.overflows) {
			t.Errorf("%g m/s: got %v, want %v %v %v", c.intensity, w, c.flow, c.over, c.overflows)
		}
	}
}
