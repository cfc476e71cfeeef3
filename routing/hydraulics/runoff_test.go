package hydraulics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// National Standard Plumbing Code 2015, Appendix A.1: gpm = 0.0104 C i[in/h]
// A[ft2], four digits printed as three (exact 0.0103896).
func TestRationalGallons(t *testing.T) {
	const gpm = 231 * inch * inch * inch / minute
	got := RationalFlow(1, inch/hour, foot*foot) / gpm
	if math.Abs(got-0.0104) > 0.5e-4 {
		t.Errorf("one in/h on one ft2 is %.6f gpm, code 0.0104", got)
	}
}

func TestCoefficients(t *testing.T) {
	var c Catchment
	if c.Coeff() != 0 {
		t.Errorf("no surface: %g", c.Coeff())
	}
	// Halves of 0.9 and 0.3 make 0.6.
	c.Add(50, 0.9)
	c.Add(50, 0.3)
	if math.Abs(c.Coeff()-0.6) > 1e-15 || c.Area != 100 || math.Abs(c.Weighted-60) > 1e-12 {
		t.Errorf("two halves: %+v, %g, want 0.6", c, c.Coeff())
	}
	if c := StormCoeff(0.95, 1.25); c != 1 {
		t.Errorf("0.95 x 1.25 is %g, want the cap of 1", c)
	}
	if c := StormCoeff(0.4, 1.25); c != 0.5 {
		t.Errorf("0.4 x 1.25 is %g, want 0.5", c)
	}
}

func TestTimeOfConcFloor(t *testing.T) {
	if got := TimeOfConc(5*minute, 60, 90); got != 300 {
		t.Errorf("150 s of travel give %g s, want the floor of 300", got)
	}
	if got := TimeOfConc(5*minute, 200, 180); got != 380 {
		t.Errorf("380 s of travel give %g s", got)
	}
}

// falling is a rain of 100 mm/h over 5 minutes, 60 over 10, 40 over 20, straight
// between.
func falling(duration float64) float64 {
	const mmPerHour = 1e-3 / hour
	switch m := duration / minute; {
	case m <= 5:
		return 100 * mmPerHour
	case m <= 10:
		return (100 - 8*(m-5)) * mmPerHour
	default:
		return (60 - 2*(m-10)) * mmPerHour
	}
}

// By hand. A roof of 100 m2 and a lawn of 100 m2 shed: at the lawn's 10 minutes
// 200 x 60 = 12,000; at the roof's 5 (100 + 50) x 100 = 15,000, so the hard short
// rain governs. Against 900 m2 of lawn it is 1,000 x 60 = 60,000 and (100 + 450) x
// 100 = 55,000: the long one does.
func TestPeakFlow(t *testing.T) {
	const perHour = 1e-3 / hour
	for _, c := range []struct {
		arrivals       []Arrival
		flow, duration float64
	}{
		{nil, 0, 0},
		{[]Arrival{{100, 5 * minute}}, 100 * 100 * perHour, 5 * minute},
		{[]Arrival{{100, 5 * minute}, {100, 10 * minute}}, 15000 * perHour, 5 * minute},
		{[]Arrival{{900, 10 * minute}, {100, 5 * minute}}, 60000 * perHour, 10 * minute},
		{[]Arrival{{100, 20 * minute}, {0, 5 * minute}}, 4000 * perHour, 20 * minute},
	} {
		if q, d := PeakFlow(c.arrivals, falling); math.Abs(q-c.flow) > 1e-12 || d != c.duration {
			t.Errorf("%v: %v m3/s in %v s, by hand %v in %v", c.arrivals, q, d, c.flow, c.duration)
		}
	}
	// One intensity for all durations: all contribute, the longest time is told.
	one := func(float64) float64 { return 100 * perHour }
	if q, d := PeakFlow([]Arrival{{100, 5 * minute}, {300, 12 * minute}, {50, 8 * minute}}, one); math.Abs(q-45000*perHour) > 1e-12 || d != 12*minute {
		t.Errorf("%v m3/s in %v s", q, d)
	}
}

// What arrives later is never more, and nothing that comes makes it less: in a
// rain straight in the logarithms, as tables are between their durations.
func TestPeakFlowLaws(t *testing.T) {
	straight := func(duration float64) float64 { return 1e-4 * math.Pow(duration, -0.4) }
	rng := rand.New(rand.NewPCG(51, 52))
	for range 2000 {
		var list, later []Arrival
		for range 1 + rng.IntN(6) {
			a := Arrival{500 * rng.Float64(), minute * (5 + 14*rng.Float64())}
			list = append(list, a)
			later = append(later, Arrival{a.Weighted, a.Time + minute*rng.Float64()})
		}
		q, _ := PeakFlow(list, straight)
		if l, _ := PeakFlow(later, straight); l > q*(1+1e-12) {
			t.Fatalf("%v brings %v, later %v", list, q, l)
		}
		if less, _ := PeakFlow(list[:len(list)-1], straight); less > q*(1+1e-12) {
			t.Fatalf("%v brings %v, without the last %v", list, q, less)
		}
	}
}
