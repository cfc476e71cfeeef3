// Package storm finds where a given amount of water ends up on a surface: what
// stands in which depression, what the drains take, and what runs off.
//
//	 | rain |        | rain |        a pond fills, spills into the next, and
//	\        /\              /        the two join once both stand at the
//	 \~~~~~~/  \~~__        /         saddle between them
//	  \____/    \___\______/
package storm

import (
	"fmt"
	"math"

	"curbfall/terrain/depression"
)

// Delivery is water let out at a cell, such as a roof's at its downspout.
type Delivery struct {
	Cell   int
	Volume float64 // m3
}

// Drain is a cell that swallows water up to a capacity: what runs over it, and
// what would stand above it. With no capacity it is as if it were not there.
type Drain struct {
	Cell     int
	Capacity float64 // m3; may be infinite
}

// Water is what comes down, and what takes it.
type Water struct {
	// Runoff is the depth of water that leaves a cell's ground, m; it is asked
	// once for each cell that is not void, in their order.
	Runoff     func(cell int) float64
	Deliveries []Delivery
	// Drains must be sinks of the tree, see depression.Build.
	Drains []Drain
}

// Pond is water standing in a depression, or in several that it has joined.
type Pond struct {
	Node   int32   // of the tree
	Level  float64 // m
	Depth  float64 // greatest, m
	Area   float64 // of wet cells, m2
	Volume float64 // m3
	Full   bool    // it stands at its spill level
}

// Result is where the water of a storm ended up. In = Ponded + Lost + what the
// drains took, to one part in 1e9 or better.
type Result struct {
	In, Ponded, Lost float64   // m3; Lost left the grid
	Drained          []float64 // m3, by drain
	Ponds            []Pond    // in the order of their nodes
	Spilled          []float64 // m3 that ran out over its saddle, by node that stands full
	Depth            []float32 // m, by cell; 0 where dry or void
}

// BadWater is water or a drain that cannot be where it is said to be.
type BadWater struct {
	Cell   int
	Reason string
}

func (e *BadWater) Error() string { return fmt.Sprintf("cell %d: %s", e.Cell, e.Reason) }

// Run lets water come down on a tree and returns where it stands once all has
// run its course. There are no losses but the drains' and over the grid's
// edge. Where two ponds may spill either way the tree's order decides.
//
// Cost: a walk of the tree, and the sorting of the cells under ponds that are
// not full. Errors are of type *BadWater.
//
// Source: Barnes, Callaghan, Wickert 2021, Fill-Spill-Merge,
// 10.5194/esurf-9-105-2021 (from memory): here each depression's total is
// settled from the top of the tree down.
func Run(t *depression.Tree, w Water) (*Result, error) {
	p, err := Pour(t, w)
	if err != nil {
		return nil, err
	}
	capacity := make([]float64, len(w.Drains))
	for k, d := range w.Drains {
		capacity[k] = d.Capacity
	}
	return p.Settle(capacity, nil)
}

// What a node does once the storm is over.
const (
	idle    = iota // dry, or part of what its children or parent do
	full           // stands at its spill level
	partial        // stands below it, its children, if any, drowned
)

type state struct {
	*Pouring
	water []float64         // m3 that come to rest in each node, its children's included
	holds []float64         // m3 it can take, drains included
	hole  map[int32]float64 // m3 the drains of a pit's node can take
	does  []uint8
	r     *Result

	in, lost, ponded sum // m3
}

// sum adds many small numbers and keeps what each addition rounds off, so that
// the water of a hundred million cells still balances.
//
// Source: Neumaier 1974, 10.1002/zamm.19740540106 (from memory).
type sum struct{ large, rounded float64 }

func (s *sum) add(v float64) {
	t := s.large + v
	if math.Abs(s.large) >= math.Abs(v) {
		s.rounded += s.large - t + v
	} else {
		s.rounded += v - t + s.large
	}
	s.large = t
}

func (s *sum) total() float64 { return s.large + s.rounded }

// open gives the drains' nodes their holes, and all nodes what they can take.
func (s *state) open(capacity []float64) error {
	for k, d := range s.drains {
		if !(capacity[k] >= 0) {
			return &BadWater{d.Cell, fmt.Sprintf("a drain with a capacity of %v m3, which must not be negative", capacity[k])}
		}
		s.hole[s.t.Of[d.Cell]] += capacity[k]
	}
	holes := make([]float64, len(s.t.Nodes))
	for k := range s.t.Nodes {
		n := &s.t.Nodes[k]
		holes[k] += s.hole[int32(k)]
		s.holds[k] = n.Volume*s.unit + holes[k]
		if n.Parent != depression.None {
			holes[n.Parent] += holes[k]
		}
	}
	return nil
}

// settle finds what the nodes of one tree do. Trees are settled from the
// highest spill down, so all that spills into one has come before it is its
// turn.
func (s *state) settle(root int32) {
	if s.water[root] >= s.holds[root] {
		s.fill(root, depression.None)
		return
	}
	stack := []int32{root}
	for len(stack) > 0 {
		k := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		n := &s.t.Nodes[k]
		if s.water[k] <= 0 {
			continue
		}
		if n.Leaf() || s.water[k] >= s.holds[n.Children[0]]+s.holds[n.Children[1]] {
			s.does[k] = partial
			continue
		}
		a, b := n.Children[0], n.Children[1]
		if s.water[b] > s.holds[b] {
			a, b = b, a
		}
		if s.water[a] < s.holds[a] {
			stack = append(stack, a, b)
			continue
		}
		s.fill(a, k)
		if s.water[b] >= s.holds[b] {
			s.fill(b, k)
		} else {
			stack = append(stack, b)
		}
	}
}

// fill leaves a node full and hands what is over to where it spills, within a
// node or, for None, anywhere.
func (s *state) fill(k, within int32) {
	s.does[k] = full
	over := s.water[k] - s.holds[k]
	if over <= 0 {
		return
	}
	s.water[k] = s.holds[k]
	s.r.Spilled[k] = over
	n := s.t.Nodes[k].Into
	if n == depression.None {
		s.lost.add(over)
		return
	}
	for ; n != within && n != depression.None; n = s.t.Nodes[n].Parent {
		s.water[n] += over
	}
}
