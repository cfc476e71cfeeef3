// Package grading judges whether the ground falls away from buildings as the
// rules ask.
//
//	wall |____
//	     |    ''''----____        fall over the first 10 ft
//	     |<---- 3.05 m --->|
package grading

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// Reach is how far from a wall the rules look, m: 10 ft.
const Reach = 3.048

// Rule is what a rule asks of the ground beside a wall.
type Rule struct {
	Name     string
	Required float64 // slope away from the wall, at least
	Source   string
}

// The rules of the International Residential Code, read in the editions 2006 to
// 2024, R401.3: 6 in of fall within the first 10 ft; impervious surfaces within
// 10 ft slope away by 2 %.
var (
	Away  = Rule{"foundation fall", 0.05, "International Residential Code R401.3, 2006 to 2024: 6 in within the first 10 ft"}
	Paved = Rule{"foundation fall, paved", 0.02, "International Residential Code R401.3, 2006 to 2024: impervious surfaces within 10 ft slope away 2 %"}
)

// Status is what a rule says of a wall.
type Status string

// The verdicts.
const (
	Pass    Status = "pass"
	Fail    Status = "fail"
	Unknown Status = "unknown"
)

// Site is what stands round the walls, in site metres.
type Site struct {
	Ground *grid.Grid // as given, its closed voids filled
	Filled []bool     // by cell: the ground was unknown and filled; nil for nowhere
	Lot    orb.Polygon
	Roofs  []orb.Polygon
	Paved  []orb.Polygon
}

// Wall is one side of a roof's outline, judged by the rule for what lies beside
// it.
type Wall struct {
	Line     orb.LineString
	Rule     Rule
	Status   Status
	Measured float64 // mean slope away from the wall; NaN where it cannot be measured
	Why      string  // of an unknown
}

// How walls are measured.
const (
	// coarsest is the largest cell that still shows a fall over Reach, m: two
	// cells.
	coarsest = Reach / 2
	// shortest is the shortest side that is judged, m: less is a jog in the wall.
	shortest = 0.5
	// stationStep is the least distance between measurements along a wall, m;
	// never less than a cell, so that they do not see the same ground.
	stationStep = 1.0
	// outStep is the distance at which ground is looked at on the way out, m.
	outStep = Reach / 12
	// leastPaved is the least width of pavement judged on its own, m.
	leastPaved = 0.9
	// steepest is the slope above which what falls away is the building itself
	// rather than ground: 3:1, the most allowed in side yards.
	//
	// Source: Carroll County (Maryland) code, grading plan checklist.
	steepest = 1.0 / 3
	// sure is how many standard errors a mean must lie off the rule to be a
	// verdict: 19 in 20.
	sure = 2
)

// Walls judges the sides of one roof of a site, from outside its drawn outline:
// the eaves stand for the wall. A wall is unknown, with the reason, where the
// ground beside it is not known or was filled, where a lot line or another
// building is nearer than the rule looks (it then asks for drains or swales),
// where the raster is too coarse, or where the scatter of its ground is wider
// than what it misses or keeps the rule by.
func Walls(s *Site, roof int) []Wall {
	ring := s.Roofs[roof][0]
	turn := 1.0
	if ring.Orientation() == orb.CW {
		turn = -1
	}
	var walls []Wall
	for k := range len(ring) - 1 {
		a, b := ring[k], ring[k+1]
		length := planar.Distance(a, b)
		if length < shortest {
			continue
		}
		// Outward is to the right of a counter-clockwise side.
		out := orb.Point{turn * (b[1] - a[1]) / length, -turn * (b[0] - a[0]) / length}
		walls = append(walls, s.judge(orb.LineString{a, b}, out, roof))
	}
	return walls
}

func (s *Site) judge(line orb.LineString, out orb.Point, roof int) Wall {
	w := Wall{Line: line, Rule: Away, Status: Unknown, Measured: math.NaN()}
	if s.Ground.CellMax() > coarsest {
		w.Why = "the raster's cells are too coarse to show a fall over 10 ft"
		return w
	}
	n := max(1, int(planar.Distance(line[0], line[1])/math.Max(stationStep, s.Ground.CellMax())))
	var away, paved []float64
	blocked := ""
	for k := range n {
		t := (float64(k) + 0.5) / float64(n)
		at := orb.Point{line[0][0] + t*(line[1][0]-line[0][0]), line[0][1] + t*(line[1][1]-line[0][1])}
		slope, onPaving, why := s.measure(at, out, roof)
		switch {
		case why != "":
			blocked = why
		case onPaving:
			paved = append(paved, slope)
		default:
			away = append(away, slope)
		}
	}
	slopes := away
	if len(paved) > len(away) {
		w.Rule, slopes = Paved, paved
	}
	if len(slopes) == 0 || 2*(len(away)+len(paved)) < n {
		w.Why = blocked
		return w
	}
	mean, spread := meanOf(slopes)
	w.Measured = mean
	switch {
	case mean > steepest:
		w.Why = "it falls more steeply than 3:1: the raster may show the building"
	case math.Abs(mean-w.Rule.Required) < sure*spread:
		w.Why = "the ground's scatter is wider than what it is off the rule by"
	case mean >= w.Rule.Required:
		w.Status = Pass
	default:
		w.Status = Fail
	}
	return w
}

// measure is the slope away from a wall at one place: over the pavement where
// it stands against one, else over Reach. why tells what keeps it from being
// measured.
func (s *Site) measure(at, out orb.Point, roof int) (slope float64, onPaving bool, why string) {
	start := s.Ground.Ground(at[0], at[1])
	reached, end := 0.0, math.NaN()
	onPaving = s.paved(orb.Point{at[0] + outStep/2*out[0], at[1] + outStep/2*out[1]})
	for d := 0.0; d <= Reach+outStep/2; d += outStep {
		p := orb.Point{at[0] + d*out[0], at[1] + d*out[1]}
		if onPaving && d > 0 && !s.paved(p) {
			break
		}
		if why := s.blocks(p, roof, d); why != "" {
			return 0, onPaving, why
		}
		reached, end = d, s.Ground.Ground(p[0], p[1])
	}
	if onPaving && reached < leastPaved {
		return 0, true, "the pavement is too narrow to measure"
	}
	if math.IsNaN(start) || math.IsNaN(end) {
		return 0, onPaving, "the ground is not known"
	}
	return (start - end) / reached, onPaving, ""
}

// blocks tells what keeps the ground at a point, some way out, from being
// judged.
func (s *Site) blocks(p orb.Point, roof int, out float64) string {
	if len(s.Lot) > 0 && !planar.PolygonContains(s.Lot, p) {
		return "the lot line is nearer than 10 ft: drains or swales are asked for instead"
	}
	for k, r := range s.Roofs {
		if (k != roof || out > 0) && planar.PolygonContains(r, p) && out > outStep/2 {
			return "a building is nearer than 10 ft: drains or swales are asked for instead"
		}
	}
	c, r := s.Ground.ToCell(p[0], p[1])
	for _, row := range [2]int{int(math.Floor(r)), int(math.Ceil(r))} {
		for _, col := range [2]int{int(math.Floor(c)), int(math.Ceil(c))} {
			if !s.Ground.Contains(col, row) || s.Ground.Void(s.Ground.Index(col, row)) {
				return "the ground is not known"
			}
			if s.Filled != nil && s.Filled[s.Ground.Index(col, row)] {
				return "the ground is interpolated"
			}
		}
	}
	return ""
}

func (s *Site) paved(p orb.Point) bool {
	for _, a := range s.Paved {
		if planar.PolygonContains(a, p) {
			return true
		}
	}
	return false
}

// meanOf returns the mean of values and its standard error, 0 for fewer than
// three.
func meanOf(values []float64) (mean, spread float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v / n
	}
	if n < 3 {
		return mean, 0
	}
	for _, v := range values {
		spread += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(spread / (n - 1) / n)
}
