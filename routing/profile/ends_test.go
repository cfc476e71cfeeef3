package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Runs as few as promised end as high as promised, and no higher.
func TestHighestEnds(t *testing.T) {
	rng := rand.New(rand.NewPCG(44, 45))
	const gain = 0.001
	tried, several := 0, 0
	for k := 0; k < 2500; k++ {
		c := randomChain(rng, 4+rng.IntN(6))
		ends, err := HighestEnds(c, gain)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Solve(c); (err == nil) != (len(ends) > 0) {
			t.Fatalf("corridor %d: %v, and ends at %v", k, err, ends)
		}
		for r, y := range ends {
			if math.IsNaN(y) {
				continue
			}
			tried++
			if r > 0 {
				several++
			}
			up := *c
			up.EndMin = y - 1e-8
			if laid, err := Solve(&up); err != nil || len(laid) > r+1 {
				t.Fatalf("corridor %d: %d runs to end at %.6f: %v %v\n%+v", k, r+1, y, laid, err, c)
			}
			up.EndMin = y + 1e-8
			if laid, err := Solve(&up); err == nil && len(laid) <= r+1 {
				t.Fatalf("corridor %d: %d runs end at %.6f, not at %.6f: %+v", k, len(laid), laid[len(laid)-1].InvertTo, y, ends)
			}
		}
		if n := len(ends); n > 0 {
			up := *c
			up.EndMin = ends[n-1] + gain + 1e-8
			if laid, err := Solve(&up); err == nil {
				t.Fatalf("corridor %d: %d runs gain more than %g m over %v", k, len(laid), gain, ends)
			}
		}
	}
	t.Logf("%d ends, %d of them of several runs", tried, several)
	if tried < 1000 || several < 200 {
		t.Error("the corridors do not try enough")
	}
	if _, err := HighestEnds(NewChain(), gain); !errors.As(err, new(*ChainError)) {
		t.Error(err)
	}
}
