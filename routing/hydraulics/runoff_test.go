package hydraulics

import (
	"math"
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
	if c := WeightedCoeff(nil); c != 0 {
		t.Errorf("no surface: %g", c)
	}
	// Halves of 0.9 and 0.3 make 0.6.
	if c := WeightedCoeff([]Surface{{50, 0.9}, {50, 0.3}}); math.Abs(c-0.6) > 1e-15 {
		t.Errorf("two halves: %g, want 0.6", c)
	}
	if c := StormCoeff(0.95, 1.25); c != 1 {
		t.Errorf("0.95 x 1.25 is %g, want the cap of 1", c)
	}
	if c := StormCoeff(0.4, 1.25); c != 0.5 {
		t.Errorf("0.4 x 1.25 is %g, want 0.5", c)
	}
}

func TestTimeOfConcFloor(t *testing.T) {
	if got := TimeOfConc(MinTimeOfConc, 60, 90); got != 300 {
		t.Errorf("150 s of travel give %g s, want the floor of 300", got)
	}
	if got := TimeOfConc(MinTimeOfConc, 200, 180); got != 380 {
		t.Errorf("380 s of travel give %g s", got)
	}
}
