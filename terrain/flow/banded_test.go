package flow_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// shelf keeps rows in memory.
type shelf[T any] struct {
	cols int
	v    []T
}

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

// lakes draws ground that fills to wide and winding flats: a maze of channels
// at one level between banks, drained at few places.
func lakes(rng *rand.Rand, cols, rows int) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
	open := 0.45 + 0.5*rng.Float64()
	for i := range g.Z {
		c, r := g.Cell(i)
		switch {
		case c == 0 || r == 0 || c == cols-1 || r == rows-1:
			g.Z[i] = 9
		case rng.Float64() < open:
			g.Z[i] = float32(rng.IntN(2))
		default:
			g.Z[i] = float32(4 + rng.IntN(3))
		}
	}
	g.Z[rng.IntN(len(g.Z))] = float32(math.NaN())
	g.Z[cols/2] = 3
	return g
}

// Bands of any height give the directions and counts of the whole: on noise, wide
// flats, whole numbers, voids, and lakes that wind from band to band.
func TestBanded(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	crossing := 0
	for n := range 60 {
		var g *grid.Grid
		if n%5 == 4 {
			g = lakes(rng, 3+rng.IntN(80), 3+rng.IntN(120))
		} else {
			g = banded(rng, n%5)
		}
		f := fill.Depressions(g)
		want := flow.Directions(f)
		counts := flow.Accumulate(f, want)
		for _, height := range []int{1, 2, 7, 64, 512} {
			b := &grid.Banded{Frame: f.Frame, Cols: f.Cols, Rows: f.Rows, Height: height}
			dir := shelf[uint8]{f.Cols, make([]uint8, len(f.Z))}
			if err := flow.DirectionsBanded(context.Background(), b, shelf[float32]{f.Cols, f.Z}, dir); err != nil {
				t.Fatal(err)
			}
			if k := firstUnequal(dir.v, want); k >= 0 {
				t.Fatalf("grid %d, bands of %d rows: cell %d drains to %d, whole to %d", n, height, k, dir.v[k], want[k])
			}
			acc := shelf[uint32]{f.Cols, make([]uint32, len(f.Z))}
			if err := flow.AccumulateBanded(context.Background(), b, dir, acc); err != nil {
				t.Fatal(err)
			}
			if k := firstUnequal(acc.v, counts); k >= 0 {
				t.Fatalf("grid %d, bands of %d rows: %d cells drain through cell %d, in the whole %d", n, height, acc.v[k], k, counts[k])
			}
		}
		for i := range want {
			if j := flow.Next(f, want, i); j >= 0 && f.Z[j] == f.Z[i] && j/f.Cols/7 != i/f.Cols/7 {
				crossing++
			}
		}
	}
	if crossing < 1000 {
		t.Fatalf("%d cells drain over flats from one band to the next: the draw has lost its grip", crossing)
	}
}

func BenchmarkDirectionsBanded(b *testing.B) {
	bench(b, func(f *grid.Grid, _ []uint8) {
		of := &grid.Banded{Frame: f.Frame, Cols: f.Cols, Rows: f.Rows, Height: 512}
		if err := flow.DirectionsBanded(b.Context(), of, shelf[float32]{f.Cols, f.Z}, shelf[uint8]{f.Cols, make([]uint8, len(f.Z))}); err != nil {
			b.Fatal(err)
		}
	})
}

func BenchmarkAccumulateBanded(b *testing.B) {
	bench(b, func(f *grid.Grid, dir []uint8) {
		of := &grid.Banded{Frame: f.Frame, Cols: f.Cols, Rows: f.Rows, Height: 512}
		if err := flow.AccumulateBanded(b.Context(), of, shelf[uint8]{f.Cols, dir}, shelf[uint32]{f.Cols, make([]uint32, len(dir))}); err != nil {
			b.Fatal(err)
		}
	})
}
