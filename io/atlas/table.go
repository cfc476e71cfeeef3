package atlas

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Table is the best estimate of rain at one place, by partial duration series.
type Table struct {
	Source    string      // volume and version, as the file says
	File      string      // its name, for messages
	Years     []float64   // return periods, rising
	Durations []float64   // s, rising
	Labels    []string    // of the durations, as written: "5-min"
	Intensity [][]float64 // m/s, [duration][return period]; 0 where the file rounds to nothing
}

// Storm is the rain to design for.
type Storm struct {
	Years     float64 // return period
	Duration  float64 // s
	Intensity float64 // m/s
	Label     string  // "10-year 5-min"
	Source    string  // where the numbers come from
}

const (
	minute = 60.0
	hour   = 60 * minute
	day    = 24 * hour
)

// At returns the storm of a return period and a duration that the table has. A
// *ChoiceError says what it has instead.
func (t *Table) At(years, duration float64) (Storm, error) {
	d := slices.Index(t.Durations, duration)
	if d < 0 {
		return Storm{}, &ChoiceError{t.File, fmt.Sprintf("has no duration of %s; it has %s", durationLabel(duration), strings.Join(t.Labels, ", "))}
	}
	y, err := t.column(years)
	if err != nil {
		return Storm{}, err
	}
	i := t.Intensity[d][y]
	if i == 0 {
		return Storm{}, &ChoiceError{t.File, fmt.Sprintf("rounds the %s rain to 0; use the table of depths", t.label(y, d))}
	}
	return Storm{Years: years, Duration: duration, Intensity: i, Label: t.label(y, d), Source: t.Source}, nil
}

// Over returns the intensity of a return period the table has over any duration,
// m/s, as a time of concentration asks for it: between two durations straight in
// the logarithms of both. Below the shortest duration the shortest one's holds,
// never more; beyond the longest that is no zero the longest one's, which is more
// than falls. A *ChoiceError where the table has not the return period.
func (t *Table) Over(years float64) (func(duration float64) float64, error) {
	y, err := t.column(years)
	if err != nil {
		return nil, err
	}
	last := len(t.Durations) - 1
	for last > 0 && t.Intensity[last][y] == 0 {
		last--
	}
	return func(duration float64) float64 {
		d, found := slices.BinarySearch(t.Durations[:last+1], duration)
		switch {
		case found || d == 0:
			return t.Intensity[d][y]
		case d > last:
			return t.Intensity[last][y]
		}
		a, b := t.Intensity[d-1][y], t.Intensity[d][y]
		share := math.Log(duration/t.Durations[d-1]) / math.Log(t.Durations[d]/t.Durations[d-1])
		return a * math.Pow(b/a, share)
	}, nil
}

func (t *Table) column(years float64) (int, error) {
	y := slices.Index(t.Years, years)
	if y < 0 {
		return 0, &ChoiceError{t.File, fmt.Sprintf("has no return period of %g years; it has %s", years, list(t.Years))}
	}
	return y, nil
}

func (t *Table) label(y, d int) string { return fmt.Sprintf("%g-year %s", t.Years[y], t.Labels[d]) }

func list(values []float64) string {
	var words []string
	for _, v := range values {
		words = append(words, fmt.Sprintf("%g", v))
	}
	return strings.Join(words, ", ")
}

// durationLabel writes a duration as the table's labels do.
func durationLabel(s float64) string {
	switch {
	case s >= 2*day && math.Mod(s, day) == 0:
		return fmt.Sprintf("%g-day", s/day)
	case s >= 2*hour && math.Mod(s, hour) == 0:
		return fmt.Sprintf("%g-hr", s/hour)
	}
	return fmt.Sprintf("%g-min", s/minute)
}
