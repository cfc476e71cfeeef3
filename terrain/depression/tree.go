// Package depression builds the hierarchy of a surface's depressions: which
// spills into which, at what level, and how much each holds.
//
//	\               /
//	 \   /\        /      nodes 0 and 1 are the two pits; node 2 is both
//	  \_/  \  /\  /       joined, once water stands above the saddle between
//	   0    \/  \/
//	         1
package depression

import (
	"math"
	"math/bits"
	"slices"

	"curbfall/terrain/basin"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// None stands for no node.
const None = -1

// Node is a depression: a pit's, or two joined.
type Node struct {
	Parent   int32    // the node it is part of once it spills, None where it spills outside
	Children [2]int32 // the two joined, None for a pit's
	Into     int32    // the pit's node that gets what spills, None for the outside
	Pit      uint32   // its lowest cell, the first among equals
	Saddle   uint32   // the cell over which it spills
	Cells    uint32   // below its spill level
	Spill    float32  // the elevation at which it spills, in the raster's unit
	// Volume is what it holds brim full: in the raster's vertical unit times
	// cells. A sum of positive terms taken from level to level, so it keeps its
	// digits whatever the height of the ground above its datum.
	Volume float64
}

// Leaf tells whether a node is a pit's.
func (n *Node) Leaf() bool { return n.Children[0] == None }

// Tree is the hierarchy of a surface. Nodes of pits come first, in the order
// of their cells; any other stands after its children. Trees is the nodes that
// spill outside or into another such tree, by rising level.
type Tree struct {
	Surface *grid.Grid
	Nodes   []Node
	Roots   []int32
	Leaves  int
	// Of has for each cell the node of the pit it drains to, None for cells that
	// drain outside or are void.
	Of []int32

	first   []uint32 // by node: where the cells it covers start in covered
	covered []uint32 // cells below any spill level, those of a node and of those within it together
}

// Build returns the hierarchy of a surface's depressions. sinks are cells that
// swallow water, such as drains: each is a pit of its own, even on a slope,
// where it holds nothing. A sink that drains out or is void is passed over:
// Tree.Of there is None.
//
// Equal saddles are taken in the order of their cells, and over one cell the
// steepest way first. The answer does not depend on the number of cores.
//
// Cost: O(n), but for a logarithm of the tree's height where water can stand;
// 48 bytes a node, four a cell and four a cell where water can stand; while it
// runs, a byte a cell more, and first 32 a pass, then 28 a node.
//
// Source: Barnes, Callaghan, Wickert 2020, Computing water flow through complex
// landscapes, 10.5194/esurf-8-431-2020 (from memory); saddles are found as in
// terrain/fill.
func Build(surface *grid.Grid, sinks []int) *Tree {
	dir := flow.Directions(surface)
	for _, i := range sinks {
		if dir[i] != flow.Out && dir[i] != flow.Void {
			dir[i] = flow.Pit
		}
	}
	level(surface, dir, sinks)
	labels := basin.Follow(dir, surface.Cols)
	t := &Tree{Surface: surface, Leaves: len(labels.Pits)}
	t.merge(basin.Sorted(passes(surface, dir, labels)), labels.Pits)
	t.measure(labels.Of)
	return t
}

// level makes one pit of each flat of pits: its first cell. Sinks stay their
// own.
func level(g *grid.Grid, dir []uint8, sinks []int) {
	sink := make(map[int]bool, len(sinks))
	for _, i := range sinks {
		sink[i] = true
	}
	var queue []int
	for i := range flow.Pits(dir, 0, len(dir)) {
		if sink[i] {
			continue
		}
		queue = append(queue[:0], i)
		for k := 0; k < len(queue); k++ {
			at := queue[k]
			c, r := g.Cell(at)
			for n, s := range grid.Steps {
				j := g.Index(c+s.Col, r+s.Row)
				if dir[j] == flow.Pit && g.Z[j] == g.Z[i] && j != i && !sink[j] {
					dir[j] = 1 << ((n + 4) % 8) // back to where it was met
					queue = append(queue, j)
				}
			}
		}
	}
}

// passes lists where catchments meet: over each cell whose ring has two or
// more arcs, from the cell's own catchment to that of each arc's steepest
// neighbour. A cell that does not fall may have its own pit elsewhere than any
// arc, so it counts with one.
func passes(g *grid.Grid, dir []uint8, labels *basin.Labels) []basin.Pass {
	s := &saddles{g: g, labels: labels.Of, weight: flow.Weights(g)}
	codes := basin.Offsets(g.Cols)
	for k := range s.step {
		s.step[k] = codes[1<<k]
	}
	rows := make([][]basin.Pass, g.Rows)
	grid.OnBands(grid.Bands(g.Rows), func(_ int, b grid.Band) {
		rings := make([]uint8, g.Cols)
		var list []basin.Pass
		for r := b.First; r < b.End; r++ {
			basin.RingRow(g, r, rings)
			list = list[:0]
			for c, ring := range rings {
				i := r*g.Cols + c
				if ring == 0 || !basin.Saddle(ring) && dir[i] != flow.Pit && dir[i] != flow.Out && g.Z[i+codes[dir[i]]] != g.Z[i] {
					continue
				}
				list = s.over(i, ring, list)
			}
			rows[r] = slices.Clone(list)
		}
	})
	return slices.Concat(rows...)
}

// saddles knows what passes over cells.
type saddles struct {
	g      *grid.Grid
	labels []uint32
	step   [8]int
	weight [8]float64
}

// over appends the passes over one cell, the steepest way first.
func (s *saddles) over(i int, ring uint8, list []basin.Pass) []basin.Pass {
	z := s.g.Z[i]
	here, level := s.labels[i], basin.Order(z)
	var steep [4]int64 // no ring has more than four arcs
	n := 0
	for ring != 0 {
		arc := basin.Arc(ring)
		ring &^= arc
		best, to := s.steepest(i, z, arc)
		there := s.labels[to]
		if there == here {
			continue
		}
		list = append(list, basin.Pass{Level: level, A: here, B: there, Cell: uint32(i)})
		steep[n] = best
		for k := n; k > 0 && steep[k] > steep[k-1]; k-- {
			at := len(list) - 1 - n + k
			steep[k], steep[k-1] = steep[k-1], steep[k]
			list[at], list[at-1] = list[at-1], list[at]
		}
		n++
	}
	return list
}

// steepest is the first of the steepest neighbours of an arc, and how steep: as
// the bits of the number, whose order is the same where it is positive.
func (s *saddles) steepest(i int, z float32, arc uint8) (best int64, to int) {
	to = i + s.step[bits.TrailingZeros8(arc)] // where all are level
	for ; arc != 0; arc &= arc - 1 {
		k := bits.TrailingZeros8(arc)
		j := i + s.step[k]
		if d := int64(math.Float64bits((float64(z) - float64(s.g.Z[j])) * s.weight[k])); d > best {
			best, to = d, j
		}
	}
	return best, to
}

// merge joins catchments from the lowest pass up.
func (t *Tree) merge(sorted []basin.Pass, pits []uint32) {
	t.Nodes = make([]Node, len(pits), len(pits)+len(pits)/4) // on noisy slopes one in five pits is joined to another
	joined := make([]uint32, len(pits)+basin.First)
	top := make([]int32, len(joined)) // the node of all joined, by what stands for them
	for k := range joined {
		joined[k], top[k] = uint32(k), int32(k)-basin.First
	}
	for k := range t.Nodes {
		t.Nodes[k] = Node{Parent: None, Children: [2]int32{None, None}, Into: None, Pit: pits[k]}
	}
	top[basin.Outside] = None
	for _, p := range sorted {
		a, b := basin.Find(joined, p.A), basin.Find(joined, p.B)
		if a == b {
			continue
		}
		la, lb := p.A, p.B
		if top[a] == None {
			a, b, la, lb = b, a, lb, la
		}
		x, y := top[a], top[b]
		t.spill(x, p, lb)
		if y == None {
			t.Roots = append(t.Roots, x)
			joined[a] = b
			continue
		}
		t.spill(y, p, la)
		parent := int32(len(t.Nodes))
		t.Nodes[x].Parent, t.Nodes[y].Parent = parent, parent
		t.Nodes = append(t.Nodes, Node{Parent: None, Children: [2]int32{x, y}, Into: None, Pit: t.lower(x, y)})
		joined[max(a, b)] = min(a, b)
		top[min(a, b)] = parent
	}
}

func (t *Tree) spill(node int32, p basin.Pass, into uint32) {
	n := &t.Nodes[node]
	n.Spill, n.Saddle, n.Into = basin.Elevation(p.Level), p.Cell, max(None, int32(into)-basin.First)
}

// lower is the lower of two nodes' pits.
func (t *Tree) lower(x, y int32) uint32 {
	a, b := t.Nodes[x].Pit, t.Nodes[y].Pit
	if za, zb := t.Surface.Z[a], t.Surface.Z[b]; zb < za || zb == za && b < a {
		return b
	}
	return a
}
