package flow_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/flow"
)

// ExampleDischarge: two places run into a third, which takes 4 of their 5 and
// its own 1, and hands the rest to the last.
func ExampleDischarge() {
	leaving, taken := flow.Discharge([]int32{2, 2, 3, -1}, []float64{2, 3, 1, 1}, []float64{0, 0, 4, 0})
	fmt.Println(leaving, taken)
	// Output: [2 3 2 3] [0 0 4 0]
}

// On random trees every place hands on what comes to it, and nothing is lost.
func TestDischarge(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 15))
	for range 200 {
		n := 1 + rng.IntN(60)
		order := rng.Perm(n) // water runs from low ranks to high ones
		place := make([]int, n)
		for i, rank := range order {
			place[rank] = i
		}
		next := make([]int32, n)
		source, takes := make([]float64, n), make([]float64, n)
		for rank, i := range place {
			next[i] = -1
			if rank < n-1 && rng.IntN(8) > 0 {
				next[i] = int32(place[rank+1+rng.IntN(n-rank-1)])
			}
			source[i] = rng.Float64()
			if rng.IntN(4) == 0 {
				takes[i] = 2 * rng.Float64()
			}
		}
		leaving, taken := flow.Discharge(next, source, takes)
		in := make([]float64, n)
		total, out := 0.0, 0.0
		for i := range n {
			total += source[i]
			out += taken[i]
			if next[i] >= 0 {
				in[next[i]] += leaving[i]
			} else {
				out += leaving[i]
			}
		}
		for i := range n {
			if all := in[i] + source[i]; math.Abs(all-taken[i]-leaving[i]) > 1e-12*(1+all) || math.Abs(taken[i]-min(all, takes[i])) > 1e-12*(1+all) {
				t.Fatalf("place %d: %v come, %v of %v taken, %v leave", i, all, taken[i], takes[i], leaving[i])
			}
		}
		if math.Abs(out-total) > 1e-12*total {
			t.Fatalf("%v in, %v out", total, out)
		}
	}
}
