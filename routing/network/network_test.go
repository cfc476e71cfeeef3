package network

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

func TestFitting(t *testing.T) {
	// West to east, up by 22.5 degrees at b, straight on at c where a pipe joins at
	// 45, by 33.6 at d, and ended at e.
	at := []orb.Point{{0, 0}, {1, 0}}
	for _, degrees := range []float64{22.5, 22.5, 56.1} {
		s, c := math.Sincos(degrees * math.Pi / 180)
		last := at[len(at)-1]
		at = append(at, orb.Point{last[0] + c, last[1] + s})
	}
	s, c := math.Sincos(67.5 * math.Pi / 180)
	at = append(at, orb.Point{at[2][0] - c, at[2][1] - s})
	var n Network
	for v, next := range []int{1, 2, 3, 4, -1, 2} {
		node := Node{Kind: Bend, At: at[v], Out: -1}
		if next >= 0 {
			node.Out = len(n.Pipes)
			n.Pipes = append(n.Pipes, Pipe{From: v, To: next})
		}
		n.Nodes = append(n.Nodes, node)
	}
	n.Nodes[0].Kind, n.Nodes[5].Kind, n.Nodes[2].Kind, n.Nodes[3].Kind, n.Nodes[4].Kind = Downspout, Inlet, Wye, Cleanout, OutletNode
	n.Pipes[n.Nodes[2].Out].Size.Diameter = -0.1 // narrower than those that come in
	n.Pipes[n.Nodes[3].Out].Size.Diameter = -0.1
	for v, want := range []string{"downspout", "bend 22.5", "wye 45 and reducer", "cleanout bend 33.6", "outlet", "inlet"} {
		if got := n.Fitting(v); got != want {
			t.Errorf("%d: %q, want %q", v, got, want)
		}
	}
}
