package grading

import (
	"math"

	"github.com/paulmach/orb"
)

// Kept is the rule that street water stay in the street: behind the curb ground
// rises as high over the gutter as the curb.
func Kept(curbHeight float64) Rule {
	return Rule{Name: "street water kept out", Required: curbHeight, Height: true, Source: "the curb's own height, ground behind it as high (common practice, no source)"}
}

// streetStep is the spacing at which the ground behind a curb is looked at, and
// streetReach how far from it, m: over the walk.
const (
	streetStep  = 0.5
	streetReach = 6.0
)

// Street judges the ground behind a curb between two stations along it: how much
// the highest ground within streetReach behind stands over the gutter. Stretches
// with the same answer are one finding, measured at their lowest. behind is the
// point so far behind the curb at a station, gutter the level there.
func Street(s *Site, curbHeight, from, to float64, behind func(station, back float64) orb.Point, gutter func(station float64) float64) (list []Finding) {
	rule := Kept(curbHeight)
	n := max(1, int((to-from)/streetStep))
	for k := range n {
		a, b := from+(to-from)*float64(k)/float64(n), from+(to-from)*float64(k+1)/float64(n)
		f := Finding{Line: orb.LineString{behind(a, 0), behind(b, 0)}, Rule: rule, Status: Unknown, Measured: math.NaN()}
		switch rise := s.rise((a+b)/2, behind) - gutter((a+b)/2); {
		case s.Ground.CellMax() > coarsest:
			f.Why = "the raster's cells are too coarse to show a curb"
		case math.IsNaN(rise):
			f.Why = "the ground is not known"
		default:
			f.judge(rise, math.Sqrt2*s.Noise) // of two levels
		}
		if last := len(list) - 1; last >= 0 && list[last].Status == f.Status {
			list[last].Line = append(list[last].Line, f.Line[1])
			list[last].Measured = math.Min(list[last].Measured, f.Measured)
			continue
		}
		list = append(list, f)
	}
	return list
}

// rise is the highest ground behind a curb at a station.
func (s *Site) rise(station float64, behind func(station, back float64) orb.Point) float64 {
	top := math.NaN()
	for d := 0.0; d <= streetReach; d += outStep {
		p := behind(station, d)
		if z := s.Ground.Ground(p[0], p[1]); !(z <= top) && !math.IsNaN(z) {
			top = z
		}
	}
	return top
}
