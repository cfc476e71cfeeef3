package design

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// opens tells whether a line can be opened at a node.
func opens(k network.NodeKind) bool {
	return k == network.Cleanout || k == network.SedimentTrap || k == network.Inlet || k == network.ChannelDrain
}

// reached tells whether some opening upstream of a pipe's lower end reaches it:
// with at most so much pipe, m, and so much turning, radians, on the way.
func reached(n *network.Network, pipe int, length, turn float64) bool {
	p := &n.Pipes[pipe]
	if length -= p.Length; length < -nodeApart || turn < -turnRounding {
		return false
	}
	from := n.Nodes[p.From]
	found, above := opens(from.Kind), 0
	for k := range n.Pipes {
		if q := &n.Pipes[k]; !found && q.To == p.From {
			above++
			found = reached(n, k, length, turn-turnAt(n.Nodes[q.From].At, from.At, n.Nodes[p.To].At))
		}
	}
	// A downspout whose first pipe is too short for a trap is opened itself.
	return found || above == 0 && from.Kind == network.Downspout && p.Length < trapLeast
}

// Every pipe but the outlet pipe is reached from an opening within the spacing
// and 45 degrees of bends, for long spacings and short ones; every downspout
// with a lateral of its own has a trap next to it; a cleanout stands near the
// outlet pipe, which no node cuts.
func TestEveryPipeCanBeOpened(t *testing.T) {
	kinds := map[network.NodeKind]int{}
	for _, spacing := range []float64{15.24, 8, 4, 2.5} {
		for _, setback := range []float64{0.61, 1.2, 0.1} {
			r := designed(t, 0.05, func(c *Criteria, _ *constraint.Site) {
				c.Limits.CleanoutSpacing, c.Limits.RoofSetback = spacing, setback
			})
			n := &r.Network
			if r.Status != Feasible {
				t.Fatal(r.Verdict)
			}
			into := make([]int, len(n.Nodes))
			for k := range n.Pipes {
				into[n.Pipes[k].To]++
			}
			for k := range n.Pipes {
				p := &n.Pipes[k]
				reach := spacing
				if p.Size.Diameter > largerCleanout {
					reach *= 2
				}
				from, to := n.Nodes[p.From], n.Nodes[p.To]
				reach += openingBeside                                                                   // no nearer to a fitting than that
				below := to.Kind == network.SedimentTrap || opens(to.Kind) && p.Length < 2*openingBeside // opened from there
				if p.Role != network.OutletPipe && !below && !reached(n, k, reach, cleanoutTurn) {
					t.Errorf("spacing %g m: pipe %s, %.2f m from %s %s to %s, is reached from no opening", spacing, p.ID, p.Length, from.Kind, from.ID, to.Kind)
				}
				if from.Kind == network.Downspout && into[p.From] == 0 && p.Length >= trapLeast && to.Kind != network.SedimentTrap {
					t.Errorf("downspout %s drains to a %s %.2f m off", from.ID, to.Kind, p.Length)
				}
				if p.Role == network.OutletPipe && !reached(n, k, p.Length+openingNear, math.Pi) {
					t.Errorf("spacing %g m: no opening near the outlet pipe", spacing)
				}
			}
			for _, v := range n.Nodes {
				kinds[v.Kind]++
			}
		}
	}
	if t.Log(kinds); kinds[network.Cleanout] < 20 || kinds[network.SedimentTrap] < 20 {
		t.Error("too few openings to try")
	}
}

func TestTurnAt(t *testing.T) {
	for _, c := range []struct {
		to   orb.Point
		want float64
	}{{orb.Point{2, 0}, 0}, {orb.Point{2, 1}, math.Pi / 4}, {orb.Point{1, -1}, math.Pi / 2}, {orb.Point{0, 0}, math.Pi}} {
		if got := turnAt(orb.Point{0, 0}, orb.Point{1, 0}, c.to); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("to %v: %g, want %g", c.to, got, c.want)
		}
	}
}
