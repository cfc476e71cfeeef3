package report

import (
	"regexp"
	"strconv"
	"strings"

	"curbfall/io/units"
)

// measured is a quantity in a sentence of the design, which speaks SI.
var measured = regexp.MustCompile(`(-?\d+(?:\.\d+)?) (mm/h|m/s|m2|m3|m|L/s)\b`)

// inUnits returns a sentence of the design with its quantities in the units
// people read.
func inUnits(sentence string, s units.System) string {
	if s == units.SI {
		return sentence
	}
	return measured.ReplaceAllStringFunc(sentence, func(text string) string {
		m := measured.FindStringSubmatch(text)
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			return text // more digits than a number can hold
		}
		switch m[2] {
		case "m/s":
			return units.FormatVelocity(v, s)
		case "mm/h":
			return units.FormatIntensity(v/millimetresPerHour, s)
		case "m2":
			return units.FormatArea(v, s)
		case "m3":
			return units.FormatVolume(v, s)
		case "L/s":
			return units.FormatFlow(v/litresPerCubicMetre, s)
		}
		return length(v, m[1], s)
	})
}

// length prints metres as short measure, elevation or plan length. Written to
// the millimetre and of a metre or more they are elevations or depths, which
// want hundredths of a foot.
func length(v float64, written string, s units.System) string {
	const shortMeasure = 1 // m; below it people speak of inches
	_, decimals, _ := strings.Cut(written, ".")
	switch {
	case v > -shortMeasure && v < shortMeasure:
		return units.FormatDepth(v, s)
	case len(decimals) >= 3:
		return units.FormatElevation(v, s)
	}
	return units.FormatLength(v, s)
}

// lines are sentences in the units people read.
func lines(list []string, s units.System) []string {
	out := make([]string, len(list))
	for i, l := range list {
		out[i] = inUnits(l, s)
	}
	return out
}

// plain is a name of the design as people write it: "curb face".
func plain(name string) string { return strings.ReplaceAll(name, "_", " ") }
