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

// FormatLength returns a plan length, with 0.1 ft or 0.01 m as the last digit:
// "42.3 ft", "12.89 m".
func FormatLength(metres float64, s System) string {
	if s == SI {
		return fixed(metres, 2, "m")
	}
	return fixed(metres/s.LengthUnit().Metres(), 1, "ft")
}

// FormatElevation returns a level, with 0.01 ft or 1 mm as the last digit, the
// rounding crews stake by: "98.41 ft", "29.995 m". Both feet print as "ft";
// which one it is belongs once in the head of a sheet.
func FormatElevation(metres float64, s System) string {
	if s == SI {
		return fixed(metres, 3, "m")
	}
	return fixed(metres/s.LengthUnit().Metres(), 2, "ft")
}

// ElevationStep is the last digit of FormatElevation, m.
func (s System) ElevationStep() float64 {
	if s == SI {
		return metresPerMillimetre
	}
	return s.LengthUnit().Metres() / 100
}

// FormatDepth returns a short vertical or crosswise measure, a cover, a depth
// of ponding, a diameter: "12.0 in", "305 mm".
func FormatDepth(metres float64, s System) string {
	if s == SI {
		return fixed(metres/metresPerMillimetre, 0, "mm")
	}
	return fixed(metres/metresPerInch, 1, "in")
}

// FormatSlope returns a slope in percent, the same in every system: "1.25 %".
func FormatSlope(slope float64) string { return fixed(slope*100, 2, "%") }

// FormatFlow returns a flow: L/s, or gpm below one cubic foot per second and
// cfs from there on. Three figures, at most two decimals.
func FormatFlow(cubicMetresPerSecond float64, s System) string {
	switch {
	case s == SI:
		return figures(cubicMetresPerSecond*litresPerCubicMetre, 2, "L/s")
	case math.Abs(cubicMetresPerSecond) < cubicFootPerSecond:
		return figures(cubicMetresPerSecond*secondsPerMinute/gallon, 1, "gpm")
	}
	return figures(cubicMetresPerSecond/cubicFoot, 2, "cfs")
}

// FormatVolume returns a volume in m3 or ft3, three figures.
func FormatVolume(cubicMetres float64, s System) string {
	if s == SI {
		return figures(cubicMetres, 3, "m3")
	}
	return figures(cubicMetres/cubicFoot, 1, "ft3")
}

// FormatArea returns an area in m2, ft2 or, below a square foot, in2, three
// figures.
func FormatArea(squareMetres float64, s System) string {
	if s == SI {
		return figures(squareMetres, 2, "m2")
	}
	if squareMetres < squareFoot {
		return figures(squareMetres/squareInch, 0, "in2")
	}
	return figures(squareMetres/squareFoot, 1, "ft2")
}

// FormatVelocity returns a velocity: "0.98 m/s", "3.2 ft/s".
func FormatVelocity(metresPerSecond float64, s System) string {
	if s == SI {
		return fixed(metresPerSecond, 2, "m/s")
	}
	return fixed(metresPerSecond/metresPerFoot, 1, "ft/s")
}

// FormatIntensity returns a rainfall intensity: "177.8 mm/h", "7.00 in/h".
func FormatIntensity(metresPerSecond float64, s System) string {
	perHour := metresPerSecond * secondsPerHour
	if s == SI {
		return fixed(perHour/metresPerMillimetre, 1, "mm/h")
	}
	return fixed(perHour/metresPerInch, 2, "in/h")
}

// FormatTime returns a duration in minutes under two hours, else in hours:
// "5 min", "7.2 min", "72 h".
func FormatTime(seconds float64) string {
	const hoursFrom = 2 * secondsPerHour
	value, unit := seconds/secondsPerMinute, "min"
	if math.Abs(seconds) >= hoursFrom {
		value, unit = seconds/secondsPerHour, "h"
	}
	text := fixed(value, 1, unit)
	return strings.Replace(text, ".0 ", " ", 1)
}

// figures prints three significant figures, as far as decimals allows and never
// fewer than the whole number has: 0.53, 5.34, 53.4, 534, 5340 as 5340.
func figures(v float64, decimals int, unit string) string {
	const significant = 3
	if v != 0 && !math.IsNaN(v) && !math.IsInf(v, 0) {
		whole := int(math.Floor(math.Log10(math.Abs(v)))) + 1
		decimals = min(decimals, max(0, significant-whole))
	}
	return fixed(v, decimals, unit)
}

// fixed prints v with that many decimals and its unit. What rounds to zero has
// no sign.
func fixed(v float64, decimals int, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return NoData
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text + " " + unit
}
