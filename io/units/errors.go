package units

import (
	"fmt"
	"strings"
)

// NameError reports a unit or system name that a flag does not know.
type NameError struct {
	What  string   // what was to be named, "vertical unit"
	Name  string   // what was written
	Known []string // every name it takes
}

func (e *NameError) Error() string {
	return fmt.Sprintf("unknown %s %q: it is one of %s", e.What, e.Name, strings.Join(e.Known, ", "))
}

// SyntaxError reports a quantity that does not start with a number, or whose
// number is not finite.
type SyntaxError struct {
	Text string    // as written
	Want Dimension // what was wanted
}

func (e *SyntaxError) Error() string {
	return fmt.Sprintf("wants %s such as %q, got %q", e.Want.article(), e.Want.Example(), e.Text)
}

// UnknownUnitError reports a unit that no dimension has.
type UnknownUnitError struct {
	Text string    // the quantity as written
	Unit string    // the unit in it
	Want Dimension // what was wanted
}

func (e *UnknownUnitError) Error() string {
	return fmt.Sprintf("unknown unit %q in %q: %s takes %s",
		e.Unit, e.Text, e.Want.article(), strings.Join(e.Want.Units(), ", "))
}

// DimensionError reports a known unit of another dimension: a slope where a
// length was wanted.
type DimensionError struct {
	Text string    // the quantity as written
	Want Dimension // what was wanted
	Got  Dimension // what the unit measures
}

func (e *DimensionError) Error() string {
	return fmt.Sprintf("wants %s, got %s (%s); write %s",
		e.Want.article(), e.Text, e.Got.article(), strings.Join(e.Want.Units(), ", "))
}

// NegativeError reports a quantity below zero. None of the dimensions here has
// negative values: elevations are not quantities with a unit but numbers in the
// raster's own vertical unit.
type NegativeError struct {
	Text string
	Want Dimension
}

func (e *NegativeError) Error() string {
	return fmt.Sprintf("%s cannot be negative, got %s", e.Want.article(), e.Text)
}
