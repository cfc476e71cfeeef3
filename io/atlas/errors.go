package atlas

import (
	"fmt"
	"math"
	"strings"

	"curbfall/io/units"
)

// Error reports a file that is not the table it should be, in one line.
type Error struct {
	File string
	Line int // 0: the file as a whole
	Says string
}

func (e *Error) Error() string {
	says := strings.Join(strings.Fields(e.Says), " ")
	if e.Line == 0 {
		return e.File + ": " + says
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, says)
}

// ChoiceError reports a storm that a table does not have.
type ChoiceError struct {
	File string
	Says string
}

func (e *ChoiceError) Error() string { return e.File + ": " + e.Says }

// Intensities of a design storm over 5 minutes are asked about outside these: by
// place they run from about 2 to 10 in/h (from memory), and a number in the other
// unit, 25.4 times off, falls outside from 0.6 in/h up.
const (
	PlausibleLeast = 0.4 * inch / hour
	PlausibleMost  = 15 * inch / hour
)

// Longer rains are lighter: over an hour about half as hard as the hardest and the
// lightest of 5 minutes, 0.2 to 8 in/h (from memory), over a day a quarter.
const (
	shortRain  = 5 * minute
	lighterPow = 0.25 // of duration
)

// plausibleRange is where the intensity of a storm so long lies, m/s.
func plausibleRange(duration float64) (least, most float64) {
	lighter := math.Pow(shortRain/math.Max(duration, shortRain), lighterPow)
	return PlausibleLeast * lighter, PlausibleMost * lighter
}

const (
	inch       = 0.0254
	millimetre = 0.001
)

// ImplausibleError reports an intensity that is likely one in another unit.
type ImplausibleError struct {
	Intensity float64 // m/s, as given
	Duration  float64 // s
	Instead   float64 // m/s, the same number in the other unit; 0 where that is no better
	InInches  bool    // the number was likely meant in in/h, not mm/h
}

func (e *ImplausibleError) Error() string {
	us, si := units.FormatIntensity(e.Intensity, units.USFoot), units.FormatIntensity(e.Intensity, units.SI)
	least, most := plausibleRange(e.Duration)
	text := fmt.Sprintf("a design storm of %s (%s) is outside %s to %s over %s", us, si,
		units.FormatIntensity(least, units.USFoot), units.FormatIntensity(most, units.USFoot), units.FormatTime(e.Duration))
	switch {
	case e.Instead == 0:
		return text + "; check the number and its unit"
	case e.InInches:
		return fmt.Sprintf("%s; was %s meant?", text, units.FormatIntensity(e.Instead, units.USFoot))
	}
	return fmt.Sprintf("%s; was %s meant?", text, units.FormatIntensity(e.Instead, units.SI))
}

// Plausible returns an *ImplausibleError for the intensity of a design storm
// that no place has over a duration, s, in m/s: mm/h given as in/h, or the other way.
func Plausible(intensity, duration float64) error {
	// The limits themselves are within, however they were computed.
	const rounding = 1e-9
	least, most := plausibleRange(duration)
	within := func(i float64) bool { return i >= least*(1-rounding) && i <= most*(1+rounding) }
	if within(intensity) {
		return nil
	}
	e := &ImplausibleError{Intensity: intensity, Duration: duration}
	if less := intensity * millimetre / inch; within(less) {
		e.Instead = less
	} else if more := intensity * inch / millimetre; within(more) {
		e.Instead, e.InInches = more, true
	}
	return e
}
