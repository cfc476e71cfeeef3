package fill_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/grid"
)

// shelf keeps rows in memory.
type shelf struct {
	cols int
	z    []float32
}

func (s shelf) ReadRows(first int, into []float32) error {
	if copy(into, s.z[first*s.cols:]) < len(into) {
		return errors.New("rows beyond the last")
	}
	return nil
}

func (s shelf) WriteRows(first int, from []float32) error {
	copy(s.z[first*s.cols:], from)
	return nil
}

// Bands of any height fill as the whole does: on noise, steps full of flats,
// voids and whole numbers.
func TestBanded(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	raised := 0
	for n := range 60 {
		g := rough(rng, 1+rng.IntN(90), 1+rng.IntN(160), n%4)
		want := fill.Depressions(g)
		for _, height := range []int{1, 2, 7, 64, 512} {
			got := shelf{g.Cols, make([]float32, len(g.Z))}
			b := &grid.Banded{Frame: g.Frame, Cols: g.Cols, Rows: g.Rows, Height: height}
			if err := fill.Banded(context.Background(), b, shelf{g.Cols, g.Z}, got); err != nil {
				t.Fatal(err)
			}
			for i, z := range want.Z {
				if got.z[i] != z && !(g.Void(i) && got.z[i] != got.z[i]) {
					t.Fatalf("grid %d, bands of %d rows, cell %d: %v filled to %v, whole to %v", n, height, i, g.Z[i], got.z[i], z)
				}
				if z > g.Z[i] {
					raised++
				}
			}
		}
	}
	if raised < 10000 {
		t.Fatalf("%d cells raised: the draw has lost its grip", raised)
	}
}

// A stop is heeded between bands.
func TestBandedStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	g := lawn(20)
	b := &grid.Banded{Frame: g.Frame, Cols: g.Cols, Rows: g.Rows, Height: 5}
	if err := fill.Banded(ctx, b, shelf{g.Cols, g.Z}, shelf{g.Cols, g.Z}); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
}

func BenchmarkBanded(b *testing.B) {
	for _, n := range []int{1000, 4000} {
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			g := lawn(n)
			out := shelf{g.Cols, make([]float32, len(g.Z))}
			of := &grid.Banded{Frame: g.Frame, Cols: g.Cols, Rows: g.Rows, Height: 512}
			for b.Loop() {
				if err := fill.Banded(b.Context(), of, shelf{g.Cols, g.Z}, out); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(g.Z))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
	}
}
