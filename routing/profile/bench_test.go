package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/routing/constraint"
)

// rollingChain is a yard of the given length: ground falling 2 % with waves of
// many lengths, a corridor of the given height, a station every length/n metres, a node
// every 12 m and a utility across where one fits.
func rollingChain(rng *rand.Rand, length float64, n int, corridor float64) *Chain {
	c := NewChain()
	line := []constraint.Station(nil)
	phase := 6 * rng.Float64()
	for k := 0; k <= n; k++ {
		s := length * float64(k) / float64(n)
		z := 100 - 0.02*s + 0.15*math.Sin(s/5+phase) + 0.1*math.Sin(s/13) +
			0.02*math.Sin(1.7*s+2*phase) + 0.01*math.Sin(4.1*s)
		st := constraint.Free(s, z, z-corridor)
		if k > n/3 && k < n/3+n/50 {
			st.Low, st.High = z-0.95*corridor, z-0.85*corridor
		}
		line = append(line, st)
	}
	c.Append(line, 0.005)
	for s := 12.0; s < length; s += 12 {
		c.Nodes = append(c.Nodes, s)
	}
	return c
}

func BenchmarkSolve(b *testing.B) {
	for _, size := range []struct {
		length           float64
		stations, breaks int
		corridor         float64
	}{
		{50, 100, 25, 0.5}, {50, 1000, 100, 1}, {50, 1000, 100, 0.4}, {50, 1000, 100, 0.25},
		{50, 5000, 100, 0.25}, {50, 1000, 1000, 0.25}, {200, 2000, 400, 0.4}, {200, 2000, 400, 0.25},
	} {
		c := rollingChain(rand.New(rand.NewPCG(3, 4)), size.length, size.stations, size.corridor)
		c.BreakEvery(size.length / float64(size.breaks))
		laid, err := Solve(c)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("stations=%d/breaks=%d/runs=%d", size.stations, size.breaks, len(laid)), func(b *testing.B) {
			for b.Loop() {
				if again, err := Solve(c); err != nil || len(again) != len(laid) {
					b.Fatal(err, len(again))
				}
			}
		})
		b.Run(fmt.Sprintf("steps/stations=%d/breaks=%d/runs=%d", size.stations, size.breaks, len(laid)), func(b *testing.B) {
			for b.Loop() {
				if again, err := SolveIn(c, Steps{Invert: 0.001, Grade: 0.001}); err != nil || len(again) != len(laid) {
					b.Fatal(err, len(again))
				}
			}
		})
	}
}
