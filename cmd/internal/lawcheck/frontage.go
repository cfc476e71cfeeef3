package lawcheck

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// frontage is the lot's curb and the stretch of it the lot lines reach when
// carried square to it.
type frontage struct {
	curb       *feature
	line       []orb.Point
	from, to   float64 // m along the line
	vertical   bool
	height     float64 // of a vertical curb, m
	lotLeft    bool    // the lot lies left of the line as drawn
	streetLeft bool
	given      []float64      // gutter elevation at the vertices, nil where not given
	sides      [][2]orb.Point // the lot lines that face no curb
}

// facing is how far a lot line may turn from the curb and be a front line: half
// a right angle divides front from side.
var facing = math.Cos(math.Pi/4) - 1e-9

// settleFrontage finds the curb the lot meets first and the frontage on it.
func (c *checker) settleFrontage() *frontage {
	ring := slices.Clone(c.lot.area[0])
	if ring.Orientation() == orb.CW {
		ring.Reverse() // so that the outward normal of a line is to its right
	}
	f := &frontage{from: math.Inf(1), to: math.Inf(-1)}
	best := math.Inf(1)
	for _, curb := range c.site.byKind["curb"] {
		d := math.Inf(1)
		for k := 1; k < len(ring); k++ {
			for m := 1; m < len(curb.line); m++ {
				d = math.Min(d, segmentsApart(ring[k-1], ring[k], curb.line[m-1], curb.line[m]))
			}
		}
		if d < best-1e-9 {
			best, f.curb, f.line = d, curb, curb.line
		}
	}
	left := 0.0
	for k := 1; k < len(ring); k++ {
		if f.curb == nil || !c.isFront(ring[k-1], ring[k], f.line) {
			f.sides = append(f.sides, [2]orb.Point{ring[k-1], ring[k]})
			continue
		}
		for _, p := range []orb.Point{ring[k-1], ring[k]} {
			s := nearest(f.line, p).station
			f.from, f.to = math.Min(f.from, s), math.Max(f.to, s)
		}
		if m := between(ring[k-1], ring[k], 0.5); nearest(f.line, m).distance > planTolerance {
			left += length(ring[k-1], ring[k]) * side(f.line, m)
		}
	}
	if f.curb != nil && math.IsInf(f.from, 1) {
		c.through(f)
	}
	if f.curb != nil && left == 0 { // the curb runs through the lot, or along its line
		left = side(f.line, c.lot.area.Bound().Center())
	}
	if f.curb == nil || !(f.to > f.from) {
		c.front = nil
		return &frontage{sides: f.sides}
	}
	f.lotLeft = left > 0
	c.settleCurb(f)
	return f
}

// none tells that the lot has no frontage.
func (f *frontage) none() bool { return f == nil || f.curb == nil }

// side is +1 left of a line, -1 right of it.
func side(line []orb.Point, p orb.Point) float64 {
	n := nearest(line, p)
	if n.along[0]*(p[1]-n.at[1])-n.along[1]*(p[0]-n.at[0]) > 0 {
		return 1
	}
	return -1
}

// isFront tells whether a lot line faces the curb with no lot between.
func (c *checker) isFront(a, b orb.Point, curb []orb.Point) bool {
	l := length(a, b)
	if l == 0 {
		return false
	}
	m := between(a, b, 0.5)
	n := nearest(curb, m)
	if n.distance <= planTolerance {
		return true
	}
	out := orb.Point{(b[1] - a[1]) / l, -(b[0] - a[0]) / l}
	if (out[0]*(n.at[0]-m[0])+out[1]*(n.at[1]-m[1]))/n.distance < facing {
		return false
	}
	for _, lot := range c.site.byKind["lot"] {
		if deepest(lot.area, m, n.at) > planTolerance {
			return false
		}
	}
	return true
}

// through takes the stretch of a curb drawn inside the lot as its frontage.
func (c *checker) through(f *frontage) {
	total := 0.0
	for k := 1; k < len(f.line); k++ {
		total += length(f.line[k-1], f.line[k])
	}
	for s := 0.0; s <= total; s += step / 5 {
		if inside(c.lot.area, atStation(f.line, s).at) {
			f.from, f.to = math.Min(f.from, s), math.Max(f.to, s)
		}
	}
}

// settleCurb takes the curb's type, height, street side and gutter.
func (c *checker) settleCurb(f *frontage) {
	kind := word(f.curb.properties["type"])
	f.vertical = kind == "" || kind == "vertical"
	f.height = c.limit("curb_height")
	if h, ok := f.curb.length("curb_height"); ok {
		f.height = h
	}
	f.given = c.site.levels(f.curb, "gutter_elevation")
	switch word(f.curb.properties["street_side"]) {
	case "left":
		f.streetLeft = true
	case "right":
		f.streetLeft = false
	default:
		apart, printed := c.limits["checks.street_side_step"]
		if !printed {
			apart = sidesApart
		}
		left, right := c.meanBeside(f, true), c.meanBeside(f, false)
		f.streetLeft = !f.lotLeft
		if left < right-apart {
			f.streetLeft = true
		} else if right < left-apart {
			f.streetLeft = false
		}
	}
}

// sidesApart is by how much levels on either side of a curb must differ to tell
// the street, m, where no other is printed.
const sidesApart = 0.05

// beside is the point at a distance from the curb, square to it.
func beside(at place, left bool, d float64) orb.Point {
	if !left {
		d = -d
	}
	return orb.Point{at.at[0] - at.along[1]*d, at.at[1] + at.along[0]*d}
}

// meanBeside is the mean ground at 0.3, 0.4 ... 1.0 m every 0.5 m along the
// frontage on one side.
func (c *checker) meanBeside(f *frontage, left bool) float64 {
	sum, n := 0.0, 0
	for s := f.from; s <= f.to; s += 0.5 {
		for tenth := 3; tenth <= 10; tenth++ {
			if z := c.ground.at(beside(atStation(f.line, s), left, float64(tenth)/10)); !math.IsNaN(z) {
				sum, n = sum+z, n+1
			}
		}
	}
	return sum / float64(n)
}

// gutterStep is the spacing at which the street beside a curb is sampled, m: on
// ground of 1 in 10 the lowest is missed by no more than half a millimetre.
const gutterStep = 0.005

// gutter is the gutter elevation at a place of the lot's curb.
func (c *checker) gutter(at place) float64 {
	if g := c.front.given; g != nil {
		return g[at.segment] + at.share*(g[at.segment+1]-g[at.segment])
	}
	low := math.Inf(1)
	for d := 0.3; d < 1+gutterStep/2; d += gutterStep {
		z := c.ground.at(beside(at, c.front.streetLeft, d))
		if math.IsNaN(z) {
			return z
		}
		low = math.Min(low, z)
	}
	return low
}

// inFrontage tells whether a point outside the lot lies between it and its
// curb, within the lot lines carried square to the curb.
func (c *checker) inFrontage(q orb.Point) bool {
	f := c.front
	if f.none() {
		return false
	}
	n := nearest(f.line, q)
	if n.station < f.from-planTolerance || n.station > f.to+planTolerance {
		return false
	}
	if n.distance <= planTolerance {
		return true
	}
	if (side(f.line, q) > 0) != f.lotLeft {
		return false
	}
	// Where the curb ends the last line square to it is the one at its end.
	onto := math.Abs((q[0]-n.at[0])*n.along[0] + (q[1]-n.at[1])*n.along[1])
	first, last := f.line[0], f.line[len(f.line)-1]
	if (length(n.at, first) == 0 || length(n.at, last) == 0) && onto > planTolerance {
		return false
	}
	return deepest(c.lot.area, q, n.at) <= planTolerance
}
