package hydraulics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// taken is how exactly flows below are worked by hand, m3/s.
const takenByHand = 2e-6

func mustTake(t *testing.T, reaches []Reach, mouths []Mouth, level func(k int, taken []float64) float64) []float64 {
	t.Helper()
	q, err := Taken(reaches, mouths, nil, level)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func fixed(levels ...float64) func(int, []float64) float64 {
	return func(k int, _ []float64) float64 { return levels[k] }
}

// The drowned inlet of the grade line's case 6: 10 m of full 0.100 m pipe, water
// at 10.20 outside, raise the box to 10.20 + 0.283727 (q / 8 L/s)^2.
//
//	rim 10.45, water at the rim:         q = 8 (0.25 / 0.283727)^0.5 = 7.5095 L/s
//	water 0.10 m over it:                q = 8 (0.35 / 0.283727)^0.5 = 8.8854 L/s
//	less runs to it:                     all of it, 5 L/s
//	a grate that lets 6 L/s in:          6 L/s
//	water outside 0.05 m over the rim:   none, were 3 L/s not coming from above:
//	they come out, and q = -3 L/s
func TestTakenByHand(t *testing.T) {
	box := Reach{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.1, InvertDown: 10, Tailwater: 10.2, Entry: EntrySquareEdge, AtRest: true, Rim: 10.45}
	high := Reach{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.25, InvertDown: 10.15, Rim: 12}
	for _, c := range []struct {
		what              string
		most, level, want float64
		grate             func(over, within float64) float64
	}{
		{"water at the rim", 0.02, 10.45, 0.0075095, nil},
		{"water below the rim counts as at it", 0.02, 10, 0.0075095, nil},
		{"water over it", 0.02, 10.55, 0.0088854, nil},
		{"all of what comes", 0.005, 10.45, 0.005, nil},
		{"its grate lets less in", 0.02, 10.45, 0.006, func(float64, float64) float64 { return 0.006 }},
	} {
		q := mustTake(t, []Reach{box}, []Mouth{{Reach: 0, Most: c.most, Lets: c.grate}}, fixed(c.level))
		if math.Abs(q[0]-c.want) > takenByHand {
			t.Errorf("%s: %.7f m3/s, by hand %.7f", c.what, q[0], c.want)
		}
	}
	box.Tailwater = 10.5
	q := mustTake(t, []Reach{box, high}, []Mouth{{Reach: 0, Most: 0.02}, {Reach: 1, Most: 0.003}}, fixed(10.45, 12))
	if math.Abs(q[0]+0.003) > takenByHand || q[1] != 0.003 {
		t.Errorf("below the water outside: %v, by hand -0.003 and 0.003", q)
	}
	// 8 L/s from above: 10.30 at the box is held by 8 (0.1 / 0.283727)^0.5 = 4.7494
	// L/s below it; the other 3.2506 come out.
	box.Tailwater, box.Rim = 10.2, 10.3
	q = mustTake(t, []Reach{box, high}, []Mouth{{Reach: 0, Most: 0.02}, {Reach: 1, Most: 0.008}}, fixed(10.3, 12))
	if math.Abs(q[0]+0.0032506) > takenByHand || q[1] != 0.008 {
		t.Errorf("water comes out: %v, by hand -0.0032506 and 0.008", q)
	}
}

// A pond of 20 m2 without slope, into which 6 L/s run for 300 s, over a weir that
// lets in 1.66 x 0.6 m x h^1.5: 20 h = (0.006 - q) 300 and q = 0.996 h^1.5. At
// h = 0.0316: q = 0.996 x 0.0056174 = 0.0055949; 20 x 0.0316 / 300 = 0.0021067: too
// much. At 0.0253: 0.0040081 and 0.0016867, 0.0056948 in all; at 0.0262: 0.0042238
// and 0.0017467, 0.0059705; at 0.0263: 0.0042480 and 0.0017533, 0.0060013. So
// h = 0.026296 and q = 0.0042470.
func TestTakenFromPond(t *testing.T) {
	pipe := Reach{Next: -1, Length: 10, Diameter: 0.2, Roughness: 0.012, InvertUp: 9.1, InvertDown: 9, Tailwater: math.Inf(-1), Rim: 10}
	weir := func(over, _ float64) float64 { return WeirFlow(WeirCoeff, 0.6, over-10) }
	q := mustTake(t, []Reach{pipe}, []Mouth{{Reach: 0, Most: 0.006, Lets: weir}}, func(_ int, taken []float64) float64 {
		return 10 + (0.006-taken[0])*300/20
	})
	if math.Abs(q[0]-0.004247) > takenByHand {
		t.Errorf("%.7f m3/s, by hand 0.0042470", q[0])
	}
}

// On random trees: no grade line above the water over a mouth but where all that
// arrives comes out; a mouth that takes less than runs to it cannot have a
// hundredth of that more but at another's cost.
func TestTakenProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 37))
	held := 0
	for range 25 {
		count := 2 + rng.IntN(6)
		var reaches []Reach
		var mouths []Mouth
		var levels []float64
		for k := range count {
			next := k - 1
			invert := 10.0
			if k > 0 {
				next = rng.IntN(k)
				invert = reaches[next].InvertUp
			}
			length := 3 + 12*rng.Float64()
			r := Reach{Next: next, Length: length, Diameter: 0.1, Roughness: 0.012, InvertDown: invert, InvertUp: invert + 0.01*length,
				Entry: 0.5, Join: 0.2, AtRest: rng.IntN(2) == 0, Tailwater: 10.1}
			r.Rim = r.InvertUp + 0.2 + 0.3*rng.Float64()
			reaches = append(reaches, r)
			mouths = append(mouths, Mouth{Reach: k, Most: 0.006 * rng.Float64()})
			levels = append(levels, r.Rim+0.05*rng.Float64())
		}
		q := mustTake(t, reaches, mouths, fixed(levels...))
		at := func(q []float64) []Grade {
			s := &intake{reaches: append([]Reach(nil), reaches...), mouths: mouths, taken: q}
			s.t, _ = treeOf(reaches)
			s.flowAll()
			return s.t.gradeLine(s.reaches)
		}
		g := at(q)
		for k := range mouths {
			arrives := 0.0
			for j := range mouths {
				for r := mouths[j].Reach; r >= 0; r = reaches[r].Next {
					if r == k && j != k {
						arrives += q[j]
					}
				}
			}
			if q[k] > mouths[k].Most || q[k] < -arrives-1e-7 {
				t.Fatalf("mouth %d takes %g of %g, with %g arriving", k, q[k], mouths[k].Most, arrives)
			}
			if g[k].Node > levels[k]+1e-3 && q[k] > -arrives+1e-6 {
				t.Fatalf("mouth %d: grade line %.4f over its water %.4f", k, g[k].Node, levels[k])
			}
			if q[k] < mouths[k].Most {
				held++
				more := append([]float64(nil), q...)
				more[k] += 0.01*mouths[k].Most + 1e-5
				pays := false
				for j, raised := range at(more) {
					pays = pays || raised.Node > levels[j] && raised.Node > g[j].Node
				}
				if !pays {
					t.Errorf("mouth %d takes %g of %g and could have more", k, q[k], mouths[k].Most)
				}
			}
		}
	}
	if held < 20 {
		t.Errorf("%d mouths are held back: nothing is tested", held)
	}
}
