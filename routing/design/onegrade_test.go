package design

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/routing/constraint"
)

// Against every grade in small steps: the lowest start of a pipe of one grade over a
// utility, on random stations.
func TestStartOver(t *testing.T) {
	const step = 1e-4
	rng := rand.New(rand.NewPCG(4, 7))
	none, some := 0, 0
	for n := range 2000 {
		slope, end := 0.01+0.02*rng.Float64(), rng.Float64()
		var list []constraint.Station
		for k, s := 0, 0.0; k < 8; k, s = k+1, s+0.2+rng.Float64() {
			ceiling := end + 0.05 + 0.08*(8-float64(k))*rng.Float64()
			list = append(list, constraint.Free(s, ceiling, ceiling-0.5-rng.Float64()))
		}
		from := 1 + rng.IntN(5)
		past := from + 1 + rng.IntN(2)
		for k := from; k < past; k++ {
			list[k].High = list[k].Ceiling - 0.05*rng.Float64()
			list[k].Low = list[k].High - 0.4
		}
		want, length := math.Inf(1), list[len(list)-1].S
		for grade := slope; grade < slope+0.6; grade += step {
			least, most := end+grade*length, math.Inf(1)
			for k, st := range list {
				low := st.Floor
				if from <= k && k < past {
					low = math.Max(low, st.High)
				}
				least, most = math.Max(least, low+grade*st.S), math.Min(most, st.Ceiling+grade*st.S)
			}
			if least <= most {
				want = math.Min(want, least)
			}
		}
		got := startOver(list, from, past, slope, end)
		if math.IsInf(want, 1) { // no grade of these: at best one between two of them
			none++
			continue
		}
		some++
		if got > want+1e-9 || got < want-step*length {
			t.Errorf("case %d: %.6f, want %.6f", n, got, want)
		}
	}
	if none < 100 || some < 100 { // else they try nothing
		t.Errorf("%d cases with a grade, %d without", some, none)
	}
}
