package units

import (
	"errors"
	"testing"
)

func TestUnitOfFactor(t *testing.T) {
	tests := []struct {
		factor float64
		want   Unit
		ok     bool
	}{
		{1, Metre, true},
		{0.3048, Foot, true},
		{0.304800609601219, SurveyFoot, true}, // as PROJ 9.1.1 prints EPSG:9003
		{0.3048006096, SurveyFoot, true},      // ten digits, as some files carry it
		{0.0254, Inch, true},
		{0.9144, 0, false},
		{0, 0, false},
	}
	for _, tt := range tests {
		got, ok := UnitOfFactor(tt.factor)
		if got != tt.want || ok != tt.ok {
			t.Errorf("UnitOfFactor(%v) = %v, %v; want %v, %v", tt.factor, got, ok, tt.want, tt.ok)
		}
	}
}

// The two feet differ by 1.219 m over an easting of 2,000,000 ft.
func TestFeetDiffer(t *testing.T) {
	diff := 2e6*SurveyFoot.Metres() - 2e6*Foot.Metres()
	if diff < 1.2192 || diff > 1.2193 {
		t.Errorf("2,000,000 ft differ by %v m, want 1.219", diff)
	}
}

func TestNames(t *testing.T) {
	for _, s := range []System{SI, USFoot, IntlFoot} {
		if got, err := ParseSystem(s.String()); got != s || err != nil {
			t.Errorf("ParseSystem(%q) = %v, %v", s, got, err)
		}
	}
	for _, u := range []Unit{Metre, Foot, SurveyFoot} {
		if got, err := VerticalUnit(u.String()); got != u || err != nil {
			t.Errorf("VerticalUnit(%q) = %v, %v", u, got, err)
		}
	}
	var name *NameError
	if _, err := ParseSystem("feet"); !errors.As(err, &name) || name.Name != "feet" {
		t.Errorf("ParseSystem(feet) error is %v", err)
	}
	// An inch raster is an error by contract: m, us-ft or ft.
	if _, err := VerticalUnit("in"); !errors.As(err, &name) {
		t.Errorf("VerticalUnit(in) error is %v", err)
	}
}
