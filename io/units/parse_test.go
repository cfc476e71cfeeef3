package units

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// ulps is the relative error of a product or two in float64.
const ulps = 4e-16

func near(got, want float64) bool { return math.Abs(got-want) <= ulps*math.Abs(want) }

func TestParse(t *testing.T) {
	tests := []struct {
		text string
		dim  Dimension
		want float64
	}{
		// A bare number is SI.
		{"0.3", Length, 0.3},
		{"0.02", Slope, 0.02},
		{"5e-5", Intensity, 5e-5},
		{"12", TrunkRatio, 12},
		// Inch and foot by definition: 25.4 mm and 304.8 mm.
		{"12 in", Length, 0.3048},
		{"12in", Length, 0.3048},
		{`12"`, Length, 0.3048},
		{"7 ft", Length, 2.1336},
		{"25 mm", Length, 0.025},
		{"5 cm", Length, 0.05},
		{"0.3 m", Length, 0.3},
		{" 1 1/2 IN ", Length, 0.0381},
		{"3937 us-ft", Length, 1200}, // EPSG:9003
		{".5 in", Length, 0.0127},
		{"-0", Length, 0},
		{"1 %", Slope, 0.01},
		{"2%", Slope, 0.02},
		{"1/4 in/ft", Slope, 1.0 / 48},
		{"1/8 in per ft", Slope, 1.0 / 96},
		{"5 mm/m", Slope, 0.005},
		{"7 in/h", Intensity, 0.1778 / 3600},
		{"7 in/hr", Intensity, 0.1778 / 3600},
		{"180 mm/h", Intensity, 5e-5},
		{"800 ft2", Area, 800 * 0.09290304},
		{"800 ft²", Area, 800 * 0.09290304},
		{"1 ac", Area, 4046.8564224}, // 43560 ft2 of the international foot
		{"10 ft/s", Velocity, 3.048},
		{"72 h", Time, 259200},
		{"5 min", Time, 300},
		{"1 ft/in", TrunkRatio, 12}, // a foot of radius for an inch of trunk
		{"12 x trunk diameter", TrunkRatio, 12},
		{"20 %", Ratio, 0.2},
		{"0.8 d/D", Ratio, 0.8},
		{"45 deg", Angle, math.Pi / 4},
		{"10-year", ReturnPeriod, 10},
		{"10 year", ReturnPeriod, 10},
		{"2 each", Count, 2},
	}
	for _, tt := range tests {
		got, err := Parse(tt.text, tt.dim)
		if err != nil || !near(got, tt.want) {
			t.Errorf("Parse(%q, %v) = %v, %v; want %v", tt.text, tt.dim, got, err, tt.want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	tests := []struct {
		text string
		dim  Dimension
		want any
		says string
	}{
		{"5 %", Length, new(*DimensionError), "wants a length, got 5 % (a slope)"},
		{"7 ft/s", Intensity, new(*DimensionError), "wants a rainfall intensity, got 7 ft/s (a velocity)"},
		{"12 in", Slope, new(*DimensionError), "got 12 in (a length); write %, ft/ft, in/ft, m/m, mm/m"},
		{"12 inn", Length, new(*UnknownUnitError), `unknown unit "inn" in "12 inn": a length takes cm, ft, in, m, mm, us-ft`},
		{"0,3 m", Length, new(*UnknownUnitError), `unknown unit ",3 m"`},
		{"3 ft 6 in", Length, new(*UnknownUnitError), `unknown unit "ft 6 in"`},
		{"-3 in", Length, new(*NegativeError), "a length cannot be negative, got -3 in"},
		{"-1 %", Slope, new(*NegativeError), "a slope cannot be negative"},
		{"", Length, new(*SyntaxError), `wants a length such as "12 in", got ""`},
		{"inch", Length, new(*SyntaxError), `got "inch"`},
		{"NaN", Length, new(*SyntaxError), `got "NaN"`},
		{"inf m", Length, new(*SyntaxError), `got "inf m"`},
		{"1e999 m", Length, new(*SyntaxError), `got "1e999 m"`},
		{"1e308 ha", Area, new(*SyntaxError), `got "1e308 ha"`},
		{"1/0 in", Length, new(*SyntaxError), `got "1/0 in"`},
		{"1 2 in", Length, new(*SyntaxError), `got "1 2 in"`},
	}
	for _, tt := range tests {
		got, err := Parse(tt.text, tt.dim)
		if !errors.As(err, tt.want) {
			t.Errorf("Parse(%q, %v) = %v, %T %v; want %T", tt.text, tt.dim, got, err, err, tt.want)
			continue
		}
		if !strings.Contains(err.Error(), tt.says) {
			t.Errorf("Parse(%q, %v) says %q, want it to hold %q", tt.text, tt.dim, err, tt.says)
		}
	}
}

func TestFromNumber(t *testing.T) {
	if got, err := FromNumber(0.3, Length); got != 0.3 || err != nil {
		t.Errorf("FromNumber(0.3) = %v, %v", got, err)
	}
	var negative *NegativeError
	if _, err := FromNumber(-0.3, Length); !errors.As(err, &negative) {
		t.Errorf("FromNumber(-0.3) error is %v", err)
	}
	var syntax *SyntaxError
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := FromNumber(v, Length); !errors.As(err, &syntax) {
			t.Errorf("FromNumber(%v) error is %v", v, err)
		}
	}
}

// What an error offers must parse, else the hint sends the reader in circles.
func TestOfferedUnitsParse(t *testing.T) {
	for _, d := range dimensions {
		if _, err := Parse(d.Example(), d); err != nil {
			t.Errorf("the example of %v: %v", d, err)
		}
		for _, u := range d.Units() {
			if _, err := Parse("1 "+u, d); err != nil {
				t.Errorf("%v offers %q: %v", d, u, err)
			}
		}
		for _, s := range d.row().spellings {
			if normalise(s.text) != s.text {
				t.Errorf("%v: spelling %q is not in normal form and cannot be met", d, s.text)
			}
		}
	}
}

// FuzzParse holds the laws of Parse on any text: an answer is finite and not
// negative; an error is one of the four kinds; a space around changes nothing;
// where it parses, its SI value printed bare parses to itself.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"12 in", "0.3", "1/4 in/ft", "7 in/h", "12 x trunk diameter", "-3 in", "1e999", "1 1/2 in", "5 %", "10-year", "½ in", "\xff m", "1 /0"} {
		for _, d := range dimensions {
			f.Add(s, uint8(d))
		}
	}
	f.Fuzz(func(t *testing.T, text string, dim uint8) {
		d := dimensions[int(dim)%len(dimensions)]
		v, err := Parse(text, d)
		if v2, err2 := Parse(" "+text+"\t", d); v2 != v || (err == nil) != (err2 == nil) {
			t.Fatalf("Parse(%q, %v) = %v, %v but with space around %v, %v", text, d, v, err, v2, err2)
		}
		if err != nil {
			var (
				syntax    *SyntaxError
				unknown   *UnknownUnitError
				dimension *DimensionError
				negative  *NegativeError
			)
			if !errors.As(err, &syntax) && !errors.As(err, &unknown) && !errors.As(err, &dimension) && !errors.As(err, &negative) {
				t.Fatalf("Parse(%q, %v): error of kind %T", text, d, err)
			}
			if v != 0 || err.Error() == "" {
				t.Fatalf("Parse(%q, %v) = %v beside error %q", text, d, v, err)
			}
			return
		}
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 || math.Signbit(v) {
			t.Fatalf("Parse(%q, %v) = %v", text, d, v)
		}
		if again, err := FromNumber(v, d); again != v || err != nil {
			t.Fatalf("FromNumber(%v, %v) = %v, %v", v, d, again, err)
		}
	})
}
