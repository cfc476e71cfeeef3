package fill_test

import (
	"container/heap"
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/grid"
)

// flood is Priority-Flood as published: from the rim inward, always on from
// the lowest cell met so far.
//
// Source: Barnes, Lehman, Mulla 2014, 10.1016/j.cageo.2013.04.024 (from memory).
func flood(g *grid.Grid) []float32 {
	z := g.Clone().Z
	closed := make([]bool, len(z))
	open := &queue{z: z}
	for i := range z {
		c, r := g.Cell(i)
		closed[i] = g.Void(i) || g.DrainsOut(c, r)
		if closed[i] && !g.Void(i) {
			heap.Push(open, i)
		}
	}
	for len(open.cells) > 0 {
		i := heap.Pop(open).(int)
		c, r := g.Cell(i)
		for _, s := range grid.Steps {
			if !g.Contains(c+s.Col, r+s.Row) || closed[g.Index(c+s.Col, r+s.Row)] {
				continue
			}
			j := g.Index(c+s.Col, r+s.Row)
			closed[j] = true
			z[j] = max(z[j], z[i])
			heap.Push(open, j)
		}
	}
	return z
}

type queue struct {
	z     []float32
	cells []int
}

func (q *queue) Len() int           { return len(q.cells) }
func (q *queue) Less(a, b int) bool { return q.z[q.cells[a]] < q.z[q.cells[b]] }
func (q *queue) Swap(a, b int)      { q.cells[a], q.cells[b] = q.cells[b], q.cells[a] }
func (q *queue) Push(i any)         { q.cells = append(q.cells, i.(int)) }
func (q *queue) Pop() any {
	i := q.cells[len(q.cells)-1]
	q.cells = q.cells[:len(q.cells)-1]
	return i
}

// The same levels as Priority-Flood on grids of several bands of rows, for any
// number of cores.
func TestAgainstFlood(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(31, 41))
	for n := range 40 {
		g := rough(rng, 60+rng.IntN(60), 100+rng.IntN(60), n%4)
		want := flood(g)
		for _, cores := range []int{1, 2, 3, 8} {
			runtime.GOMAXPROCS(cores)
			f := fill.Depressions(g)
			for i := range want {
				if f.Z[i] != want[i] && !(g.Void(i) && f.Void(i)) {
					t.Fatalf("grid %d, %d cores, cell %d: %v filled to %v, flooded to %v", n, cores, i, g.Z[i], f.Z[i], want[i])
				}
			}
		}
	}
}

// rough draws slopes with noise: as they are, in steps of a centimetre full of
// flats, with voids, and in whole metres.
func rough(rng *rand.Rand, cols, rows, kind int) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
	for i := range g.Z {
		c, r := g.Cell(i)
		z := 20 - 0.02*float64(c) + 0.01*float64(r) + 0.3*rng.NormFloat64()
		switch kind {
		case 1:
			z = float64(int(z*100)) / 100
		case 3:
			z = float64(int(z))
		}
		g.Z[i] = float32(z)
		if kind == 2 && rng.IntN(200) == 0 {
			g.Z[i] = nan
		}
	}
	return g
}

// lawn is a slope of 2 % with waves and a centimetre and a half of noise.
func lawn(n int) *grid.Grid {
	rng := rand.New(rand.NewPCG(23, 29))
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(300 - 0.01*float64(c) + wave(r) + 0.015*rng.NormFloat64())
	}
	return g
}

func BenchmarkDepressions(b *testing.B) {
	for _, n := range []int{250, 1000, 4000} {
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			g := lawn(n)
			for b.Loop() {
				fill.Depressions(g)
			}
			b.ReportMetric(float64(n*n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
	}
}
