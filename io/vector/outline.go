package vector

import (
	"math"

	"github.com/paulmach/orb"
)

// touchUlps is how near two sides of an outline may come before they touch, in
// units of the last place of its largest coordinate: a corner set onto a side
// is rounded to one of them, twice over for the difference of two.
const touchUlps = 4

// simple returns what keeps a closed ring from being a plain outline, "" where
// nothing does, and where: sides that cross, a corner on another side or at
// another corner, a side that runs back along the one before it. A ring that
// holds no area shows one of them.
func simple(r orb.Ring) (fault string, at orb.Point) {
	most := 0.0
	for _, p := range r {
		most = math.Max(most, math.Max(math.Abs(p[0]), math.Abs(p[1])))
	}
	touch := touchUlps * (math.Nextafter(most, math.Inf(1)) - most)
	n := len(r) - 1 // sides
	for i := range n {
		if a, b, c := r[i], r[i+1], r[(i+2)%n]; onSide(c, a, b, touch) || onSide(a, b, c, touch) {
			return "runs back along itself", b
		}
	}
	for i := range n {
		a, b := r[i], r[i+1]
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue // neighbours round the end
			}
			if fault, at := meet(a, b, r[j], r[j+1], touch); fault != "" {
				return fault, at
			}
		}
	}
	return "", orb.Point{}
}

// meet returns how and where two sides that are no neighbours meet.
func meet(a, b, p, q orb.Point, touch float64) (fault string, at orb.Point) {
	for _, x := range []orb.Point{a, b} {
		if onSide(x, p, q, touch) {
			return "touches itself", x
		}
	}
	for _, x := range []orb.Point{p, q} {
		if onSide(x, a, b, touch) {
			return "touches itself", x
		}
	}
	s, t := side(p, q, a), side(p, q, b)
	if s*t >= 0 || side(a, b, p)*side(a, b, q) >= 0 {
		return "", orb.Point{}
	}
	f := s / (s - t)
	return "crosses itself", orb.Point{a[0] + f*(b[0]-a[0]), a[1] + f*(b[1]-a[1])}
}

// side is twice the area of the triangle o, e, x; positive where x lies left
// of the way from o to e.
func side(o, e, x orb.Point) float64 {
	return (e[0]-o[0])*(x[1]-o[1]) - (e[1]-o[1])*(x[0]-o[0])
}

// onSide tells whether x lies within touch of the side from p to q.
func onSide(x, p, q orb.Point, touch float64) bool {
	dx, dy := q[0]-p[0], q[1]-p[1]
	f := ((x[0]-p[0])*dx + (x[1]-p[1])*dy) / (dx*dx + dy*dy)
	f = math.Max(0, math.Min(1, f))
	return math.Hypot(x[0]-p[0]-f*dx, x[1]-p[1]-f*dy) <= touch
}
