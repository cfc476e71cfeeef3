package atlas

import (
	"math"

	"curbfall/io/units"
)

// judge holds the numbers, still in the file's unit, against the kind it says:
// rarer storms bring no less; a depth does not fall with duration and an
// intensity does not grow. The three digits of the files round no order away.
func (f *parser) judge(t *Table, h header, values [][]float64) error {
	for d, row := range values {
		for y := range row {
			if y > 0 && row[y] < row[y-1] {
				return f.faulty(f.at[d], "%s falls from %g at %g years to %g at %g", t.Labels[d], row[y-1], t.Years[y-1], row[y], t.Years[y])
			}
			if d == 0 {
				if row[y] == 0 {
					return f.faulty(f.at[d], "the %s rain is 0", t.label(y, d))
				}
				continue
			}
			before := values[d-1][y]
			switch {
			case h.depth && row[y] < before:
				return f.faulty(f.at[d], "says depths, but %s brings %g after %g in %s: are these intensities?", t.Labels[d], row[y], before, t.Labels[d-1])
			case !h.depth && row[y] > before:
				return f.faulty(f.at[d], "says intensities, but %s has %g after %g in %s: are these depths?", t.Labels[d], row[y], before, t.Labels[d-1])
			}
		}
	}
	return nil
}

// Where a table's 10-year rain of the shortest duration is asked about. Places
// have about 1 (arctic) to 10 in/h; inches said to be millimetres make 0.04 to
// 0.4, millimetres said to be inches 25 and more. From memory.
const (
	tableLeast = 0.5 * inch / hour
	tableMost  = 20 * inch / hour
)

// plausible judges the table's unit by its shortest duration at the return
// period nearest to 10 years.
func (f *parser) plausible(t *Table) error {
	if t.Durations[0] > hour {
		return f.faulty(f.at[0], "starts at %s; a yard wants 5-min to 60-min", t.Labels[0])
	}
	nearest := 0
	for y := range t.Years {
		if math.Abs(math.Log(t.Years[y]/10)) < math.Abs(math.Log(t.Years[nearest]/10)) {
			nearest = y
		}
	}
	if i := t.Intensity[0][nearest]; i < tableLeast || i > tableMost {
		return f.faulty(f.at[0], "its %s rain is %s (%s), as no place has: is the unit in the first line right?", t.label(nearest, 0),
			units.FormatIntensity(i, units.USFoot), units.FormatIntensity(i, units.SI))
	}
	return nil
}
