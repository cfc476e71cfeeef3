package storm_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

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

func dry(int) float64 { return 0 }

func run(t *testing.T, g *grid.Grid, w storm.Water) (*depression.Tree, *storm.Result) {
	t.Helper()
	var sinks []int
	for _, d := range w.Drains {
		sinks = append(sinks, d.Cell)
	}
	tree := depression.Build(g, sinks)
	r, err := storm.Run(tree, w)
	if err != nil {
		t.Fatal(err)
	}
	balance(t, r)
	return tree, r
}

// massTolerance is the share of the water that may be lost to rounding.
const massTolerance = 1e-9

func balance(t *testing.T, r *storm.Result) {
	t.Helper()
	out := r.Ponded + r.Lost
	for _, d := range r.Drained {
		out += d
	}
	if math.Abs(out-r.In) > massTolerance*r.In {
		t.Fatalf("%v m3 in; %v ponded, %v lost, %v drained", r.In, r.Ponded, r.Lost, r.Drained)
	}
}

// ExampleRun lets two cubic metres into the first of two pits.
func ExampleRun() {
	g := trench(20, 1, 3, 2, 5, 0)
	tree := depression.Build(g, nil)
	r, err := storm.Run(tree, storm.Water{Runoff: func(int) float64 { return 0 }, Deliveries: []storm.Delivery{{Cell: g.Index(1, 1), Volume: 2.25}}})
	if err != nil {
		panic(err)
	}
	for _, p := range r.Ponds {
		fmt.Println("level", p.Level, "depth", p.Depth, "area", p.Area, "volume", p.Volume, "full", p.Full)
	}
	// Output:
	// level 3 depth 2 area 1 volume 2 full true
	// level 2.25 depth 0.25 area 1 volume 0.25 full false
}

// By hand, on the trench 20 1 3 2 5 0: the pits hold 2 and 1 below the saddle
// at 3, together 9 below the spill at 5 (4 + 2 + 3); cells measure 1 m2.
func TestByHand(t *testing.T) {
	g := trench(20, 1, 3, 2, 5, 0)
	a, b := g.Index(1, 1), g.Index(3, 1)
	for _, tt := range []struct {
		name           string
		into           int
		volume         float64
		drains         []storm.Drain
		depthA, depthB float64
		lost, drained  float64
	}{
		{"no water", a, 0, nil, 0, 0, 0, 0},
		{"half a pit", a, 1, nil, 1, 0, 0, 0},
		{"a pit brim full", a, 2, nil, 2, 0, 0, 0},
		{"spilling over", a, 2.5, nil, 2, 0.5, 0, 0},
		{"both brim full", a, 3, nil, 2, 1, 0, 0},
		{"joined", b, 6, nil, 3, 2, 0, 0},
		{"all brim full", b, 9, nil, 4, 3, 0, 0},
		{"spilling outside", b, 10, nil, 4, 3, 1, 0},
		{"a drain takes all", a, 1, []storm.Drain{{a, 5}}, 0, 0, 0, 1},
		{"a drain takes its fill", a, 2, []storm.Drain{{a, 1.5}}, 0.5, 0, 0, 1.5},
		{"a drain on the saddle takes what spills", a, 2.5, []storm.Drain{{g.Index(2, 1), 5}}, 2, 0, 0, 0.5},
		{"and lets the rest over", a, 3, []storm.Drain{{g.Index(2, 1), 0.25}}, 2, 0.75, 0, 0.25},
		{"a drain beyond the saddle", a, 4, []storm.Drain{{b, 5}}, 2, 0, 0, 2},
		{"a drain that never ends", a, 100, []storm.Drain{{b, math.Inf(1)}}, 2, 0, 0, 98},
		{"a clogged drain", a, 2.5, []storm.Drain{{b, 0}}, 2, 0.5, 0, 0},
		{"two drains on a cell", a, 2, []storm.Drain{{a, 0.5}, {a, 1}}, 0.5, 0, 0, 1.5},
		{"water at the rim", g.Index(5, 1), 3, nil, 0, 0, 3, 0},
	} {
		_, r := run(t, g, storm.Water{Runoff: dry, Deliveries: []storm.Delivery{{tt.into, tt.volume}}, Drains: tt.drains})
		drained := 0.0
		for _, d := range r.Drained {
			drained += d
		}
		if float64(r.Depth[a]) != tt.depthA || float64(r.Depth[b]) != tt.depthB || r.Lost != tt.lost || drained != tt.drained {
			t.Errorf("%s: %v and %v deep, %v lost, %v drained", tt.name, r.Depth[a], r.Depth[b], r.Lost, r.Drained)
		}
	}
}

// Endless rain fills every depression to its brim.
func TestEndless(t *testing.T) {
	g := trench(20, 1, 3, 2, 5, 4, 6, 0)
	tree, r := run(t, g, storm.Water{Runoff: func(int) float64 { return 1e6 }})
	for i, n := range tree.Of {
		want := 0.0
		for ; n != depression.None; n = tree.Nodes[n].Parent {
			want = max(want, float64(tree.Nodes[n].Spill)-float64(g.Z[i]))
		}
		if float64(r.Depth[i]) != want {
			t.Errorf("cell %d stands %v deep, brim full %v", i, r.Depth[i], want)
		}
	}
}

// Cells of 0.5 by 2 m and elevations in feet: 1 m3 on a cell of 1 m2.
func TestUnits(t *testing.T) {
	g := trench(20, 1, 20, 20)
	g.Frame = grid.NewFrame(0, 0, 0.5, 2)
	g.MetresPerZ = 0.3048
	_, r := run(t, g, storm.Water{Runoff: dry, Deliveries: []storm.Delivery{{g.Index(1, 1), 1}}})
	if len(r.Ponds) != 1 || math.Abs(r.Ponds[0].Depth-1) > 1e-12 || math.Abs(r.Ponds[0].Level-1.3048) > 1e-12 || r.Ponds[0].Area != 1 {
		t.Errorf("%+v", r.Ponds)
	}
}

// A million cells of equal rain still balance to massTolerance, and in sum
// to the last digits.
func TestManyCells(t *testing.T) {
	const n = 1000
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(300 + 0.01*float64(c) + 0.05*math.Sin(float64(c*r)))
	}
	_, r := run(t, g, storm.Water{Runoff: func(int) float64 { return 0.01 }})
	if want := 0.01 * 0.25 * n * n; math.Abs(r.In-want) > 1e-14*want {
		t.Errorf("%v m3 in, not %v", r.In, want)
	}
	if r.Ponded == 0 || r.Lost == 0 {
		t.Errorf("%v m3 stand, %v run off", r.Ponded, r.Lost)
	}
}

func TestBadWater(t *testing.T) {
	g := trench(20, 1, 3, 2, 5, 0)
	g.Z[0] = float32(math.NaN())
	tree := depression.Build(g, []int{g.Index(3, 1)})
	for name, w := range map[string]storm.Water{
		"no sink":           {Runoff: dry, Drains: []storm.Drain{{g.Index(2, 1), 1}}},
		"off the grid":      {Runoff: dry, Drains: []storm.Drain{{-1, 1}}},
		"negative capacity": {Runoff: dry, Drains: []storm.Drain{{g.Index(3, 1), -1}}},
		"capacity unknown":  {Runoff: dry, Drains: []storm.Drain{{g.Index(3, 1), math.NaN()}}},
		"into a void":       {Runoff: dry, Deliveries: []storm.Delivery{{0, 1}}},
		"negative water":    {Runoff: dry, Deliveries: []storm.Delivery{{g.Index(1, 1), -1}}},
		"unknown runoff":    {Runoff: func(int) float64 { return math.NaN() }},
		"endless water":     {Runoff: dry, Deliveries: []storm.Delivery{{g.Index(1, 1), math.Inf(1)}}},
	} {
		var bad *storm.BadWater
		if _, err := storm.Run(tree, w); !errors.As(err, &bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	const n = 2000
	rng := rand.New(rand.NewPCG(23, 29))
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(300 - 0.01*float64(c) + math.Sin(float64(r)/40) + 0.015*rng.NormFloat64())
	}
	tree := depression.Build(g, nil)
	for b.Loop() {
		if _, err := storm.Run(tree, storm.Water{Runoff: func(int) float64 { return 0.05 }}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(n*n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
}
