package units

import (
	"math"
	"strconv"
	"strings"
)

// NoData is printed for a number that is missing (NaN) or has no bound (Inf).
const NoData = "no data"

const (
	litresPerCubicMetre = 1000.0
	cubicFoot           = metresPerFoot * metresPerFoot * metresPerFoot
	// gallon is 231 cubic inches exactly, the US liquid gallon (NIST Handbook
	// 44, appendix C; from memory).
	gallon = 231 * metresPerInch * metresPerInch * metresPerInch
	// cubicFootPerSecond is where flows change from gal/min to ft3/s: one of
	// them is 448.8 gal/min, and three figures of gallons are still read.
	cubicFootPerSecond = cubicFoot
)

// Counted returns a number of things in words: "1 lot", "2 lots", "2 stretches".
func Counted(n int, thing string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(thing, "ch"):
		thing += "es"
	default:
		thing += "s"
	}
	return strconv.Itoa(n) + " " + thing
}

// FormatLength returns a plan length, with 0.1 ft or 0.01 m as the last digit:
// "42.3 ft", "12.89 m".
func FormatLength(metres float64, s System) string { return Nearest.Length(metres, s) }

// FormatElevation returns a level, with 0.01 ft or 1 mm as the last digit, the
// rounding crews stake by: "98.41 ft", "29.995 m". Both feet print as "ft";
// which one it is belongs once in the head of a sheet.
func FormatElevation(metres float64, s System) string { return Nearest.Elevation(metres, s) }

// ElevationStep is the last digit of FormatElevation, m.
func (s System) ElevationStep() float64 {
	if s == SI {
		return metresPerMillimetre
	}
	return s.LengthUnit().Metres() / 100
}

// FormatDepth returns a short vertical or crosswise measure, a cover, a depth
// of ponding, a diameter: "12.0 in", "305 mm".
func FormatDepth(metres float64, s System) string { return Nearest.Depth(metres, s) }

// FormatSlope returns a slope in percent, the same in every system: "1.25 %".
func FormatSlope(slope float64) string { return Nearest.Slope(slope) }

// FormatFlow returns a flow: L/s, or gpm below one cubic foot per second and
// cfs from there on. Three figures, at most two decimals.
func FormatFlow(cubicMetresPerSecond float64, s System) string {
	return Nearest.Flow(cubicMetresPerSecond, s)
}

// FormatVolume returns a volume in m3 or ft3, three figures.
func FormatVolume(cubicMetres float64, s System) string {
	if s == SI {
		return Nearest.figures(cubicMetres, 3, "m3")
	}
	return Nearest.figures(cubicMetres/cubicFoot, 1, "ft3")
}

// FormatArea returns an area in m2, ft2 or, below a square foot, in2, three
// figures.
func FormatArea(squareMetres float64, s System) string {
	return Nearest.Area(squareMetres, s)
}

// FormatVelocity returns a velocity: "0.98 m/s", "3.2 ft/s".
func FormatVelocity(metresPerSecond float64, s System) string {
	if s == SI {
		return Nearest.fixed(metresPerSecond, 2, "m/s")
	}
	return Nearest.fixed(metresPerSecond/metresPerFoot, 1, "ft/s")
}

// FormatIntensity returns a rainfall intensity: "177.8 mm/h", "7.00 in/h".
func FormatIntensity(metresPerSecond float64, s System) string {
	perHour := metresPerSecond * secondsPerHour
	if s == SI {
		return Nearest.fixed(perHour/metresPerMillimetre, 1, "mm/h")
	}
	return Nearest.fixed(perHour/metresPerInch, 2, "in/h")
}

// FormatTime returns a duration in minutes under two hours, else in hours:
// "5 min", "7.2 min", "72 h".
func FormatTime(seconds float64) string {
	const hoursFrom = 2 * secondsPerHour
	value, unit := seconds/secondsPerMinute, "min"
	if math.Abs(seconds) >= hoursFrom {
		value, unit = seconds/secondsPerHour, "h"
	}
	text := Nearest.fixed(value, 1, unit)
	return strings.Replace(text, ".0 ", " ", 1)
}

// figures prints three significant figures, as far as decimals allows and never
// fewer than the whole number has: 0.53, 5.34, 53.4, 534, 5340 as 5340.
func (r Rounding) figures(v float64, decimals int, unit string) string {
	const significant = 3
	if v != 0 && !math.IsNaN(v) && !math.IsInf(v, 0) {
		whole := int(math.Floor(math.Log10(math.Abs(v)))) + 1
		decimals = min(decimals, max(0, significant-whole))
	}
	return r.fixed(v, decimals, unit)
}

// fixed prints v with that many decimals and its unit. What rounds to zero has
// no sign.
func (r Rounding) fixed(v float64, decimals int, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return NoData
	}
	if r != Nearest { // which FormatFloat is by itself, ties and all
		v = r.Step(v, math.Pow10(-decimals))
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text + " " + unit
}
