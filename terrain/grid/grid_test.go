package grid

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

func randomGrid(rng *rand.Rand, cols, rows int) *Grid {
	g := New(NewFrame(100, 200, 0.5+rng.Float64(), 0.5+rng.Float64()), cols, rows)
	for i := range g.Z {
		g.Z[i] = float32(rng.NormFloat64())
	}
	return g
}

// Pieces along a line join end to end and are the bilinear ground at every
// point, also through cell centres and along rows of them.
func TestAlong(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for n := range 2000 {
		g := randomGrid(rng, 6, 6)
		p := func() (float64, float64) {
			if n%3 == 0 {
				return g.ToSite(float64(rng.IntN(6)), float64(rng.IntN(6)))
			}
			return g.ToSite(rng.Float64()*5, rng.Float64()*5)
		}
		ax, ay := p()
		bx, by := p()
		pieces, ok := g.Along(nil, ax, ay, bx, by)
		length := math.Hypot(bx-ax, by-ay)
		if !ok || length > 0 && (pieces[0].From != 0 || math.Abs(pieces[len(pieces)-1].To-length) > 1e-9) {
			t.Fatalf("line %v %v to %v %v: %v %v", ax, ay, bx, by, ok, pieces)
		}
		for k, q := range pieces {
			if k > 0 && q.From != pieces[k-1].To {
				t.Fatalf("gap between %v and %v", pieces[k-1], q)
			}
			for _, f := range []float64{0.01, 0.5, 0.99} {
				s := q.From + f*(q.To-q.From)
				x, y := ax+(bx-ax)*s/length, ay+(by-ay)*s/length
				if want := g.Ground(x, y); math.Abs(q.At(s)-want) > 1e-9 {
					t.Fatalf("at %v: %v, bilinear %v", s, q.At(s), want)
				}
			}
		}
	}
}

// A line beside a void is known along the cells it lies on, and unknown once it
// leaves them.
func TestVoidBeside(t *testing.T) {
	g := randomGrid(rand.New(rand.NewPCG(2, 2)), 5, 5)
	g.Z[g.Index(2, 3)] = float32(math.NaN())
	line := func(c0, r0, c1, r1 float64) bool {
		ax, ay := g.ToSite(c0, r0)
		bx, by := g.ToSite(c1, r1)
		_, ok := g.Along(nil, ax, ay, bx, by)
		return ok
	}
	if !line(0, 2, 4, 2) || line(0, 2.5, 4, 2.5) || line(0, 0, 5.5, 0) {
		t.Error("known on the row of centres, unknown beside the void and off the grid")
	}
}

// Every cell of a closed void is the mean of its four neighbours to 1e-6 m; an
// open void stays.
func TestFillVoids(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	g := randomGrid(rng, 40, 30)
	for range 12 {
		c, r := 3+rng.IntN(30), 3+rng.IntN(20)
		for range 25 {
			g.Z[g.Index(min(37, max(2, c+rng.IntN(7)-3)), min(27, max(2, r+rng.IntN(7)-3)))] = float32(math.NaN())
		}
	}
	g.Z[0] = float32(math.NaN())
	voids := g.Voids()
	f := g.FillVoids(voids)
	closed := 0
	for _, v := range voids {
		for _, i := range v.Cells {
			if v.Open {
				if !f.Void(i) {
					t.Errorf("open void filled at %d", i)
				}
				continue
			}
			closed++
			mean := (float64(f.Z[i-1]) + float64(f.Z[i+1]) + float64(f.Z[i-f.Cols]) + float64(f.Z[i+f.Cols])) / 4
			if math.Abs(float64(f.Z[i])-mean) > 1e-6 {
				t.Errorf("cell %d is %v, the mean of its neighbours %v", i, f.Z[i], mean)
			}
		}
	}
	if closed < 50 || len(voids) < 3 {
		t.Fatalf("%d closed cells in %d voids: the draw has lost its grip", closed, len(voids))
	}
}

// ToSite undoes ToCell, with the bend of a raster in degrees too.
func TestFrameInverse(t *testing.T) {
	f := NewFrame(500000, 4400000, 3, 3)
	f.Col[3], f.Col[4], f.Col[5] = 1e-8, -2e-8, 1e-8
	f.Row[1], f.Row[3], f.Row[5] = 0.003, 2e-8, -1e-8
	rng := rand.New(rand.NewPCG(4, 4))
	for range 1000 {
		x, y := 500000+rng.Float64()*2000-1000, 4400000+rng.Float64()*2000-1000
		c, r := f.ToCell(x, y)
		if u, v := f.ToSite(c, r); math.Hypot(u-x, v-y) > 1e-6 {
			t.Fatalf("%v %v comes back as %v %v", x, y, u, v)
		}
	}
}

// shelf keeps rows in memory.
type shelf struct {
	cols int
	z    []float32
}

func (s shelf) ReadRows(first int, into []float32) error {
	copy(into, s.z[first*s.cols:])
	return nil
}

func (s shelf) WriteRows(first int, from []float32) error {
	copy(s.z[first*s.cols:], from)
	return nil
}

// Voids are filled in bands of any height as in the whole, to the last bit.
func TestFillVoidsBanded(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 3))
	filled, open := 0, 0
	for n := range 40 {
		g := randomGrid(rng, 3+rng.IntN(40), 3+rng.IntN(60))
		share := 0.1 + 0.5*rng.Float64()
		for i := range g.Z {
			c, r := g.Cell(i)
			if rng.Float64() < share && (n%2 == 0 || (c+r/3)%5 < 3) {
				g.Z[i] = float32(math.NaN())
			}
		}
		want := g.FillVoids(g.Voids())
		for _, height := range []int{1, 2, 7, 64} {
			got := shelf{g.Cols, append([]float32(nil), g.Z...)}
			b := &Banded{Frame: g.Frame, Cols: g.Cols, Rows: g.Rows, Height: height}
			if err := b.FillVoidsBanded(context.Background(), got); err != nil {
				t.Fatal(err)
			}
			for i, z := range want.Z {
				if got.z[i] != z && !(z != z && got.z[i] != got.z[i]) {
					t.Fatalf("grid %d, bands of %d rows, cell %d: %v, in the whole %v", n, height, i, got.z[i], z)
				}
				if g.Void(i) && z == z {
					filled++
				}
				if z != z {
					open++
				}
			}
		}
	}
	if filled < 1000 || open < 1000 {
		t.Fatalf("%d cells filled, %d open: the draw has lost its grip", filled, open)
	}
}
