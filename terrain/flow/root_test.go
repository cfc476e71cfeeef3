package flow

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Tenth roots are those of math.Pow: of numbers in every part between 1 and 2, at
// the ends of parts too, times every power of two that a difference of float32
// can have.
func TestTenthRoot(t *testing.T) {
	const tolerance = 1e-12
	rng := rand.New(rand.NewPCG(11, 13))
	check := func(x float64) {
		t.Helper()
		if want := math.Pow(x, 0.1); math.Abs(tenthRoot(x)/want-1) > tolerance {
			t.Fatalf("tenth root of %v: %v, not %v", x, tenthRoot(x), want)
		}
	}
	for e := -150; e <= 130; e++ {
		for k := range mantissas {
			from := math.Ldexp(1+float64(k)/mantissas, e)
			check(from)
			check(math.Nextafter(from, 0))
			check(from + rng.Float64()*math.Ldexp(1.0/mantissas, e))
		}
	}
}
