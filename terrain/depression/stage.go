package depression

import (
	"slices"

	"curbfall/terrain/grid"
)

// measure gives each node its cells and volume.
func (t *Tree) measure() {
	z := t.Surface.Z
	rim := make([]float32, len(t.Nodes)) // the highest spill level of a node and those it is part of
	for k := len(t.Nodes) - 1; k >= 0; k-- {
		rim[k] = t.Nodes[k].Spill
		if p := t.Nodes[k].Parent; p != None {
			rim[k] = rim[p]
		}
	}
	wet := t.wet(rim)
	t.first = make([]uint32, len(t.Nodes)+1)
	for _, list := range wet {
		for _, w := range list {
			t.first[w.node+1]++
			t.Nodes[w.node].Volume += float64(t.Nodes[w.node].Spill) - float64(z[w.cell])
		}
	}
	for k := range t.Nodes {
		t.first[k+1] += t.first[k]
	}
	t.own = make([]uint32, t.first[len(t.Nodes)])
	next := slices.Clone(t.first)
	for _, list := range wet {
		for _, w := range list {
			t.own[next[w.node]] = w.cell
			next[w.node]++
		}
	}
	for k := range t.Nodes {
		n := &t.Nodes[k]
		n.Cells += t.first[k+1] - t.first[k]
		if p := n.Parent; p != None {
			t.Nodes[p].Cells += n.Cells
			t.Nodes[p].Volume += n.Volume + float64(n.Cells)*(float64(t.Nodes[p].Spill)-float64(n.Spill))
		}
	}
}

// wetCell is a cell below the spill level of some node, and the smallest such.
type wetCell struct {
	cell uint32
	node int32
}

// wet lists the cells that any depression covers, by bands of rows in order.
func (t *Tree) wet(rim []float32) [][]wetCell {
	bands := grid.Bands(t.Surface.Rows)
	lists := make([][]wetCell, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		var list []wetCell
		for i := b.First * t.Surface.Cols; i < b.End*t.Surface.Cols; i++ {
			n, z := t.Of[i], t.Surface.Z[i]
			if n == None || z >= rim[n] {
				continue
			}
			for t.Nodes[n].Spill <= z {
				n = t.Nodes[n].Parent
			}
			list = append(list, wetCell{uint32(i), n})
		}
		lists[k] = list
	})
	return lists
}

// Within returns the cells of a node that lie below its spill level, ascending.
func (t *Tree) Within(node int32) []uint32 {
	var cells []uint32
	stack := []int32{node}
	for len(stack) > 0 {
		k := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		cells = append(cells, t.own[t.first[k]:t.first[k+1]]...)
		if n := &t.Nodes[k]; !n.Leaf() {
			stack = append(stack, n.Children[0], n.Children[1])
		}
	}
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
	cells := t.Within(node)
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
