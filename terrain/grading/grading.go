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

// Rule is what a rule asks of the ground.
type Rule struct {
	Name     string
	Required float64 // slope, or height in m
	AtMost   bool    // else at least
	Height   bool    // a height in m is asked for, not a slope
	Source   string
}

// The rules of the International Residential Code, read in the editions 2006 to
// 2024, R401.3: 6 in of fall within the first 10 ft; impervious surfaces within
// 10 ft slope away by 2 %.
var (
	Away  = Rule{Name: "foundation fall", Required: 0.05, Source: "International Residential Code R401.3, 2006 to 2024: 6 in within the first 10 ft"}
	Paved = Rule{Name: "foundation fall, paved", Required: 0.02, Source: "International Residential Code R401.3, 2006 to 2024: impervious surfaces within 10 ft slope away 2 %"}
)

// Status is what a rule says of a place.
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
	Noise  float64    // of the ground, m
	Lot    orb.Polygon
	Roofs  []orb.Polygon
	Paved  []orb.Polygon
	Street orb.Point // toward the lot's street, of length 1; zero where it has none
}

// Finding is a place judged by a rule.
type Finding struct {
	Line     orb.LineString
	Rule     Rule
	Status   Status
	Measured float64 // slope or height, as the rule's; NaN where it cannot be measured
	Why      string  // of an unknown
}

// sure is how many standard errors a mean must lie off the rule to be a verdict:
// 19 in 20.
const sure = 2

// judge settles a finding by what was measured and its standard error.
func (f *Finding) judge(measured, spread float64) {
	f.Measured = measured
	over := measured - f.Rule.Required
	if f.Rule.AtMost {
		over = -over
	}
	switch {
	case math.Abs(over) < sure*spread:
		f.Status, f.Why = Unknown, "the ground's scatter is wider than what it is off the rule by"
	case over >= 0:
		f.Status = Pass
	default:
		f.Status = Fail
	}
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
	// party is how near to another building, or to ground beyond the lot, a wall
	// stands that has no ground of its own in front, m: drawn outlines that touch
	// differ by as much.
	party = 0.3
)

// Walls judges the sides of one roof of a site, from outside its drawn outline:
// the eaves stand for the wall. What it shares with another building or has on
// the lot line is left out: no ground of the lot lies in front. A wall is unknown,
// with the reason, where the
// ground beside it is not known or was filled, where a lot line or another
// building is nearer than the rule looks (it then asks for drains or swales),
// where the raster is too coarse, or where the scatter of its ground is wider
// than what it misses or keeps the rule by.
func Walls(s *Site, roof int) []Finding {
	ring := s.Roofs[roof][0]
	turn := 1.0
	if ring.Orientation() == orb.CW {
		turn = -1
	}
	var walls []Finding
	for k := range len(ring) - 1 {
		a, b := ring[k], ring[k+1]
		length := planar.Distance(a, b)
		if length < shortest {
			continue
		}
		// Outward is to the right of a counter-clockwise side.
		out := orb.Point{turn * (b[1] - a[1]) / length, -turn * (b[0] - a[0]) / length}
		if w, free := s.wall(orb.LineString{a, b}, out, roof); free {
			walls = append(walls, w)
		}
	}
	return walls
}

// wall judges one side from where it first stands free to where it last does; free
// is false where it is a party wall all along.
func (s *Site) wall(line orb.LineString, out orb.Point, roof int) (w Finding, free bool) {
	w = Finding{Line: line, Rule: Away, Status: Unknown, Measured: math.NaN()}
	n := max(1, int(planar.Distance(line[0], line[1])/math.Max(stationStep, s.Ground.CellMax())))
	var away, paved []float64
	blocked, open := "", 0
	first, last := n, 0
	at := func(t float64) orb.Point {
		return orb.Point{line[0][0] + t*(line[1][0]-line[0][0]), line[0][1] + t*(line[1][1]-line[0][1])}
	}
	for k := range n {
		at := at((float64(k) + 0.5) / float64(n))
		if s.shared(at, out, roof) {
			continue
		}
		open++
		first, last = min(first, k), k+1
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
	if open == 0 {
		return w, false
	}
	w.Line = orb.LineString{at(float64(first) / float64(n)), at(float64(last) / float64(n))}
	if s.Ground.CellMax() > coarsest {
		w.Why = "the raster's cells are too coarse to show a fall over 10 ft"
		return w, true
	}
	slopes := away
	if len(paved) > len(away) {
		w.Rule, slopes = Paved, paved
	}
	if len(slopes) == 0 || 2*(len(away)+len(paved)) < open {
		w.Why = blocked
		return w, true
	}
	mean, spread := meanOf(slopes)
	if w.Rule == Away && mean > NearMost.Required && s.frontOrRear(out) {
		w.Rule = NearMost
	}
	w.judge(mean, spread)
	if mean > steepest {
		w.Status, w.Why = Unknown, "it falls more steeply than 3:1: the raster may show the building"
	}
	return w, true
}

// shared tells whether a wall is a party wall at one place.
func (s *Site) shared(at, out orb.Point, roof int) bool {
	p := orb.Point{at[0] + party*out[0], at[1] + party*out[1]}
	for k, r := range s.Roofs {
		if k != roof && planar.PolygonContains(r, p) {
			return true
		}
	}
	return len(s.Lot) > 0 && !planar.PolygonContains(s.Lot, p)
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
