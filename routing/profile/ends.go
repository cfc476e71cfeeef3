package profile

import "math"

// HighestEnds returns the highest last invert of one run, of two, and so on,
// elevation m; NaN where so many do not suffice. The list ends where more runs
// gain less than gain, m, above 0; it is empty where no number of runs suffices.
//
// Errors: *ChainError.
func HighestEnds(c *Chain, gain float64) ([]float64, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if _, short := Highest(c); short != nil {
		return nil, nil
	}
	q := newCorridor(c)
	q.tighten()
	f, end := q.reach(), len(q.breaks)-1
	most := q.points[len(q.points)-1].Ceiling
	var list []float64
	for r := 1; r <= end; r++ {
		f.extend()
		high := math.NaN()
		if n := len(f.arrive[r][end]); n > 0 {
			high = f.arrive[r][end][n-1].high
		}
		list = append(list, high)
		if high >= most-gain {
			return list, nil
		}
	}
	for len(list) > 0 && math.IsNaN(list[len(list)-1]) {
		list = list[:len(list)-1]
	}
	return list, nil
}
