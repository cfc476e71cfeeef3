package units

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// numberPattern is the number a quantity starts with: a decimal, a fraction
// ("1/4"), or a whole number and a fraction ("1 1/2"). It takes neither "inf"
// nor "nan" nor hexadecimal, which strconv would. A decimal comma is no number:
// "0,3 m" leaves the unit ",3 m", which no dimension has.
var numberPattern = regexp.MustCompile(`^([+-]?)(?:(\d+)\s+)?(?:(\d+)\s*/\s*(\d+)|((?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))`)

// Parse returns a written quantity in SI: "12 in" as a length is 0.3048. A bare
// number is SI already. A number may be a fraction ("1/4 in/ft", "1 1/2 in");
// units are read without regard to case, "per" is "/" and "²" is "2".
//
// Errors: *SyntaxError without a finite number, *UnknownUnitError,
// *DimensionError for a known unit of another dimension, *NegativeError.
func Parse(text string, want Dimension) (float64, error) {
	value, unit, ok := split(text)
	if !ok {
		return 0, &SyntaxError{Text: text, Want: want}
	}
	factor, ok := want.lookup(unit)
	if !ok {
		for _, d := range dimensions {
			if _, known := d.lookup(unit); known {
				return 0, &DimensionError{Text: strings.TrimSpace(text), Want: want, Got: d}
			}
		}
		return 0, &UnknownUnitError{Text: text, Unit: unit, Want: want}
	}
	return check(value*factor, text, want)
}

// FromNumber returns v, an SI number that came without a unit, after the checks
// Parse makes: *SyntaxError where it is not finite, *NegativeError below zero.
func FromNumber(v float64, want Dimension) (float64, error) {
	return check(v, strconv.FormatFloat(v, 'g', -1, 64), want)
}

func check(v float64, text string, want Dimension) (float64, error) {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, &SyntaxError{Text: text, Want: want}
	case v < 0:
		return 0, &NegativeError{Text: strings.TrimSpace(text), Want: want}
	case v == 0:
		return 0, nil // "-0" is zero
	}
	return v, nil
}

// split separates the number from the normalised unit behind it.
func split(text string) (value float64, unit string, ok bool) {
	text = strings.TrimSpace(text)
	m := numberPattern.FindStringSubmatchIndex(text)
	if m == nil {
		return 0, "", false
	}
	group := func(i int) string {
		if m[2*i] < 0 {
			return ""
		}
		return text[m[2*i]:m[2*i+1]]
	}
	sign, whole, over, under, decimal := group(1), group(2), group(3), group(4), group(5)
	rest := text[m[1]:]
	switch {
	case decimal != "" && whole != "":
		// "1 2 in" is two numbers and none of them the quantity.
		return 0, "", false
	case decimal != "":
		value, ok = parseFloat(decimal)
	default:
		value, ok = fraction(whole, over, under)
	}
	if sign == "-" {
		value = -value
	}
	return value, normalise(rest), ok
}

func fraction(whole, over, under string) (float64, bool) {
	a, okA := parseFloat(over)
	b, okB := parseFloat(under)
	w := 0.0
	okW := true
	if whole != "" {
		w, okW = parseFloat(whole)
	}
	return w + a/b, okA && okB && okW && b != 0
}

func parseFloat(s string) (float64, bool) {
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

var unitSpelling = strings.NewReplacer("²", "2", "^2", "2", "³", "3", "^3", "3", " per ", "/", "″", `"`, "′", "'")

// normalise brings a unit to the form of the table: lower case, single spaces,
// none beside a slash, no hyphen between number and unit ("10-year").
func normalise(unit string) string {
	unit = strings.Join(strings.Fields(strings.ToLower(unit)), " ")
	if len(unit) > 1 && unit[0] == '-' && unit[1] >= 'a' && unit[1] <= 'z' {
		unit = unit[1:]
	}
	unit = unitSpelling.Replace(unit)
	return strings.ReplaceAll(strings.ReplaceAll(unit, " /", "/"), "/ ", "/")
}
