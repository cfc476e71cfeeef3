package depression

import (
	"slices"
	"unsafe"

	"curbfall/terrain/basin"
	"curbfall/terrain/grid"
)

// measure gives each cell, from labels, the node of its pit, and each node its
// cells and volume.
func (t *Tree) measure(labels []uint32) {
	wet := t.wet(labels)
	own := make([]uint32, len(t.Nodes)) // by node: cells below its spill level and not below a child's
	for _, row := range wet {
		for _, w := range row {
			own[w.node]++
		}
	}
	for k := range t.Nodes {
		n := &t.Nodes[k]
		n.Cells += own[k]
		if n.Parent != None {
			t.Nodes[n.Parent].Cells += n.Cells
		}
	}
	t.place(own)
	next := slices.Clone(t.first)
	for _, row := range wet {
		for _, w := range row {
			t.covered[next[w.node]] = w.cell
			next[w.node]++
		}
	}
	t.sum(own)
}

// place gives each node the part of covered where its cells stand: first its
// own, then those of its children.
func (t *Tree) place(own []uint32) {
	t.first = make([]uint32, len(t.Nodes))
	end := uint32(0)
	for k := len(t.Nodes) - 1; k >= 0; k-- {
		n := &t.Nodes[k]
		if n.Parent == None {
			t.first[k] = end
			end += n.Cells
		}
		if !n.Leaf() {
			a, b := n.Children[0], n.Children[1]
			t.first[a] = t.first[k] + own[k]
			t.first[b] = t.first[a] + t.Nodes[a].Cells
		}
	}
	t.covered = make([]uint32, end)
}

// sum gives each node its volume: over its own cells first, then its children's.
func (t *Tree) sum(own []uint32) {
	z := t.Surface.Z
	grid.OnBands(grid.Bands(len(t.Nodes)), func(_ int, b grid.Band) {
		for k := b.First; k < b.End; k++ {
			n := &t.Nodes[k]
			for _, i := range t.covered[t.first[k] : t.first[k]+own[k]] {
				n.Volume += float64(n.Spill) - float64(z[i])
			}
		}
	})
	for k := range t.Nodes {
		n := &t.Nodes[k]
		if n.Parent != None {
			p := &t.Nodes[n.Parent]
			p.Volume += n.Volume + float64(n.Cells)*(float64(p.Spill)-float64(n.Spill))
		}
	}
}

// wetCell is a cell below the spill level of some node, and the smallest such.
type wetCell struct {
	cell uint32
	node int32
}

// wet lists the cells that any depression covers, by rows, and gives each cell
// the node of its pit.
func (t *Tree) wet(labels []uint32) [][]wetCell {
	g := t.Surface
	if len(labels) == 0 {
		return nil
	}
	// A label is read just before its cell's node is written, and both are of 32
	// bits.
	t.Of = unsafe.Slice((*int32)(unsafe.Pointer(&labels[0])), len(labels))
	rungs, rim := t.ladder()
	rows := make([][]wetCell, g.Rows)
	grid.OnBands(grid.Bands(g.Rows), func(_ int, b grid.Band) {
		list := make([]wetCell, 0, g.Cols)
		for r := b.First; r < b.End; r++ {
			list = list[:0]
			for i := r * g.Cols; i < (r+1)*g.Cols; i++ {
				n := max(None, int32(labels[i])-basin.First)
				t.Of[i] = n
				if z := g.Z[i]; n != None && z < rim[n] {
					list = append(list, wetCell{uint32(i), smallest(rungs, n, z)})
				}
			}
			rows[r] = slices.Clone(list)
		}
	})
	return rows
}

// rung is a node to one who climbs the tree from below. Beside its parent it
// knows a node further up, so that the way to any level takes about as many
// steps as the height of the tree has digits: it is in the thousands on noisy
// ground.
//
// Source: Myers 1983, An applicative random-access stack,
// 10.1016/0020-0190(83)90106-0 (from memory).
type rung struct {
	spill       float32
	parent, far int32 // itself, of a root
}

// ladder returns the rungs of all nodes, and the level at which the root of each
// spills.
func (t *Tree) ladder() (rungs []rung, rim []float32) {
	rungs, rim = make([]rung, len(t.Nodes)), make([]float32, len(t.Nodes))
	steps := make([]int32, len(t.Nodes)) // to the root
	for k := len(rungs) - 1; k >= 0; k-- {
		n := &t.Nodes[k]
		up := n.Parent
		if up == None {
			rungs[k], rim[k] = rung{n.Spill, int32(k), int32(k)}, n.Spill
			continue
		}
		far, farther := rungs[up].far, rungs[rungs[up].far].far
		if steps[up]-steps[far] != steps[far]-steps[farther] {
			farther = up
		}
		rungs[k], rim[k], steps[k] = rung{n.Spill, up, farther}, rim[up], steps[up]+1
	}
	return rungs, rim
}

// smallest is the first node from n up that spills above z; its root must.
func smallest(rungs []rung, n int32, z float32) int32 {
	for r := &rungs[n]; r.spill <= z; r = &rungs[n] {
		n = r.parent
		if rungs[r.far].spill <= z {
			n = r.far
		}
	}
	return n
}

// Covered returns the cells of a node that lie below its spill level, each once.
// The list is the tree's own and must not be changed.
func (t *Tree) Covered(node int32) []uint32 {
	return t.covered[t.first[node]:][:t.Nodes[node].Cells]
}

// Within returns the cells of a node that lie below its spill level, ascending.
func (t *Tree) Within(node int32) []uint32 {
	cells := slices.Clone(t.Covered(node))
	slices.Sort(cells)
	return cells
}

// Curve is how much a depression holds at each level, from its pit to where it
// spills. Levels are in the raster's unit, volumes in that times cells, both
// about the pit's elevation, so that neither loses digits to the datum.
type Curve struct {
	Pit     float64   // elevation of the lowest cell
	heights []float64 // of cells above the pit, ascending
	volumes []float64 // at each of them
	brim    float64   // of the spill above the pit
}

// Curve returns the stage-volume curve of a node. A node without cells below
// its spill level has one that holds nothing.
func (t *Tree) Curve(node int32) *Curve {
	cells := t.Covered(node)
	n := &t.Nodes[node]
	c := &Curve{Pit: float64(t.Surface.Z[n.Pit]), heights: make([]float64, len(cells)), volumes: make([]float64, len(cells))}
	c.brim = float64(n.Spill) - c.Pit
	for k, i := range cells {
		c.heights[k] = float64(t.Surface.Z[i]) - c.Pit
	}
	slices.Sort(c.heights)
	for k := 1; k < len(cells); k++ {
		c.volumes[k] = c.volumes[k-1] + float64(k)*(c.heights[k]-c.heights[k-1])
	}
	return c
}

// Volume is what stands in the depression at a level; above its spill level,
// what it holds brim full.
func (c *Curve) Volume(level float64) float64 {
	h := min(level-c.Pit, c.brim)
	k, _ := slices.BinarySearch(c.heights, h)
	if k == 0 {
		return 0
	}
	return c.volumes[k-1] + float64(k)*(h-c.heights[k-1])
}

// Level is where a volume stands: the pit's elevation for none, at most the
// spill level.
func (c *Curve) Level(volume float64) float64 {
	k, _ := slices.BinarySearch(c.volumes, volume)
	if k == 0 || volume <= 0 {
		return c.Pit
	}
	return c.Pit + min(c.brim, c.heights[k-1]+(volume-c.volumes[k-1])/float64(k))
}
