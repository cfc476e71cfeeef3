package flow_test

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"runtime"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

func whole(int) float64 { return 1 }

// ExampleDisperse parts a cell among the three lower ones east of it, twice as
// steep straight on as to either side.
func ExampleDisperse() {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), 4, 3)
	d := float32(math.Sqrt2)
	copy(g.Z, []float32{
		9, 9, 4 - d, 1,
		9, 4, 2, 1,
		9, 9, 4 - d, 1,
	})
	acc := flow.Disperse(g, flow.Directions(g), whole)
	for _, i := range []int{2, 6, 10} { // each with its own
		fmt.Printf("%.3f ", float64(acc[i])/flow.Parts)
	}
	// Output: 1.241 1.517 1.241
}

// ways returns where a cell's water goes and in what shares, by Freeman's
// formula.
func ways(f *grid.Grid, dir []uint8, i int) (to []int, share []float64) {
	if dir[i] == flow.Out || dir[i] >= flow.Pit {
		return nil, nil
	}
	c, r := f.Cell(i)
	sum := 0.0
	for _, s := range grid.Steps {
		j := f.Index(c+s.Col, r+s.Row)
		if f.Z[j] < f.Z[i] {
			slope := (float64(f.Z[i]) - float64(f.Z[j])) / math.Hypot(float64(s.Col)*f.CellX, float64(s.Row)*f.CellY)
			to, share = append(to, j), append(share, math.Pow(slope, 1.1))
			sum += share[len(share)-1]
		}
	}
	if len(to) == 0 {
		return []int{flow.Next(f, dir, i)}, []float64{1}
	}
	for k := range share {
		share[k] /= sum
	}
	return to, share
}

// plainDispersal asks every cell's givers for theirs.
func plainDispersal(f *grid.Grid, dir []uint8, source func(int) float64) []float64 {
	type gift struct {
		from  int
		share float64
	}
	into := make([][]gift, len(dir))
	for i := range dir {
		to, share := ways(f, dir, i)
		for k, j := range to {
			into[j] = append(into[j], gift{i, share[k]})
		}
	}
	through := make([]float64, len(dir))
	known := make([]bool, len(dir))
	var ask func(i int) float64
	ask = func(i int) float64 {
		if !known[i] && dir[i] != flow.Void {
			through[i], known[i] = source(i), true
			for _, g := range into[i] {
				through[i] += ask(g.from) * g.share
			}
		}
		return through[i]
	}
	for i := range dir {
		ask(i)
	}
	return through
}

// On filled grids of several bands the shares are the plain version's, for any
// number of cores the same to the last part, and what leaves is what started.
func TestDisperseAgainstPlain(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(7, 9))
	for n := range 24 {
		f := fill.Depressions(banded(rng, n%4))
		dir := flow.Directions(f)
		source := func(i int) float64 { return float64(i%4) / 3 }
		want := plainDispersal(f, dir, source)
		var first []uint64
		for _, cores := range []int{1, 2, 4} {
			runtime.GOMAXPROCS(cores)
			got := flow.Disperse(f, dir, source)
			var in, out uint64
			for i, p := range got {
				if a := float64(p) / flow.Parts; math.Abs(a-want[i]) > 1e-6 {
					t.Fatalf("grid %d, %d cores: %v cells pass cell %d, plainly %v", n, cores, a, i, want[i])
				}
				if dir[i] != flow.Void {
					in += uint64(math.Round(source(i) * flow.Parts))
				}
				if dir[i] == flow.Out {
					out += p
				}
			}
			if in != out {
				t.Fatalf("grid %d, %d cores: %d parts start, %d leave", n, cores, in, out)
			}
			if cores == 1 {
				first = got
			} else if k := firstUnequal(got, first); k >= 0 {
				t.Fatalf("grid %d, %d cores: %d parts pass cell %d, with one core %d", n, cores, got[k], k, first[k])
			}
		}
	}
}

// On a surface that is not filled, water stays in pits and none is lost.
func TestDisperseIntoPits(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	for n := range 12 {
		g := banded(rng, n%4)
		dir := flow.Directions(g)
		known, out := uint64(0), uint64(0)
		for i, p := range flow.Disperse(g, dir, whole) {
			if dir[i] != flow.Void {
				known++
			}
			if dir[i] == flow.Out || dir[i] == flow.Pit {
				out += p
			}
		}
		if out != known*flow.Parts {
			t.Fatalf("grid %d: %d cells start, %v arrive", n, known, float64(out)/flow.Parts)
		}
	}
}

// On a plane wide enough all that lies above a row of cells passes it: what
// leaves a cell downward is as many cells as there are rows above.
func TestDispersePlane(t *testing.T) {
	const cols, rows, middle = 201, 60, 100
	for _, across := range []float32{0, 0.25, -0.5} {
		g := grid.New(grid.NewFrame(0, 0, 2, 2), cols, rows)
		for i := range g.Z {
			c, r := g.Cell(i)
			g.Z[i] = 500 - 0.5*float32(r) - 0.5*across*float32(c)
		}
		dir := flow.Directions(g)
		acc := flow.Disperse(g, dir, whole)
		for _, r := range []int{5, 20, 50} {
			i := g.Index(middle, r)
			down := 0.0
			to, share := ways(g, dir, i)
			for k, j := range to {
				if _, row := g.Cell(j); row > r {
					down += share[k]
				}
			}
			if got := down * float64(acc[i]) / flow.Parts; math.Abs(got-float64(r)) > 1e-5 {
				t.Errorf("plane falling %v across: %v cells pass down from row %d", across, got, r)
			}
		}
	}
}

// On a cone the flow at radius R is R/2 cells a cell's width, straight outward.
// Freeman's exponent brings every cell of a circle within 7 % of that, where
// single ways are 58 % off (root mean square).
func TestDisperseCone(t *testing.T) {
	const n, centre, radius = 401, 200, 150
	g := grid.New(grid.NewFrame(0, 0, 1, 1), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		g.Z[i] = float32(-math.Hypot(float64(c-centre), float64(r-centre)))
	}
	dir := flow.Directions(g)
	acc, counts := flow.Disperse(g, dir, whole), flow.Accumulate(g, dir)
	var mean, single float64
	cells := 0
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := float64(c-centre), float64(r-centre)
		reach := math.Hypot(x, y)
		if math.Abs(reach-radius) > 0.7 {
			continue
		}
		outward := func(j int) float64 {
			cj, rj := g.Cell(j)
			return (float64(cj-c)*x + float64(rj-r)*y) / reach
		}
		step := 0.0
		to, share := ways(g, dir, i)
		for k, j := range to {
			step += share[k] * outward(j)
		}
		off := float64(acc[i])/flow.Parts*step/(reach/2) - 1
		if math.Abs(off) > 0.07 {
			t.Errorf("cell %d %d: %.1f %% off the formula", c, r, 100*off)
		}
		next := i + grid.Steps[bits.TrailingZeros8(dir[i])].Row*n + grid.Steps[bits.TrailingZeros8(dir[i])].Col
		mean += off
		single += math.Pow(float64(counts[i])*outward(next)/(reach/2)-1, 2)
		cells++
	}
	if mean /= float64(cells); math.Abs(mean) > 0.01 {
		t.Errorf("on the mean %.1f %% off the formula", 100*mean)
	}
	if single = math.Sqrt(single / float64(cells)); single < 0.5 {
		t.Errorf("single ways %.0f %% off: the cone has lost its grip", 100*single)
	}
}

func BenchmarkDisperse(b *testing.B) {
	bench(b, func(f *grid.Grid, d []uint8) { flow.Disperse(f, d, whole) })
}
