package grid

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
)

// Bands cover all rows once, whatever the number of cores.
func TestBands(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, cores := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(cores)
		for rows := range 200 {
			covered := 0
			for _, b := range Bands(rows) {
				if b.First != covered || b.End < b.First {
					t.Fatalf("%d rows, %d cores: a band from %d to %d after row %d", rows, cores, b.First, b.End, covered)
				}
				covered = b.End
			}
			if covered != rows {
				t.Fatalf("%d rows, %d cores: %d covered", rows, cores, covered)
			}
		}
	}
}

// Seeds names the cells that drain out, and voids, and no others.
func TestSeeds(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for n := range 300 {
		g := New(NewFrame(0, 0, 1, 1), 1+rng.IntN(12), 1+rng.IntN(12))
		for i := range g.Z {
			if n%3 == 0 || rng.IntN(10) > 0 {
				g.Z[i] = float32(i)
			}
		}
		if n%3 == 1 {
			g.Z[rng.IntN(len(g.Z))] = float32(math.NaN())
		}
		s := NewSeeds(g)
		for r := range g.Rows {
			got := map[int]bool{}
			s.Each(r, func(c int, void bool) {
				if got[c] || void != g.Void(g.Index(c, r)) {
					t.Fatalf("grid %d, cell %d %d: again %v, void %v", n, c, r, got[c], void)
				}
				got[c] = true
			})
			for c := range g.Cols {
				if want := g.DrainsOut(c, r) || g.Void(g.Index(c, r)); got[c] != want {
					t.Fatalf("grid %d, cell %d %d: %v, want %v", n, c, r, got[c], want)
				}
			}
		}
	}
}
