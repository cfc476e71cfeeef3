package lowspot_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
)

// noisy is a paraboloid on a plane with a wall across it, in feet, with noise of
// a standard deviation, m, and a void.
func noisy(rng *rand.Rand, slope, deviation float64) *grid.Grid {
	f := grid.NewFrame(0, 0, 0.5, 0.5)
	f.MetresPerZ = 0.3048
	g := grid.New(f, 300, 300)
	for i := range g.Z {
		c, r := g.Cell(i)
		z := 50 - slope*0.5*float64(c) + 1e-5*float64(c*c+r*r) + deviation*rng.NormFloat64()
		if r == 150 {
			z += 1
		}
		g.Z[i] = float32(z / f.MetresPerZ)
	}
	g.Z[g.Index(40, 40)] = float32(math.NaN())
	return g
}

// The noise put in is the noise found, and none of a smooth surface.
func TestNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	for _, want := range []float64{0, 0.004, 0.02, 0.1} {
		if got := lowspot.Noise(noisy(rng, 0.05, want)); math.Abs(got-want) > 1e-4+0.02*want {
			t.Errorf("%v m of noise, found %v", want, got)
		}
	}
	if got := lowspot.Noise(grid.New(grid.NewFrame(0, 0, 1, 1), 9, 9)); got != 0 {
		t.Errorf("%v m of noise in no ground at all", got)
	}
}

// Of the low spots that noise makes on planes, one in fifty at most is taken for
// more, and a wide hollow is found that is no deeper than noise makes single cells.
func TestBeyondNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(63, 64))
	for _, slope := range []float64{0.002, 0.01, 0.05} {
		g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), 400, 400)
		for i := range g.Z {
			c, r := g.Cell(i)
			d := math.Hypot(float64(c)-200, float64(r)-200) / 20
			fall := slope * 0.5 * (float64(c) - 200)
			if d < 1 {
				fall = slope * 0.5 * 20 // level with the lowest of its rim
			}
			g.Z[i] = float32(50 - fall + 0.1*rng.NormFloat64() - 0.25*math.Max(0, 1-d*d))
		}
		f := fill.Depressions(g)
		dir := flow.Directions(f)
		noise := lowspot.Noise(g)
		all, _ := lowspot.Find(g, f, dir, lowspot.Least{Depth: 0.03})
		real, into := lowspot.Find(g, f, dir, lowspot.Least{Depth: 0.03, Noise: noise})
		if 50*len(real) > len(all) || into[g.Index(200, 200)] < 0 {
			t.Errorf("slope %v: of %d low spots %d are more than noise; the hollow drains to %d", slope, len(all), len(real), into[g.Index(200, 200)])
		}
		pits := lowspot.Pits(g, f, lowspot.Least{Depth: 0.03})
		for _, s := range all {
			if !slices.Contains(pits, s.Pit) || len(pits) != len(all) {
				t.Fatalf("%d pits of %d low spots", len(pits), len(all))
			}
		}
	}
	// By hand: nine cells 2.5 deviations deep are more than noise, eight are not, nor
	// one of 3.4.
	for _, c := range []struct {
		cells int
		depth float64
		want  bool
	}{{9, 2.5, true}, {8, 2.5, false}, {1, 3.4, false}, {1, 3.5, true}, {50, 1.8, true}, {49, 1.8, false}} {
		depths := slices.Repeat([]float64{c.depth * 0.1}, c.cells)
		if got := lowspot.BeyondNoise(depths, 0.1); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// A low spot ranks by what stands in it after an inch of runoff: as much as it
// holds, as far as that much comes. A deep one on a crest and a wide one in a
// swale come after one that is both; into follows.
func TestRank(t *testing.T) {
	g := grid.New(grid.NewFrame(0, 0, 10, 10), 40, 7)
	for i := range g.Z {
		_, r := g.Cell(i)
		g.Z[i] = 10 - float32(max(0, r-1))*0.1 // falls south
	}
	dig := func(c, r int, depth float32) { g.Z[g.Index(c, r)] -= depth }
	dig(5, 1, 5)     // on the crest: 500 m3 deep, three cells or so drain to it
	dig(20, 5, 0.15) // at the foot: less deep than its rim's fall, but much comes
	dig(30, 5, 3)    // at the foot and deep
	f := fill.Depressions(g)
	spots, into := lowspot.Find(g, f, flow.Directions(f), lowspot.Least{})
	if len(spots) != 3 {
		t.Fatalf("%+v", spots)
	}
	holds := func(s lowspot.LowSpot) float64 { return math.Min(s.Volume, s.ContributingArea*lowspot.RankRunoff) }
	for k := range spots {
		if k > 0 && holds(spots[k]) > holds(spots[k-1]) {
			t.Errorf("%v m3 come after %v m3", holds(spots[k]), holds(spots[k-1]))
		}
		if into[spots[k].Pit] != int32(k) {
			t.Errorf("the pit of low spot %d drains to %d", k, into[spots[k].Pit])
		}
	}
	if spots[0].Pit != g.Index(30, 5) {
		t.Errorf("the first lies at %d", spots[0].Pit)
	}
}
