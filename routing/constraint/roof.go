package constraint

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Contains tells whether a point lies in the lot or on its line.
func (l *Lot) Contains(p orb.Point) bool { return solidShape(l.Area, 0).distance(p) <= touch }

// The number of strips an area of intersection is summed over: of a roof and a lot,
// which flows rest on, and of lots that should not meet at all. The sum is off by
// less than a part in bands squared of the outline's height.
const (
	bands        = 2000
	overlapBands = 200
)

// AreaInside returns the plan area of the part of a roof that lies in a lot, m2.
func (r *Roof) AreaInside(l *Lot) float64 {
	return inBoth(solidShape(r.Outline, 0), solidShape(l.Area, 0), bands)
}

// inBoth is the area in both of two solid shapes, m2, summed over n strips of the
// first.
func inBoth(a, b *shape, n int) (area float64) {
	if !a.bound.Intersects(b.bound) {
		return 0
	}
	pad := a.bound.Pad(1)
	h := (a.bound.Max[1] - a.bound.Min[1]) / float64(n)
	for k := range n {
		y := a.bound.Min[1] + (float64(k)+0.5)*h
		if y < b.bound.Min[1] || y > b.bound.Max[1] {
			continue
		}
		from, to := orb.Point{pad.Min[0], y}, orb.Point{pad.Max[0], y}
		for _, s := range a.interior(from, to) {
			for _, t := range b.interior(from, to) {
				area += max(0, min(s.to, t.to)-max(s.from, t.from)) * h
			}
		}
	}
	return area
}

// cornerTurn is the least turn of an outline that makes a corner, radians: ten
// degrees tells a corner from the wobble of a traced line.
const cornerTurn = math.Pi / 18

// Eaves returns where downspouts may stand on a roof's outline: its convex
// corners, then the middles of its eaves, each in order of the ground there,
// lowest first, inside the lot and on known ground. An edge shared with
// another roof is no eave, and a corner between two such is no place.
func (w *Law) Eaves(roof int) []orb.Point {
	ring := counterClockwise(w.site.Roofs[roof].Outline[0])
	n := len(ring) - 1
	shared := make([]bool, n) // edge k runs from vertex k
	for k := range shared {
		shared[k] = w.sharedEdge(roof, ring[k], ring[k+1])
	}
	var corners, middles []orb.Point
	for k := range n {
		prev := (k + n - 1) % n
		if !(shared[prev] && shared[k]) && turn(ring[prev], ring[k], ring[k+1]) >= cornerTurn {
			corners = append(corners, ring[k])
		}
		if !shared[k] {
			middles = append(middles, along(ring[k], ring[k+1], 0.5))
		}
	}
	return append(w.lowestFirst(corners), w.lowestFirst(middles)...)
}

// turn is the change of direction at b, radians, positive to the left.
func turn(a, b, c orb.Point) float64 {
	ux, uy, vx, vy := b[0]-a[0], b[1]-a[1], c[0]-b[0], c[1]-b[1]
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
}

func (w *Law) sharedEdge(roof int, a, b orb.Point) bool {
	m := along(a, b, 0.5)
	for k := range w.roofs {
		if k == roof {
			continue
		}
		for _, ring := range w.roofs[k].Outline {
			if _, at := stationOf(orb.LineString(ring), m); planar.Distance(m, at) <= touching {
				return true
			}
		}
	}
	return false
}

// evenGround is the difference of elevation, m, up to which two places on an
// outline count as equally low: less is noise in any raster, and would let the
// noise choose. Common practice, no source.
const evenGround = 0.02

// lowestFirst orders the places inside the lot and on known ground by it, and
// takes the one nearest a curb first among those equally low.
func (w *Law) lowestFirst(points []orb.Point) []orb.Point {
	ground := func(p orb.Point) float64 { return w.Ground.Ground(p[0], p[1]) }
	points = slices.DeleteFunc(points, func(p orb.Point) bool {
		return !w.Lot.Contains(p) || math.IsNaN(ground(p))
	})
	slices.SortStableFunc(points, func(p, q orb.Point) int { return cmp.Compare(ground(p), ground(q)) })
	for first := range points {
		even := first + 1
		for even < len(points) && ground(points[even])-ground(points[first]) <= evenGround {
			even++
		}
		slices.SortStableFunc(points[first:even], func(p, q orb.Point) int {
			return cmp.Compare(w.toCurb(p), w.toCurb(q))
		})
	}
	return points
}

// toCurb is the distance from p to the nearest curb, m; +Inf where none is drawn.
func (w *Law) toCurb(p orb.Point) float64 {
	near := math.Inf(1)
	for _, c := range w.site.Curbs {
		near = min(near, planar.DistanceFrom(c.Line, p))
	}
	return near
}
