package grading

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// The rules for lawns.
var (
	LawnLeast = Rule{Name: "lawn slope", Required: 0.02, Source: "Chardon 1153.37, Westlake 1127 and Willoughby 1171.04 (Ohio) codes: 2 % from each building; landscape practice the same, 1 % at the least (common practice, no source)"}
	LawnMost  = Rule{Name: "lawn slope, at most", Required: 1.0 / 3, AtMost: true, Source: "Carroll County (Maryland) code, grading plan checklist: 3:1 in side yards and beyond 20 ft of a structure"}
)

// lawnPatch is the side of the squares a lawn is judged in, m: a puddle that
// matters, and enough cells to tell a slope from noise. In coarse cells it is
// lawnCells of them.
const (
	lawnPatch = 5.0
	lawnCells = 3
)

// Lawns judges the lot's lawn in squares, each by the plane nearest to its
// ground: what is neither roof nor paving nor so near a wall that its own rule
// holds. A square of which less than half is lawn is left out. Each finding is a
// line down the slope; steeper than LawnMost, or NearMost where that holds in its
// middle, it is judged by that.
func Lawns(s *Site) (list []Finding) {
	side := math.Max(lawnPatch, lawnCells*s.Ground.CellMax())
	box := s.Lot.Bound()
	cols, rows := int(math.Ceil((box.Right()-box.Left())/side)), int(math.Ceil((box.Top()-box.Bottom())/side))
	for c := range cols {
		for r := range rows {
			square := orb.Bound{Min: orb.Point{box.Left() + float64(c)*side, box.Bottom() + float64(r)*side}}
			square.Max = orb.Point{square.Min[0] + side, square.Min[1] + side}
			var ground []point
			lawn, filled := 0, 0
			s.eachCell(square, func(i int, p orb.Point) {
				if !s.lawn(p) {
					return
				}
				lawn++
				if s.Filled != nil && s.Filled[i] {
					filled++
					return
				}
				ground = append(ground, point{p[0], p[1], s.Ground.Elevation(i)})
			})
			if 2*float64(lawn)*s.Ground.CellArea() >= side*side {
				list = append(list, patch(ground, square, 2*filled > lawn, s.lawnMost(square.Center())))
			}
		}
	}
	return list
}

// patch judges one square of lawn; most limits its slope.
func patch(points []point, square orb.Bound, filled bool, most Rule) Finding {
	middle := square.Center()
	f := Finding{Line: orb.LineString{middle, middle}, Rule: LawnLeast, Status: Unknown, Measured: math.NaN()}
	p, ok := planeThrough(points)
	switch {
	case filled:
		f.Why = "the ground is interpolated"
		return f
	case !ok:
		f.Why = "too little ground is known"
		return f
	}
	fall, spread, ux, uy := p.steepest()
	half := (square.Right() - square.Left()) / 2
	f.Line = orb.LineString{{p.x - half*ux, p.y - half*uy}, {p.x + half*ux, p.y + half*uy}}
	if fall > most.Required {
		f.Rule = most
	}
	f.judge(fall, spread)
	return f
}

// lawn tells whether a place is lawn whose slope no other rule judges.
func (s *Site) lawn(p orb.Point) bool {
	return planar.PolygonContains(s.Lot, p) && !s.paved(p) && !s.nearRoof(p)
}

// nearRoof tells whether a place lies under a roof or within Reach of one.
func (s *Site) nearRoof(p orb.Point) bool {
	for _, r := range s.Roofs {
		if r.Bound().Pad(Reach).Contains(p) && (planar.PolygonContains(r, p) || planar.DistanceFrom(orb.LineString(r[0]), p) <= Reach) {
			return true
		}
	}
	return false
}

// eachCell calls do for the known cells whose centre lies in a box, west and
// south sides in, east and north sides not.
func (s *Site) eachCell(box orb.Bound, do func(i int, p orb.Point)) {
	g := s.Ground
	c0, r0, c1, r1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, q := range [4]orb.Point{box.Min, box.Max, {box.Left(), box.Top()}, {box.Right(), box.Bottom()}} {
		c, r := g.ToCell(q[0], q[1])
		c0, c1, r0, r1 = math.Min(c0, c), math.Max(c1, c), math.Min(r0, r), math.Max(r1, r)
	}
	for r := max(0, int(r0)); r <= min(g.Rows-1, int(math.Ceil(r1))); r++ {
		for c := max(0, int(c0)); c <= min(g.Cols-1, int(math.Ceil(c1))); c++ {
			i := g.Index(c, r)
			x, y := g.ToSite(float64(c), float64(r))
			if !g.Void(i) && box.Left() <= x && x < box.Right() && box.Bottom() <= y && y < box.Top() {
				do(i, orb.Point{x, y})
			}
		}
	}
}
