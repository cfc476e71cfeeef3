package units

import (
	"math"
	"testing"
)

func TestFormat(t *testing.T) {
	tests := []struct{ got, want string }{
		{FormatLength(12.893, SI), "12.89 m"},
		{FormatLength(12.893, USFoot), "42.3 ft"},
		{FormatLength(12.893, IntlFoot), "42.3 ft"},
		{FormatLength(-0.001, SI), "0.00 m"},
		{FormatElevation(29.99537, SI), "29.995 m"},
		{FormatElevation(29.99537, IntlFoot), "98.41 ft"},
		// 2000 m: 6561.68 international feet, 6561.67 survey feet.
		{FormatElevation(2000, IntlFoot), "6561.68 ft"},
		{FormatElevation(2000, USFoot), "6561.67 ft"},
		{FormatDepth(0.3048, USFoot), "12.0 in"},
		{FormatDepth(0.0127, SI), "13 mm"},
		{FormatSlope(0.0125), "1.25 %"},
		{FormatSlope(-0.00001), "0.00 %"},
		// 1 cfs is 448.831 gpm (manning_circular.md, definition).
		{FormatFlow(0.0042, USFoot), "66.6 gpm"},
		{FormatFlow(0.0042, SI), "4.20 L/s"},
		{FormatFlow(0.0281, IntlFoot), "445 gpm"},
		{FormatFlow(0.04, IntlFoot), "1.41 cfs"},
		{FormatFlow(0, SI), "0.00 L/s"},
		{FormatFlow(0.1234, SI), "123 L/s"},
		{FormatVolume(0.05678, SI), "0.057 m3"},
		{FormatVolume(12.345, SI), "12.3 m3"},
		{FormatVolume(1, USFoot), "35.3 ft3"},
		{FormatVolume(1e4, SI), "10000 m3"},
		{FormatArea(74.3224, USFoot), "800 ft2"},
		{FormatArea(74.3224, SI), "74.3 m2"},
		{FormatArea(0.01742, USFoot), "27 in2"},
		{FormatVelocity(0.974, USFoot), "3.2 ft/s"},
		{FormatVelocity(0.974, SI), "0.97 m/s"},
		{FormatIntensity(0.1778/3600, USFoot), "7.00 in/h"},
		{FormatIntensity(0.1778/3600, SI), "177.8 mm/h"},
		{FormatTime(300), "5 min"},
		{FormatTime(431), "7.2 min"},
		{FormatTime(259200), "72 h"},
		{FormatLength(math.NaN(), SI), NoData},
		{FormatFlow(math.NaN(), USFoot), NoData},
		{FormatFlow(math.Inf(1), USFoot), NoData},
		{FormatTime(math.Inf(1)), NoData},
	}
	for i, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("row %d: %q, want %q", i, tt.got, tt.want)
		}
	}
}

// What is printed parses back to within half its last digit.
func TestFormatParses(t *testing.T) {
	for _, s := range []System{SI, USFoot, IntlFoot} {
		for v := 1e-3; v < 1e4; v *= 1.37 {
			got, err := Parse(FormatLength(v, s), Length)
			// Half of 0.1 ft, and 2e-6 because "ft" reads as the international foot.
			if tol := 0.05*metresPerFoot + 2.1e-6*v; err != nil || math.Abs(got-v) > tol {
				t.Errorf("%v m prints %q and reads %v, %v", v, FormatLength(v, s), got, err)
			}
		}
	}
}

func TestCounted(t *testing.T) {
	for n, want := range map[int]string{0: "0 lots", 1: "1 lot", 2: "2 lots"} {
		if got := Counted(n, "lot"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := Counted(2, "stretch"); got != "2 stretches" {
		t.Errorf("%q, want 2 stretches", got)
	}
}
