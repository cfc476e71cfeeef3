package fill_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/grid"
)

// ExampleDepressions fills a pit of 1 that spills over the 4 on its east.
func ExampleDepressions() {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), 5, 3)
	copy(g.Z, []float32{
		9, 9, 9, 9, 9,
		9, 1, 2, 4, 3,
		9, 9, 9, 9, 9,
	})
	fmt.Println(fill.Depressions(g).Z[5:10])
	// Output: [9 4 4 4 3]
}

// slow lowers a flooded surface cell by cell until nothing changes, the
// definition itself: a cell holds its own level or its lowest neighbour's.
func slow(g *grid.Grid) []float32 {
	w := make([]float32, len(g.Z))
	for i, z := range g.Z {
		w[i] = z
		if c, r := g.Cell(i); !g.Void(i) && !g.DrainsOut(c, r) {
			w[i] = float32(math.Inf(1))
		}
	}
	for changed := true; changed; {
		changed = false
		for i := range w {
			if !math.IsInf(float64(w[i]), 1) && w[i] <= g.Z[i] || g.Void(i) {
				continue
			}
			c, r := g.Cell(i)
			for _, s := range grid.Steps {
				if z := max(g.Z[i], w[g.Index(c+s.Col, r+s.Row)]); z < w[i] {
					w[i], changed = z, true
				}
			}
		}
	}
	return w
}

func TestAgainstSlow(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 13))
	raised := 0
	for n := range 600 {
		g := grid.New(grid.NewFrame(0, 0, 1, 1), 1+rng.IntN(25), 1+rng.IntN(25))
		for i := range g.Z {
			switch n % 3 {
			case 0:
				g.Z[i] = float32(rng.NormFloat64()) - 1
			case 1:
				g.Z[i] = float32(rng.IntN(5) - 2)
			case 2:
				g.Z[i] = []float32{0, float32(math.Copysign(0, -1)), -1, 1}[rng.IntN(4)]
			}
			if n%2 == 0 && rng.IntN(15) == 0 {
				g.Z[i] = float32(math.NaN())
			}
		}
		f := fill.Depressions(g)
		for i, want := range slow(g) {
			if f.Z[i] != want && !(g.Void(i) && f.Void(i)) {
				t.Fatalf("grid %d cell %d: %v filled to %v, slowly %v", n, i, g.Z[i], f.Z[i], want)
			}
			if f.Z[i] > g.Z[i] {
				raised++
			}
		}
	}
	if raised < 1000 {
		t.Fatalf("%d cells raised: the draw has lost its grip", raised)
	}
}

// Turning a grid turns the answer.
func TestRotation(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 19))
	for range 100 {
		a := grid.New(grid.NewFrame(0, 0, 1, 1), 9, 14)
		b := grid.New(grid.NewFrame(0, 0, 1, 1), 14, 9)
		turned := func(i int) int { c, r := a.Cell(i); return b.Index(a.Rows-1-r, c) }
		for i := range a.Z {
			a.Z[i] = rng.Float32()
			b.Z[turned(i)] = a.Z[i]
		}
		fa, fb := fill.Depressions(a), fill.Depressions(b)
		for i := range fa.Z {
			if fa.Z[i] != fb.Z[turned(i)] {
				t.Fatal("the answer does not turn with the grid")
			}
		}
	}
}

var nan = float32(math.NaN())

func wave(r int) float64 { return math.Sin(float64(r) / 40) }
