package flow_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// ExampleDirections runs three cells down to the rim.
func ExampleDirections() {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), 5, 3)
	copy(g.Z, []float32{
		9, 9, 9, 9, 9,
		9, 5, 4, 3, 2,
		9, 9, 9, 9, 9,
	})
	dir := flow.Directions(g)
	fmt.Printf("%d %d\n", dir[6:10], flow.Accumulate(g, dir)[6:10])
	// Output: [1 1 1 0] [1 2 3 4]
}

// plain gives directions by the definition's own words, over the whole grid
// again and again until nothing changes.
func plain(g *grid.Grid) []uint8 {
	dir := make([]uint8, len(g.Z))
	for i := range dir {
		c, r := g.Cell(i)
		dir[i] = flow.Pit
		best := 0.0
		switch {
		case g.Void(i):
			dir[i] = flow.Void
			continue
		case g.DrainsOut(c, r):
			dir[i] = flow.Out
			continue
		}
		for k, s := range grid.Steps {
			drop := float64(g.Z[i]) - float64(g.Z[g.Index(c+s.Col, r+s.Row)])
			if d := drop / math.Hypot(float64(s.Col)*g.CellX, float64(s.Row)*g.CellY); d > best {
				best, dir[i] = d, 1<<k
			}
		}
	}
	plainFlats(g, dir)
	return dir
}

func plainFlats(g *grid.Grid, dir []uint8) {
	flat := make([]bool, len(dir))
	for i := range dir {
		flat[i] = dir[i] == flow.Pit
	}
	around := func(i int, do func(k, j int)) {
		c, r := g.Cell(i)
		for k, s := range grid.Steps {
			do(k, g.Index(c+s.Col, r+s.Row))
		}
	}
	// spread lets values run through flats until they settle: of a start 1, else
	// one more than the least round it; 0 where none comes.
	spread := func(start func(i, j int) bool) []int {
		v := make([]int, len(dir))
		for changed := true; changed; {
			changed = false
			for i := range dir {
				if !flat[i] {
					continue
				}
				least := 0
				around(i, func(_, j int) {
					if start(i, j) {
						least = 1
					} else if flat[j] && g.Z[j] == g.Z[i] && v[j] > 0 && (least == 0 || v[j]+1 < least) {
						least = v[j] + 1
					}
				})
				if least > 0 && (v[i] == 0 || least < v[i]) {
					v[i], changed = least, true
				}
			}
		}
		return v
	}
	away := spread(func(i, j int) bool { return g.Z[j] > g.Z[i] })
	toward := spread(func(i, j int) bool { return !flat[j] && g.Z[j] == g.Z[i] })
	top := slices.Clone(away)
	for changed := true; changed; {
		changed = false
		for i := range dir {
			if !flat[i] {
				continue
			}
			around(i, func(_, j int) {
				if flat[j] && g.Z[j] == g.Z[i] && top[j] > top[i] {
					top[i], changed = top[j], true
				}
			})
		}
	}
	level := func(i int) int {
		switch {
		case !flat[i]:
			return 0
		case away[i] == 0:
			return 2 * toward[i]
		}
		return 2*toward[i] + top[i] - away[i]
	}
	for i := range dir {
		if !flat[i] || toward[i] == 0 {
			continue
		}
		best := level(i)
		for _, straight := range []bool{true, false} {
			around(i, func(k, j int) {
				if (k%2 == 0) == straight && g.Z[j] == g.Z[i] && level(j) < best {
					best, dir[i] = level(j), 1<<k
				}
			})
		}
	}
}

// plainCounts walks every cell's water down on its own.
func plainCounts(g *grid.Grid, dir []uint8) []uint32 {
	acc := make([]uint32, len(dir))
	for i := range dir {
		if dir[i] == flow.Void {
			continue
		}
		for j := i; j >= 0; j = flow.Next(g, dir, j) {
			acc[j]++
		}
	}
	return acc
}

// banded draws grids of several bands of rows: noise on a slope, steps of
// half a metre full of wide flats, whole numbers, and noise with voids.
func banded(rng *rand.Rand, kind int) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1+float64(kind%2)*rng.Float64()), 20+rng.IntN(30), 64+rng.IntN(64))
	for i := range g.Z {
		c, r := g.Cell(i)
		z := 0.03*float64(c) - 0.02*float64(r)
		switch kind {
		case 0:
			z += rng.NormFloat64()
		case 1:
			z = math.Round(2*(z+0.3*rng.NormFloat64())) / 2
		case 2:
			z = float64(rng.IntN(3))
		case 3:
			z += 0.1 * rng.NormFloat64()
			if rng.IntN(100) == 0 {
				z = math.NaN()
			}
		}
		g.Z[i] = float32(z)
	}
	return g
}

// Directions and counts are those of the plain versions, on filled surfaces
// and on others, for any number of cores.
func TestAgainstPlain(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(3, 5))
	pits, flats := 0, 0
	for n := range 24 {
		g := banded(rng, n%4)
		for _, f := range []*grid.Grid{fill.Depressions(g), g} {
			want := plain(f)
			counts := plainCounts(f, want)
			for i, d := range want {
				if d == flow.Pit {
					pits++
				} else if j := flow.Next(f, want, i); j >= 0 && f.Z[j] == f.Z[i] {
					flats++
				}
			}
			for _, cores := range []int{1, 2, 4} {
				runtime.GOMAXPROCS(cores)
				dir := flow.Directions(f)
				if k := firstUnequal(dir, want); k >= 0 {
					t.Fatalf("grid %d, %d cores: cell %d drains to %d, plainly to %d", n, cores, k, dir[k], want[k])
				}
				acc := flow.Accumulate(f, dir)
				if k := firstUnequal(acc, counts); k >= 0 {
					t.Fatalf("grid %d, %d cores: %d cells drain through cell %d, plainly %d", n, cores, acc[k], k, counts[k])
				}
			}
		}
	}
	if pits < 1000 || flats < 10000 {
		t.Fatalf("%d pits, %d cells drain over flats: the draw has lost its grip", pits, flats)
	}
}

func firstUnequal[T comparable](a, b []T) int {
	for k := range a {
		if a[k] != b[k] {
			return k
		}
	}
	return -1
}

// lawn is a slope of 2 % with waves and a centimetre and a half of noise.
func lawn(n int) *grid.Grid {
	rng := rand.New(rand.NewPCG(23, 29))
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(300 - 0.01*float64(c) + math.Sin(float64(r)/40) + 0.015*rng.NormFloat64())
	}
	return g
}

func BenchmarkDirections(b *testing.B) {
	bench(b, func(f *grid.Grid, _ []uint8) { flow.Directions(f) })
}
func BenchmarkAccumulate(b *testing.B) {
	bench(b, func(f *grid.Grid, d []uint8) { flow.Accumulate(f, d) })
}

func bench(b *testing.B, do func(f *grid.Grid, dir []uint8)) {
	for _, n := range []int{1000, 4000} {
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			f := fill.Depressions(lawn(n))
			dir := flow.Directions(f)
			for b.Loop() {
				do(f, dir)
			}
			b.ReportMetric(float64(n*n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
	}
}
