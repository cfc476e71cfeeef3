package grading

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// The rules for driveways, positive toward the street: one that falls toward the
// house is a reverse driveway and fails the first.
var (
	DrivewayLeast = Rule{Name: "driveway grade", Required: 0.004, Source: "Westlake and Willoughby (Ohio) codes: 0.4 to 10 %"}
	DrivewayMost  = Rule{Name: "driveway grade, at most", Required: 0.10, AtMost: true, Source: "Westlake and Willoughby (Ohio) codes: 0.4 to 10 %, one code 15 %"}
)

// Driveway judges a driveway by the plane nearest to its ground, along the line
// from house to street: the point of its outline nearest to a roof to that
// nearest to the street. One steeper than DrivewayMost is judged by that. ok is
// false for one that comes to no roof within Reach, or has no street.
func Driveway(s *Site, area orb.Polygon, street orb.LineString) (f Finding, ok bool) {
	house, off := s.byRoof(area[0])
	if len(street) < 2 || off > Reach {
		return f, false
	}
	far := nearestTo(area[0], street)
	length := planar.Distance(house, far)
	if length == 0 {
		return f, false
	}
	f = Finding{Line: orb.LineString{house, far}, Rule: DrivewayLeast, Status: Unknown, Measured: math.NaN()}
	var ground []point
	filled := 0
	s.eachCell(area.Bound(), func(i int, p orb.Point) {
		switch {
		case !planar.PolygonContains(area, p):
		case s.Filled != nil && s.Filled[i]:
			filled++
		default:
			ground = append(ground, point{p[0], p[1], s.Ground.Elevation(i)})
		}
	})
	p, fits := planeThrough(ground)
	switch {
	case filled > len(ground):
		f.Why = "the ground is interpolated"
		return f, true
	case !fits:
		f.Why = "the raster's cells are too coarse to show it"
		return f, true
	}
	slope, spread := p.along((far[0]-house[0])/length, (far[1]-house[1])/length)
	if -slope > DrivewayMost.Required {
		f.Rule = DrivewayMost
	}
	f.judge(-slope, spread)
	return f, true
}

// byRoof is the point of a ring's sides nearest to any roof's outline, and how far
// off that is.
func (s *Site) byRoof(ring orb.Ring) (at orb.Point, off float64) {
	off = math.Inf(1)
	for _, r := range s.Roofs {
		if p := nearestTo(ring, orb.LineString(r[0])); planar.DistanceFrom(orb.LineString(r[0]), p) < off {
			at, off = p, planar.DistanceFrom(orb.LineString(r[0]), p)
		}
	}
	return at, off
}

// nearestTo is the middle of the side of a ring whose middle lies nearest to a
// line.
func nearestTo(ring orb.Ring, line orb.LineString) (at orb.Point) {
	best := math.Inf(1)
	for k := range len(ring) - 1 {
		p := orb.Point{(ring[k][0] + ring[k+1][0]) / 2, (ring[k][1] + ring[k+1][1]) / 2}
		if d := planar.DistanceFrom(line, p); d < best {
			best, at = d, p
		}
	}
	return at
}
