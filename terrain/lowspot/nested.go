package lowspot

import (
	"cmp"
	"math"
	"slices"

	"curbfall/terrain/depression"
)

// Nested is a low spot inside another: until it spills it stands on its own,
// after that it is part of the larger one.
type Nested struct {
	LowSpot
	Spot   int // the low spot of Find it lies in
	Parent int // the nested one it lies in, by its place in the list; -1: in Spot itself
}

// Nest returns the low spots within those of Find, each before what lies in it: wherever
// two that each have at least least, and a tenth of the depth of what they lie in,
// join below the level at which their low spot spills, both are named. A smaller
// hollow in the bottom is not. tree is the hierarchy
// of the same surface, spots what Find made of it.
//
// The contributing area of a nested low spot is what drains into it before
// anything spills.
func Nest(tree *depression.Tree, spots []LowSpot, least Least) []Nested {
	n := nester{tree: tree, least: least, drains: make([]int, len(tree.Nodes)), cut: make([]bool, len(tree.Nodes))}
	n.catchments()
	at := At(len(tree.Of), spots)
	for _, root := range tree.Roots {
		if spot := at[tree.Nodes[root].Pit]; spot >= 0 {
			n.visit(root, int(spot), -1, tree.Nodes[root].Spill)
		}
	}
	return n.found
}

type nester struct {
	tree   *depression.Tree
	least  Least
	drains []int  // cells whose water comes to a node first
	cut    []bool // its catchment reaches the edge
	found  []Nested
}

// catchments counts what drains to each node.
func (n *nester) catchments() {
	g := n.tree.Surface
	for _, leaf := range n.tree.Of {
		if leaf != depression.None {
			n.drains[leaf]++
		}
	}
	eachBesideEdge(g, func(i int) {
		if leaf := n.tree.Of[i]; leaf != depression.None {
			n.cut[leaf] = true
		}
	})
	for k := range n.tree.Nodes {
		if p := n.tree.Nodes[k].Parent; p != depression.None {
			n.drains[p] += n.drains[k]
			n.cut[p] = n.cut[p] || n.cut[k]
		}
	}
}

// visit names what lies within a node that is itself named, or belongs to what
// is; rim is the level at which that spills.
func (n *nester) visit(node int32, spot, parent int, rim float32) {
	type task struct {
		node   int32
		parent int
		rim    float32
		depth  float64 // of the named one it belongs to
	}
	for stack := []task{{node, parent, rim, n.depth(node)}}; len(stack) > 0; {
		t := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		at := &n.tree.Nodes[t.node]
		if at.Leaf() {
			continue
		}
		both := n.counts(at.Children[0], t.depth) && n.counts(at.Children[1], t.depth)
		children := slices.Clone(at.Children[:])
		slices.SortFunc(children, func(a, b int32) int { // taken off the stack's end: the first pit's first
			return cmp.Compare(n.tree.Nodes[b].Pit, n.tree.Nodes[a].Pit)
		})
		for _, c := range children {
			next := task{c, t.parent, t.rim, t.depth}
			if both && n.tree.Nodes[c].Spill < t.rim {
				next.parent, next.rim, next.depth = len(n.found), n.tree.Nodes[c].Spill, n.depth(c)
				n.found = append(n.found, n.describe(c, spot, t.parent))
			}
			stack = append(stack, next)
		}
	}
}

// shareOfDepth is how deep a nested low spot is at least, of what it lies in: less
// is a dimple on the shore of a lake.
const shareOfDepth = 0.1

// counts tells whether a node is large enough to be named within something so
// deep, m.
func (n *nester) counts(node int32, in float64) bool {
	least := math.Max(n.least.Depth, math.Max(shareOfDepth*in, ofNoise[0].times*n.least.Noise))
	return n.depth(node) >= least && n.volume(node) >= n.least.Volume
}

// volume is what a node holds brim full, m3.
func (n *nester) volume(node int32) float64 {
	return n.tree.Nodes[node].Volume * n.tree.Surface.MetresPerZ * n.tree.Surface.CellArea()
}

// depth is how deep a node is brim full, m.
func (n *nester) depth(node int32) float64 {
	g := n.tree.Surface
	at := &n.tree.Nodes[node]
	return (float64(at.Spill) - float64(g.Z[at.Pit])) * g.MetresPerZ
}

func (n *nester) describe(node int32, spot, parent int) Nested {
	g := n.tree.Surface
	at := &n.tree.Nodes[node]
	s := Nested{Spot: spot, Parent: parent, LowSpot: LowSpot{
		Pit: int(at.Pit), SpillElevation: float64(at.Spill) * g.MetresPerZ, Depth: n.depth(node),
		Area: float64(at.Cells) * g.CellArea(), Volume: n.volume(node),
		ContributingArea: float64(n.drains[node]) * g.CellArea(), TouchesEdge: n.cut[node],
	}}
	for _, i := range n.tree.Within(node) {
		s.Cells = append(s.Cells, int(i))
	}
	return s
}
