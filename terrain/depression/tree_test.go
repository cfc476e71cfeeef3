package depression_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/fill"
	"curbfall/terrain/grid"
)

var nan = float32(math.NaN())

// trench is walls of 20 m with one row of cells between them, its last cell
// on the rim.
func trench(row ...float32) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), len(row), 3)
	for i := range g.Z {
		g.Z[i] = 20
	}
	copy(g.Z[len(row):], row)
	return g
}

// stairs is a ramp down to the first of many pits, each behind a higher saddle
// than the one before it: a tree as high as there are pits.
func stairs(pits int) *grid.Grid {
	const rise = 0.1
	row := []float32{20}
	for k := pits; k > 0; k-- {
		row = append(row, rise*(float32(k)+0.5))
	}
	for k := range pits {
		row = append(row, -float32(k+1), rise*float32(k+1))
	}
	return trench(append(row, -float32(pits+1))...)
}

// ExampleBuild finds two pits that join at 3 and spill together at 5.
func ExampleBuild() {
	t := depression.Build(trench(20, 1, 3, 2, 5, 0), nil)
	for k, n := range t.Nodes {
		fmt.Println(k, "parent", n.Parent, "spills at", n.Spill, "into", n.Into, "cells", n.Cells, "holds", n.Volume)
	}
	// Output:
	// 0 parent 2 spills at 3 into 1 cells 1 holds 2
	// 1 parent 2 spills at 3 into 0 cells 1 holds 1
	// 2 parent -1 spills at 5 into -1 cells 3 holds 9
}

// draw makes grids of four kinds: tie-free, whole numbers full of flats, with
// voids, and smooth.
func draw(rng *rand.Rand, kind, cols, rows int) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
	for i := range g.Z {
		c, r := g.Cell(i)
		switch kind {
		case 0:
			g.Z[i] = rng.Float32()
		case 1:
			g.Z[i] = float32(rng.IntN(4))
		case 2:
			g.Z[i] = rng.Float32()
			if rng.IntN(25) == 0 {
				g.Z[i] = nan
			}
		case 3:
			g.Z[i] = float32(math.Sin(float64(c)*0.8)+math.Cos(float64(r)*0.6)) + 0.2*rng.Float32()
		}
	}
	return g
}

func sinksOf(rng *rand.Rand, g *grid.Grid) (sinks []int) {
	for range rng.IntN(4) {
		sinks = append(sinks, rng.IntN(len(g.Z)))
	}
	return sinks
}

// The level at which a cell's water leaves the grid is its own or that of the
// highest depression it is in: the filled surface, found another way. Sinks do
// not change it.
func TestFilled(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	raised := 0
	for n := range 800 {
		g := draw(rng, n%4, 3+rng.IntN(25), 3+rng.IntN(25))
		tree := depression.Build(g, sinksOf(rng, g))
		f := fill.Depressions(g)
		for i, z := range g.Z {
			for k := tree.Of[i]; k != depression.None; k = tree.Nodes[k].Parent {
				z = max(z, tree.Nodes[k].Spill)
			}
			if z != f.Z[i] && z == z {
				t.Fatalf("grid %d cell %d of %v: %v by the tree, filled to %v", n, i, g.Z[i], z, f.Z[i])
			}
			if z > g.Z[i] {
				raised++
			}
		}
	}
	if raised < 10000 {
		t.Fatalf("%d cells raised: the draw has lost its grip", raised)
	}
}

// On tie-free grids a depression's cells are those that water standing just
// below its spill level covers, seen from its pit; its volume is their depths,
// its saddle a cell beside them at that level, and its pit the lowest. What
// spills over a pit's saddle comes to the other child of its parent.
func TestNodes(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	inner := 0
	grids := []*grid.Grid{stairs(150)}
	for range 200 {
		grids = append(grids, draw(rng, 0, 4+rng.IntN(20), 4+rng.IntN(20)))
	}
	for _, g := range grids {
		tree := depression.Build(g, nil)
		for k := range tree.Nodes {
			n := &tree.Nodes[k]
			if !n.Leaf() && tree.Nodes[n.Children[0]].Spill == n.Spill {
				continue // three meet over one cell: two of them joined spill at once
			}
			wet := flood(g, int(n.Pit), n.Spill)
			cells := tree.Within(int32(k))
			volume := 0.0
			for _, i := range cells {
				if !wet[int(i)] || g.Z[i] < g.Z[n.Pit] {
					t.Fatalf("node %d has cell %d of %v, not reached from its pit of %v below %v", k, i, g.Z[i], g.Z[n.Pit], n.Spill)
				}
				volume += float64(n.Spill) - float64(g.Z[i])
			}
			if len(cells) != len(wet) || int(n.Cells) != len(cells) || math.Abs(volume-n.Volume) > 1e-12*(1+volume) {
				t.Fatalf("node %d: %d cells, %d counted, %d reached; volume %v, by cells %v", k, len(cells), n.Cells, len(wet), n.Volume, volume)
			}
			if g.Z[n.Saddle] != n.Spill {
				t.Fatalf("node %d spills at %v over a cell of %v", k, n.Spill, g.Z[n.Saddle])
			}
			if n.Parent == depression.None {
				continue
			}
			inner++
			sibling := tree.Nodes[n.Parent].Children[0]
			if sibling == int32(k) {
				sibling = tree.Nodes[n.Parent].Children[1]
			}
			at := n.Into
			for at != depression.None && at != sibling {
				at = tree.Nodes[at].Parent
			}
			if at != sibling {
				t.Fatalf("node %d spills into %d, which is not in its sibling %d", k, n.Into, sibling)
			}
		}
	}
	if inner < 1000 {
		t.Fatalf("%d joined nodes: the draw has lost its grip", inner)
	}
}

// flood is the cells below a level that hang together with one.
func flood(g *grid.Grid, from int, level float32) map[int]bool {
	wet := map[int]bool{}
	if g.Z[from] >= level {
		return wet
	}
	wet[from] = true
	for stack := []int{from}; len(stack) > 0; {
		c, r := g.Cell(stack[len(stack)-1])
		stack = stack[:len(stack)-1]
		for _, s := range grid.Steps {
			if !g.Contains(c+s.Col, r+s.Row) {
				continue
			}
			if j := g.Index(c+s.Col, r+s.Row); g.Z[j] < level && !wet[j] {
				wet[j] = true
				stack = append(stack, j)
			}
		}
	}
	return wet
}

// The tree is the same for any number of cores.
func TestCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(3, 3))
	for n := range 12 {
		g := draw(rng, n%4, 40, 70+rng.IntN(60))
		sinks := sinksOf(rng, g)
		runtime.GOMAXPROCS(1)
		want := depression.Build(g, sinks)
		for _, cores := range []int{2, 4} {
			runtime.GOMAXPROCS(cores)
			if !reflect.DeepEqual(withoutVoids(depression.Build(g, sinks)), withoutVoids(want)) {
				t.Fatalf("grid %d: another tree with %d cores", n, cores)
			}
		}
	}
}

// Zero is zero, whatever its sign.
func TestZeros(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for n := range 50 {
		g := draw(rng, 1, 30, 30)
		want := depression.Build(g, nil)
		signed := g.Clone()
		for i, z := range signed.Z {
			if z == 0 && rng.IntN(2) == 0 {
				signed.Z[i] = float32(math.Copysign(0, -1))
			}
		}
		if !reflect.DeepEqual(withoutVoids(depression.Build(signed, nil)), withoutVoids(want)) {
			t.Fatalf("grid %d: another tree with some zeros negative", n)
		}
	}
}

// withoutVoids is a tree without its surface, whose NaN equal nothing.
func withoutVoids(t *depression.Tree) depression.Tree {
	c := *t
	c.Surface = nil
	return c
}

// Grids too small to hold water, and ones of voids alone, have no depressions.
func TestSmall(t *testing.T) {
	for _, size := range [][2]int{{0, 0}, {1, 1}, {1, 9}, {9, 1}, {2, 2}, {2, 30}, {30, 2}} {
		for _, z := range []float32{1, nan} {
			g := grid.New(grid.NewFrame(0, 0, 1, 1), size[0], size[1])
			for i := range g.Z {
				g.Z[i] = z
			}
			tree := depression.Build(g, nil)
			if len(tree.Nodes) != 0 || len(tree.Of) != len(g.Z) || len(fill.Depressions(g).Z) != len(g.Z) {
				t.Errorf("%v of %v: %+v", size, z, tree.Nodes)
			}
			for _, n := range tree.Of {
				if n != depression.None {
					t.Errorf("%v of %v: a cell in node %d", size, z, n)
				}
			}
		}
	}
}

// A paraboloid's stage-volume curve is pi h h R R / (2 D) for a depth D at
// radius R, and level and volume undo each other.
func TestCurveOfParaboloid(t *testing.T) {
	const n, radius, depth = 241, 100.0, 2.0
	g := grid.New(grid.NewFrame(0, 0, 1, 1), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		d := math.Hypot(float64(c-n/2), float64(r-n/2))
		g.Z[i] = float32(300 + math.Min(0, depth*(d*d/radius/radius-1)))
	}
	tree := depression.Build(g, nil)
	c := tree.Curve(tree.Of[g.Index(n/2, n/2)])
	for _, h := range []float64{0.3, 0.8, 1.4, 1.9} {
		want := math.Pi * h * h * radius * radius / (2 * depth)
		v := c.Volume(c.Pit + h)
		// The rim of a cell's width is where the steps of cells and the formula part.
		if math.Abs(v/want-1) > 0.01 {
			t.Errorf("%v m deep holds %v m3, by formula %v", h, v, want)
		}
		if l := c.Level(v); math.Abs(l-c.Pit-h) > 1e-9 {
			t.Errorf("%v m3 stand %v m deep, not %v", v, l-c.Pit, h)
		}
	}
	if c.Level(0) != c.Pit || c.Volume(c.Pit-1) != 0 || c.Volume(1e9) != c.Volume(float64(tree.Nodes[len(tree.Nodes)-1].Spill)) {
		t.Error("below the pit and above the spill the curve goes on")
	}
}

// A sink on a slope is a pit that holds nothing and spills downhill; one on the
// rim or in a void is passed over.
func TestSinks(t *testing.T) {
	g := trench(20, 6, 5, 4, 3, 2, 4, 0)
	tree := depression.Build(g, []int{g.Index(3, 1), g.Index(7, 1)})
	if tree.Leaves != 2 || tree.Of[g.Index(7, 1)] != depression.None {
		t.Fatalf("%d pits, the rim's cell in %d", tree.Leaves, tree.Of[g.Index(7, 1)])
	}
	sink := tree.Nodes[0]
	if int(sink.Pit) != g.Index(3, 1) || sink.Volume != 0 || sink.Into != 1 || tree.Of[g.Index(1, 1)] != 0 || tree.Of[g.Index(4, 1)] != 1 {
		t.Errorf("%+v, cells above and below in %d and %d", sink, tree.Of[g.Index(1, 1)], tree.Of[g.Index(4, 1)])
	}
}

func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{1000, 4000} {
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(23, 29))
			g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), n, n)
			for i := range g.Z {
				c, r := g.Cell(i)
				g.Z[i] = float32(300 - 0.01*float64(c) + math.Sin(float64(r)/40) + 0.015*rng.NormFloat64())
			}
			for b.Loop() {
				depression.Build(g, nil)
			}
			b.ReportMetric(float64(n*n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
	}
}
