package terrain_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// shelf keeps rows in memory.
type shelf[T any] struct {
	cols int
	v    []T
}

func newShelf[T any](g *grid.Grid) shelf[T] { return shelf[T]{g.Cols, make([]T, len(g.Z))} }

func (s shelf[T]) ReadRows(first int, into []T) error {
	if copy(into, s.v[first*s.cols:]) < len(into) {
		return errors.New("rows beyond the last")
	}
	return nil
}

func (s shelf[T]) WriteRows(first int, from []T) error {
	copy(s.v[first*s.cols:], from)
	return nil
}

// Bands of 7, 64 and 512 rows, and the whole, by 1, 2 and 4 threads: the same
// bytes, on a thousand rows of noise, of flats, and of noise with voids.
func TestSameBytes(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(89, 97))
	for _, kind := range []string{"noise", "flats", "voids"} {
		s := shaped(kind, 150, 1100, func(c, r int) float64 {
			z := 20 - 0.02*float64(c) + math.Sin(float64(r)/40) + 0.3*rng.NormFloat64()
			switch {
			case kind == "flats":
				z = math.Round(2*z) / 2
			case kind == "voids" && rng.IntN(200) == 0:
				z = math.NaN()
			}
			return z
		})
		runtime.GOMAXPROCS(1)
		want, wantStorm := solve(s.Grid), ponded(t, s)
		for _, threads := range []int{1, 2, 4} {
			runtime.GOMAXPROCS(threads)
			name := fmt.Sprintf("%s, %d threads", kind, threads)
			a := solve(s.Grid)
			same(t, name+", whole", a, want)
			if r := ponded(t, s); !slices.Equal(r.Depth, wantStorm.Depth) || r.Lost != wantStorm.Lost || r.Ponded != wantStorm.Ponded {
				t.Errorf("%s: a storm ends otherwise", name)
			}
			for _, height := range []int{7, 64, 512} {
				same(t, fmt.Sprintf("%s, bands of %d rows", name, height), inBands(t, s.Grid, height), want)
			}
		}
	}
}

// inBands are the answers a raster too large for memory has.
func inBands(t *testing.T, g *grid.Grid, height int) answers {
	t.Helper()
	b := &grid.Banded{Frame: g.Frame, Cols: g.Cols, Rows: g.Rows, Height: height}
	filled, dir, acc := newShelf[float32](g), newShelf[uint8](g), newShelf[uint32](g)
	if err := errors.Join(
		fill.Banded(t.Context(), b, shelf[float32]{g.Cols, g.Z}, filled),
		flow.DirectionsBanded(t.Context(), b, filled, dir),
		flow.AccumulateBanded(t.Context(), b, dir, acc)); err != nil {
		t.Fatal(err)
	}
	f := *g
	f.Z = filled.v
	return answers{filled: &f, dir: dir.v, acc: acc.v}
}

// same compares bytes, so that -0 is not 0.
func same(t *testing.T, name string, a, want answers) {
	t.Helper()
	for i, z := range want.filled.Z {
		if math.Float32bits(a.filled.Z[i]) != math.Float32bits(z) && z == z {
			t.Fatalf("%s: cell %d filled to %v, not %v", name, i, a.filled.Z[i], z)
		}
	}
	if i := firstUnequal(a.dir, want.dir); i >= 0 {
		t.Fatalf("%s: cell %d drains to %d, not %d", name, i, a.dir[i], want.dir[i])
	}
	if i := firstUnequal(a.acc, want.acc); i >= 0 {
		t.Fatalf("%s: %d cells drain through cell %d, not %d", name, a.acc[i], i, want.acc[i])
	}
}

// ponded is a storm of 3 cm.
func ponded(t *testing.T, s surface) *storm.Result {
	t.Helper()
	r, err := storm.Run(depression.Build(s.Grid, nil), storm.Water{Runoff: func(int) float64 { return 0.03 }})
	if err != nil {
		t.Fatal(err)
	}
	return r
}
