package design

import (
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// Street is the shape of the gutter outside a curb hole.
type Street struct {
	Roughness  float64 // Manning n
	CrossSlope float64 // of the pavement toward the curb
}

// The stretch either side of an outlet over which the gutter's grade is taken, m,
// and the least it is taken as: a flatter gutter is no gutter.
//
// Source: FHWA HEC-12 (1984), 0.2 % in very flat ground.
const (
	gradeReach       = 5.0
	gutterGradeLeast = 0.002
)

// Where the gutter's flow is looked for, m from the curb: the reach that gutter
// elevations are read over, and beyond for cells of a metre and more.
const (
	gutterLookNear = 0.3
	gutterLookFar  = 1.5
	gutterLookStep = 0.3
)

// streetWater is the level of the street's water outside an outlet in the design
// storm, an elevation, and the flow that holds it there, m3/s: what runs to the
// gutter there over the ground, and all that the lot's pipes bring.
func (l *layer) streetWater(c *constraint.CurbPoint) (level, flow float64) {
	up, down := c.Face.Gutter(math.Min(c.Face.Length, c.Station+gradeReach)), c.Face.Gutter(math.Max(0, c.Station-gradeReach))
	grade := math.Abs(up-down) / (2 * gradeReach)
	if !(grade > gutterGradeLeast) {
		grade = gutterGradeLeast
	}
	for away := gutterLookNear; away <= gutterLookFar; away += gutterLookStep {
		if p := c.Face.Off(c.Station, away); !math.IsNaN(l.law.Ground.Ground(p[0], p[1])) {
			_, weighted := l.water.Runoff(p)
			flow = math.Max(flow, hydraulics.RationalFlow(1, l.criteria.Storm.Intensity, weighted))
		}
	}
	flow += l.totalFlow()
	street := hydraulics.Gutter{Roughness: l.criteria.Street.Roughness, CrossSlope: l.criteria.Street.CrossSlope, Grade: grade}
	return street.Tailwater(c.Gutter, flow), flow
}
