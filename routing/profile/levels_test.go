package profile

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Random costs at the upper end, on levels coarse enough to try every one of
// them at every break: what Down says of each level of the lower end is the
// least there is, and Up says where it comes from.
func TestLevelsAgainstEveryInvert(t *testing.T) {
	rng := rand.New(rand.NewPCG(60, 61))
	const corridors = 600
	reached, several, not := 0, 0, 0
	for n := range corridors {
		c := randomChain(rng, 3+rng.IntN(4))
		step := []float64{0.0625, 0.05, 0.1}[rng.IntN(3)]
		if _, short := Highest(c); short != nil {
			continue
		}
		l := NewLevels(c, step)
		l.Price = Price{Runs: 1 + rng.IntN(3), Run: 10, Dig: rng.Float64(), Top: 101}
		upLo, upHi, downLo, downHi := l.Ends()
		if upLo > upHi || downLo > downHi {
			continue
		}
		heads := make([]float64, upHi-upLo+1)
		for k := range heads {
			if heads[k] = 30 * rng.Float64(); rng.IntN(3) == 0 {
				heads[k] = math.Inf(1)
			}
		}
		want := map[int]float64{}
		b := newBench(c, Steps{Invert: step, Grade: 1})
		for runs := 1; runs <= l.Price.Runs; runs++ {
			b.everySet(runs, func(laid []Run) {
				up, down := int(math.Round(laid[0].InvertFrom/step)), int(math.Round(laid[runs-1].InvertTo/step))
				cost := heads[up-upLo] + float64(runs)*l.Price.Run + l.Price.Dig*(l.Price.Top*(c.End()-c.Start())-area(laid))
				if was, ok := want[down]; !ok || cost < was {
					want[down] = cost
				}
			})
		}
		got := l.Down(heads)
		for k := range got {
			cost, ok := want[downLo+k]
			switch {
			case !ok || math.IsInf(cost, 1):
				if !math.IsInf(got[k], 1) {
					t.Fatalf("corridor %d: level %d costs %g, and nothing gets there\n%+v", n, downLo+k, got[k], c)
				}
				not++
				continue
			case math.Abs(got[k]-cost) > 1e-9:
				t.Fatalf("corridor %d: level %d costs %g, the least is %g\n%+v", n, downLo+k, got[k], cost, c)
			}
			reached++
			if cost > 2*l.Price.Run {
				several++
			}
			// From that level alone it costs the same.
			alone := make([]float64, len(heads))
			for i := range alone {
				alone[i] = math.Inf(1)
			}
			up := l.Up(heads, downLo+k)
			alone[up-upLo] = heads[up-upLo]
			if again := l.Down(alone)[k]; again != got[k] {
				t.Fatalf("corridor %d: level %d costs %g, from level %d alone %g", n, downLo+k, got[k], up, again)
			}
		}
	}
	t.Logf("%d levels reached, %d not, %d of them dearer than two runs", reached, not, several)
	if reached < 1000 || not < 500 || several < 500 {
		t.Error("the corridors do not try enough")
	}
}
