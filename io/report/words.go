package report

import (
	"regexp"
	"strconv"
	"strings"

	"curbfall/io/units"
)

// measured is a quantity in a sentence of the design, which speaks SI, with the
// words before it that say to which side it is rounded.
var measured = regexp.MustCompile(`(at least |at most |less than |short of \w+ by )?(-?\d+(?:\.\d+)?) (mm/h|m/s|m2|m3|m|L/s)\b`)

// side is the side that words before a quantity ask for.
func side(words string) units.Rounding {
	switch words {
	case "":
		return units.Nearest
	case "at most ":
		return units.Down
	}
	return units.Up
}

// millimetre is what sentences are written to. A figure on a side goes there first,
// so that it is the same in a table beside the sentence.
const millimetre = 0.001

// tenth is what sentences write numbers without a unit to.
const tenth = 0.1

// inUnits returns a sentence of the design with its quantities in the units
// people read.
func inUnits(sentence string, s units.System) string {
	if s == units.SI {
		return sentence
	}
	return measured.ReplaceAllStringFunc(sentence, func(text string) string {
		m := measured.FindStringSubmatch(text)
		words, figure := m[1], m[2]
		v, err := strconv.ParseFloat(figure, 64)
		if err != nil {
			return text // more digits than a number can hold
		}
		switch m[3] {
		case "m/s":
			return words + units.FormatVelocity(v, s)
		case "mm/h":
			return words + units.FormatIntensity(v/millimetresPerHour, s)
		case "m2":
			return words + side(words).Area(v, s)
		case "m3":
			return words + units.FormatVolume(v, s)
		case "L/s":
			return words + side(words).Flow(v/litresPerCubicMetre, s)
		}
		return words + length(side(words), v, figure, s)
	})
}

// length prints metres as short measure, elevation or plan length. Written to
// the millimetre and of a metre or more they are elevations or depths, which
// want hundredths of a foot.
func length(to units.Rounding, v float64, written string, s units.System) string {
	const shortMeasure = 1 // m; below it people speak of inches
	_, decimals, _ := strings.Cut(written, ".")
	switch {
	case v > -shortMeasure && v < shortMeasure:
		return to.Depth(v, s)
	case len(decimals) >= 3:
		return to.Elevation(v, s)
	}
	return to.Length(v, s)
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
