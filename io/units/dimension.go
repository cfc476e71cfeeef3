package units

import (
	"math"
	"sort"
)

// Dimension is what a quantity measures.
type Dimension uint8

// The dimensions criteria and flags use, with the SI unit a bare number has.
const (
	Length       Dimension = iota // m
	Slope                         // rise/run
	Intensity                     // rainfall, m/s
	Area                          // m2
	Velocity                      // m/s
	Time                          // s
	TrunkRatio                    // root zone radius over trunk diameter
	Ratio                         // a share or factor
	Angle                         // rad
	ReturnPeriod                  // years: a label of a storm, not a duration
	Count                         // a number of things
	LengthPrice                   // money per m
	AreaPrice                     // money per m2
)

var dimensions = []Dimension{Length, Slope, Intensity, Area, Velocity, Time, TrunkRatio, Ratio, Angle, ReturnPeriod, Count, LengthPrice, AreaPrice}

// spelling is one way to write a unit, and its factor to SI.
type spelling struct {
	text   string // after normalise
	factor float64
	main   bool // the spelling that help and error texts show
}

const (
	secondsPerHour   = 3600.0
	secondsPerMinute = 60.0
	squareFoot       = metresPerFoot * metresPerFoot
	squareInch       = metresPerInch * metresPerInch
)

// row describes a dimension: its name with article, an example, the spellings
// of its units. The empty spelling (a bare number, SI) is added by lookup.
type row struct {
	article, example string
	spellings        []spelling
}

var table = [...]row{
	Length: {"a length", "12 in", []spelling{
		{"m", 1, true}, {"metre", 1, false}, {"metres", 1, false}, {"meter", 1, false}, {"meters", 1, false},
		{"cm", metresPerCentimetre, true}, {"mm", metresPerMillimetre, true},
		{"in", metresPerInch, true}, {"inch", metresPerInch, false}, {"inches", metresPerInch, false}, {`"`, metresPerInch, false},
		{"ft", metresPerFoot, true}, {"foot", metresPerFoot, false}, {"feet", metresPerFoot, false}, {"'", metresPerFoot, false},
		{"us-ft", metresPerSurveyFoot, true},
	}},
	Slope: {"a slope", "1 %", []spelling{
		{"%", 0.01, true}, {"percent", 0.01, false}, {"per cent", 0.01, false},
		{"in/ft", 1.0 / 12, true}, {"ft/ft", 1, true}, {"in/in", 1, false}, {"m/m", 1, true}, {"mm/m", 0.001, true}, {"cm/m", 0.01, false},
	}},
	Intensity: {"a rainfall intensity", "7 in/h", []spelling{
		{"in/h", metresPerInch / secondsPerHour, true}, {"in/hr", metresPerInch / secondsPerHour, false}, {"in/hour", metresPerInch / secondsPerHour, false},
		{"mm/h", metresPerMillimetre / secondsPerHour, true}, {"mm/hr", metresPerMillimetre / secondsPerHour, false}, {"mm/hour", metresPerMillimetre / secondsPerHour, false},
		{"m/s", 1, true},
	}},
	Area: {"an area", "800 ft2", []spelling{
		{"m2", 1, true}, {"sq m", 1, false}, {"cm2", 1e-4, true}, {"mm2", 1e-6, true}, {"ha", 1e4, true},
		{"ft2", squareFoot, true}, {"sq ft", squareFoot, false}, {"sqft", squareFoot, false},
		{"in2", squareInch, true}, {"sq in", squareInch, false}, {"sqin", squareInch, false},
		{"ac", 43560 * squareFoot, true}, {"acre", 43560 * squareFoot, false}, {"acres", 43560 * squareFoot, false},
	}},
	Velocity: {"a velocity", "2 ft/s", []spelling{
		{"m/s", 1, true}, {"ft/s", metresPerFoot, true}, {"fps", metresPerFoot, false},
	}},
	Time: {"a time", "72 h", []spelling{
		{"s", 1, true}, {"sec", 1, false}, {"second", 1, false}, {"seconds", 1, false},
		{"min", secondsPerMinute, true}, {"minute", secondsPerMinute, false}, {"minutes", secondsPerMinute, false},
		{"h", secondsPerHour, true}, {"hr", secondsPerHour, false}, {"hour", secondsPerHour, false}, {"hours", secondsPerHour, false},
		{"day", 24 * secondsPerHour, true}, {"days", 24 * secondsPerHour, false},
	}},
	TrunkRatio: {"a multiple of the trunk diameter", "1 ft/in", []spelling{
		{"x trunk diameter", 1, true}, {"trunk diameters", 1, false}, {"x", 1, false},
		{"ft/in", 12, true}, {"m/m", 1, false}, {"cm/cm", 1, false}, {"in/in", 1, false},
	}},
	Ratio: {"a ratio", "0.8", []spelling{
		{"%", 0.01, true}, {"percent", 0.01, false}, {"per cent", 0.01, false}, {"d/d", 1, false}, {"x", 1, false},
	}},
	Angle: {"an angle", "45 deg", []spelling{
		{"deg", math.Pi / 180, true}, {"degree", math.Pi / 180, false}, {"degrees", math.Pi / 180, false}, {"°", math.Pi / 180, false},
		{"rad", 1, true},
	}},
	ReturnPeriod: {"a return period", "10 year", []spelling{
		{"year", 1, true}, {"years", 1, false}, {"yr", 1, false},
	}},
	Count: {"a count", "2 each", []spelling{{"each", 1, true}}},
	LengthPrice: {"a price for a length", "4 /ft", []spelling{
		{"/m", 1, true}, {"per m", 1, false}, {"/ft", 1 / metresPerFoot, true}, {"per ft", 1 / metresPerFoot, false},
	}},
	AreaPrice: {"a price for an area", "3 /ft2", []spelling{
		{"/m2", 1, true}, {"per m2", 1, false}, {"/ft2", 1 / squareFoot, true}, {"per ft2", 1 / squareFoot, false},
		{"/sq ft", 1 / squareFoot, false}, {"per sq ft", 1 / squareFoot, false},
	}},
}

func (d Dimension) row() row {
	if int(d) >= len(table) {
		panic("units: no such dimension")
	}
	return table[d]
}

func (d Dimension) article() string { return d.row().article }

// Example is a quantity of the dimension as one may write it: "12 in".
func (d Dimension) Example() string { return d.row().example }

// String returns the dimension with its article: "a length".
func (d Dimension) String() string { return d.article() }

// Units returns the units the dimension may be written in, one spelling each,
// in alphabetical order. A bare number is SI and always allowed.
func (d Dimension) Units() []string {
	var out []string
	for _, s := range d.row().spellings {
		if s.main {
			out = append(out, s.text)
		}
	}
	sort.Strings(out)
	return out
}

// lookup returns the factor to SI of a normalised unit; "" is the SI unit.
func (d Dimension) lookup(unit string) (factor float64, ok bool) {
	if unit == "" {
		return 1, true
	}
	for _, s := range d.row().spellings {
		if s.text == unit {
			return s.factor, true
		}
	}
	return 0, false
}
