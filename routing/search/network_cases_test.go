package search

import (
	"context"
	"fmt"
	"math"
	"testing"
)

func runNetwork(t *testing.T, c *caseFile) {
	g, targets := c.lattice(asFiled())
	feasible := true
	for k, s := range c.Sources {
		i, j := s.Cell[0], s.Cell[1]
		g.startAt(j*c.NX+i, c.nodes(nil, i, j, 0, asFiled()), math.Inf(1))
		m, _ := g.forward(k, targets)
		feasible = feasible && m >= -1e-9
	}
	if feasible != c.Expected.Feasible {
		t.Errorf("feasible %v, want %v", feasible, c.Expected.Feasible)
	}
	if !feasible {
		return
	}
	n := c.network(t, g, targets, len(targets))
	for _, v := range n.verdicts {
		if !v.Served {
			t.Fatalf("a source is left out: %+v", n.verdicts)
		}
	}
	if n.broken != nil {
		t.Fatal(n.broken)
	}
	want := *c.Expected.Cost
	if n.cost < want-c.tolerance("cost") {
		t.Fatalf("cost %.9f is below the optimum %.9f", n.cost, want)
	}
	gap := n.cost/want - 1
	networkGaps = append(networkGaps, gap)
	if gap > networkWorst {
		t.Errorf("cost %.6f, %.2f %% above the optimum %.6f", n.cost, 100*gap, want)
	}
	t.Logf("%d sources, cost %.6f, %.3f %% above the optimum", len(c.Sources), n.cost, 100*gap)
}

// networkWorst and networkMean are how far networks may be from the optimum.
const (
	networkWorst = 0.02
	networkMean  = 0.005
)

// networkGaps are those of the cases run.
var networkGaps []float64

// joined is a network as laid, priced and walked by the case's own words.
type joined struct {
	vertices []Vertex
	verdicts []Verdict
	cost     float64
	broken   error
}

// network joins the sources to at most so many outlets.
func (c *caseFile) network(t *testing.T, g *Search, targets []target, outlets int) (n joined) {
	t.Helper()
	c.poseOutlets(g, targets, outlets)
	j, err := g.Join(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	n.vertices, n.verdicts = j.Vertices, j.Verdicts
	n.cost, n.broken = c.walkTrees(n.vertices, targets, outlets)
	return n
}

// poseOutlets puts an outlet at every target, an end of no length.
func (c *caseFile) poseOutlets(g *Search, targets []target, outlets int) {
	g.OutletsMax, g.OutletCost, g.MayCross = outlets, c.OutletCost, true
	g.all = true
	for _, x := range targets {
		g.Outlets = append(g.Outlets, Outlet{At: g.At(x.node), MinInvert: x.min})
		g.byNode[x.node] = append(g.byNode[x.node], int32(len(g.ends)))
		g.ends = append(g.ends, link{x.node, len(g.Outlets) - 1, arc{ok: true, ceil: math.Inf(1), need: math.Inf(-1)}})
	}
}

// walkTrees prices trees and proves them by the case model's words: each cell
// has one way out, the lowest invert that arrives goes on.
func (c *caseFile) walkTrees(list []Vertex, targets []target, outlets int) (cost float64, err error) {
	cell := func(v int) [2]int {
		return [2]int{int(math.Round(list[v].At[0] / c.Cell)), int(math.Round(list[v].At[1] / c.Cell))}
	}
	next := map[[2]int]int{} // vertex that leaves a cell
	high := make([]float64, len(list))
	waiting := make([]int, len(list))
	for v, x := range list {
		high[v] = math.Inf(1)
		if x.Next >= 0 {
			waiting[x.Next]++
		}
		if x.Source >= 0 || x.Outlet >= 0 {
			continue // at a cell that has a vertex of its own
		}
		if _, twice := next[cell(v)]; twice {
			return 0, fmt.Errorf("cell %v has two ways out", cell(v))
		}
		next[cell(v)] = v
	}
	used, walked := map[int]bool{}, 0
	for again := true; again; {
		again = false
		for v, x := range list {
			if waiting[v] != 0 {
				continue
			}
			waiting[v], again = -1, true
			walked++
			if x.Outlet >= 0 {
				if m := targets[x.Outlet].min; high[v] < m-1e-7 || used[x.Outlet] {
					return 0, fmt.Errorf("outlet %d is reached at %.6f, %.6f asked (used: %v)", x.Outlet, high[v], m, used[x.Outlet])
				}
				used[x.Outlet] = true
				cost += c.OutletCost
				continue
			}
			a, b := cell(v), cell(x.Next)
			length := c.Cell * math.Hypot(float64(b[0]-a[0]), float64(b[1]-a[1]))
			if length > 1.5*c.Cell || !c.open(a[0], a[1]) || !c.open(b[0], b[1]) || !c.open(a[0], b[1]) || !c.open(b[0], a[1]) {
				return 0, fmt.Errorf("no way from %v to %v", a, b)
			}
			y, ok := c.down(a[0], a[1], high[v])
			if !ok {
				return 0, fmt.Errorf("invert %.6f is not admissible at %v", high[v], a)
			}
			cost += length
			high[x.Next] = math.Min(high[x.Next], y-c.SMin*length)
			waiting[x.Next]--
		}
	}
	if walked != len(list) || len(used) > outlets {
		return 0, fmt.Errorf("%d of %d vertices drain, to %d outlets of %d", walked, len(list), len(used), outlets)
	}
	return cost, nil
}
