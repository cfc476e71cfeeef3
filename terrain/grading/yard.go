package grading

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// NearMost holds within nearReach of a building, before and behind it; beside it
// LawnMost does.
var NearMost = Rule{Name: "slope near a building, at most", Required: 0.10, AtMost: true, Source: "Carroll County (Maryland) code, grading plan checklist: 10 % within 20 ft of a structure, front and rear"}

// nearReach is 20 ft, m.
const nearReach = 6.096

// frontOrRear tells whether a direction out of a building leads to its front or
// rear yard: more toward or off the street than along it. Without a street front
// and side are not told apart.
func (s *Site) frontOrRear(out orb.Point) bool {
	along := math.Abs(out[0]*s.Street[0] + out[1]*s.Street[1])
	across := math.Abs(out[0]*s.Street[1] - out[1]*s.Street[0])
	return s.Street != orb.Point{} && along >= across
}

// nearest is the way from the building nearest to a place, to it, m; infinite
// where there is none.
func (s *Site) nearest(p orb.Point) (out orb.Point, off float64) {
	off = math.Inf(1)
	for _, r := range s.Roofs {
		for k := range len(r[0]) - 1 {
			q := onSide(r[0][k], r[0][k+1], p)
			if d := planar.Distance(p, q); d < off {
				out, off = orb.Point{p[0] - q[0], p[1] - q[1]}, d
			}
		}
	}
	return out, off
}

// onSide is the point of a side nearest to a place.
func onSide(a, b, p orb.Point) orb.Point {
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := dx*dx + dy*dy
	if length == 0 {
		return a
	}
	t := max(0, min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/length))
	return orb.Point{a[0] + t*dx, a[1] + t*dy}
}

// lawnMost is the rule that limits a lawn's slope at a place.
func (s *Site) lawnMost(p orb.Point) Rule {
	if out, off := s.nearest(p); off <= nearReach && s.frontOrRear(out) {
		return NearMost
	}
	return LawnMost
}

// sideYard tells whether a place lies beside a building rather than before or
// behind all.
func (s *Site) sideYard(p orb.Point) bool {
	out, off := s.nearest(p)
	return s.Street != orb.Point{} && !math.IsInf(off, 1) && !s.frontOrRear(out)
}
