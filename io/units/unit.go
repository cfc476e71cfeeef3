package units

import (
	"fmt"
	"math"
)

// Metres per unit of length, exact by definition. Source: EPSG dataset v10.076
// as shipped with PROJ 9.1.1, unit codes 9001, 9002 and 9003; the inch is a
// twelfth of the international foot.
const (
	metresPerMetre      = 1.0
	metresPerFoot       = 0.3048        // EPSG:9002, international foot
	metresPerSurveyFoot = 1200.0 / 3937 // EPSG:9003, US survey foot
	metresPerInch       = metresPerFoot / 12
	metresPerMillimetre = 0.001
	metresPerCentimetre = 0.01
)

// Unit is a unit of length.
type Unit uint8

// The units of length a raster, a flag or a property key may name.
const (
	Metre      Unit = iota
	Foot            // international foot, EPSG:9002
	SurveyFoot      // US survey foot, EPSG:9003
	Inch            // a twelfth of the international foot
	Millimetre
	Centimetre
)

// Metres returns how many metres one of the unit is.
func (u Unit) Metres() float64 {
	switch u {
	case Metre:
		return metresPerMetre
	case Foot:
		return metresPerFoot
	case SurveyFoot:
		return metresPerSurveyFoot
	case Inch:
		return metresPerInch
	case Millimetre:
		return metresPerMillimetre
	case Centimetre:
		return metresPerCentimetre
	}
	panic("units: no such unit")
}

// String returns the unit as flags and reports write it: "m", "ft", "us-ft".
func (u Unit) String() string {
	switch u {
	case Metre:
		return "m"
	case Foot:
		return "ft"
	case SurveyFoot:
		return "us-ft"
	case Inch:
		return "in"
	case Millimetre:
		return "mm"
	case Centimetre:
		return "cm"
	}
	return fmt.Sprintf("Unit(%d)", uint8(u))
}

// VerticalUnit returns the unit named by a vertical unit flag: m, ft or us-ft.
// Another name is a *NameError.
func VerticalUnit(name string) (Unit, error) {
	for _, u := range []Unit{Metre, SurveyFoot, Foot} {
		if name == u.String() {
			return u, nil
		}
	}
	return 0, &NameError{What: "vertical unit", Name: name, Known: []string{"m", "us-ft", "ft"}}
}

// factorTolerance is relative. Coordinate systems carry their factor with about
// 15 digits (0.304800609601219), some files with 12; the two feet differ by
// 2e-6. 1e-9 takes the first two for the same foot and never the last.
const factorTolerance = 1e-9

// UnitOfFactor returns the unit of length that is that many metres, as a
// coordinate system states it. ok is false for any other length.
func UnitOfFactor(metresPerUnit float64) (u Unit, ok bool) {
	for _, u := range []Unit{Metre, Foot, SurveyFoot, Inch, Millimetre, Centimetre} {
		if math.Abs(metresPerUnit-u.Metres()) <= factorTolerance*u.Metres() {
			return u, true
		}
	}
	return 0, false
}

// System is the set of units people read. It never touches a result, only how
// a result is printed.
type System uint8

// The systems of the --units flag.
const (
	SI       System = iota // metres, litres per second
	USFoot                 // US survey foot, gallons per minute
	IntlFoot               // international foot, gallons per minute
)

// ParseSystem returns the system named si, us-ft or ft. Another name is a
// *NameError.
func ParseSystem(name string) (System, error) {
	for _, s := range []System{SI, USFoot, IntlFoot} {
		if name == s.String() {
			return s, nil
		}
	}
	return 0, &NameError{What: "system of units", Name: name, Known: []string{"si", "us-ft", "ft"}}
}

// String returns the system as the --units flag writes it.
func (s System) String() string {
	switch s {
	case SI:
		return "si"
	case USFoot:
		return "us-ft"
	case IntlFoot:
		return "ft"
	}
	return fmt.Sprintf("System(%d)", uint8(s))
}

// LengthUnit returns the unit long lengths and elevations are printed in.
func (s System) LengthUnit() Unit {
	switch s {
	case USFoot:
		return SurveyFoot
	case IntlFoot:
		return Foot
	}
	return Metre
}
