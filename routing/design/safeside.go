package design

import (
	"fmt"
	"math"
)

// What lacks, and what a remedy asks for, is said on the safe side at its last
// digit: put in as said, it does.

// Last digits of what is said.
const (
	millimetre     = 0.001  // of a height, m
	centimetre     = 0.01   // of a plan distance, m
	slopeDigit     = 0.0001 // of a slope
	decilitre      = 0.0001 // of a flow, m3/s
	diametersDigit = 0.1    // of a multiple of a trunk's diameter
)

// digitSlack is how far past a digit a number still counts as that digit, in
// digits: what sums of floats are off by.
const digitSlack = 1e-6

// up is v in whole digits, none less.
func up(v, digit float64) float64 { return math.Ceil(v/digit-digitSlack) * digit }

// down is v in whole digits, none more.
func down(v, digit float64) float64 { return math.Floor(v/digit+digitSlack) * digit }

// shortWords says a missing height, m.
func shortWords(v float64) string {
	if v < millimetre {
		return fmt.Sprintf("less than %.3f m", millimetre)
	}
	return fmt.Sprintf("%.3f m", up(v, millimetre))
}
