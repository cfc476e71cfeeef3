package lawcheck

import (
	"math"

	"github.com/paulmach/orb"
)

// Lines in plane metres, by the plainest formulas.

func between(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

func length(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

// foot is the point of the segment from a to b nearest to p, as its share of
// the way.
func foot(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l2 := dx*dx + dy*dy
	if l2 == 0 {
		return 0
	}
	return math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l2))
}

// place is a point of a line nearest to something.
type place struct {
	at       orb.Point
	distance float64
	station  float64   // along the line from its first vertex
	along    orb.Point // unit vector along the line there
	segment  int       // index of its first vertex
	share    float64   // of that segment
}

// nearest returns the place of a line nearest to p.
func nearest(line []orb.Point, p orb.Point) place {
	best := place{distance: math.Inf(1)}
	before := 0.0
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		l := length(a, b)
		t := foot(p, a, b)
		q := between(a, b, t)
		if d := length(p, q); l > 0 && d < best.distance {
			best = place{q, d, before + t*l, orb.Point{(b[0] - a[0]) / l, (b[1] - a[1]) / l}, k - 1, t}
		}
		before += l
	}
	return best
}

// atStation returns the place of a line at a distance from its first vertex.
func atStation(line []orb.Point, s float64) place {
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		l := length(a, b)
		if l > 0 && (s <= l || k == len(line)-1) {
			t := math.Min(1, s/l)
			return place{between(a, b, t), 0, s, orb.Point{(b[0] - a[0]) / l, (b[1] - a[1]) / l}, k - 1, t}
		}
		s -= l
	}
	return place{}
}

// inside tells by the even-odd rule whether p lies in a polygon with holes.
func inside(area orb.Polygon, p orb.Point) bool {
	in := false
	for _, r := range area {
		for k := 1; k < len(r); k++ {
			a, b := r[k-1], r[k]
			if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
				in = !in
			}
		}
	}
	return in
}

// signed is the distance from p to a polygon's outline, negative inside.
func signed(area orb.Polygon, p orb.Point) float64 {
	d := math.Inf(1)
	for _, r := range area {
		d = math.Min(d, nearest(r, p).distance)
	}
	if inside(area, p) {
		return -d
	}
	return d
}

// polygonsApart is the least distance between the outlines of two polygons.
func polygonsApart(a, b orb.Polygon) float64 {
	d := math.Inf(1)
	for _, ra := range a {
		for k := 1; k < len(ra); k++ {
			for _, rb := range b {
				for m := 1; m < len(rb); m++ {
					d = math.Min(d, segmentsApart(ra[k-1], ra[k], rb[m-1], rb[m]))
				}
			}
		}
	}
	return d
}

func segmentsApart(a, b, p, q orb.Point) float64 {
	if _, ok := meet(a, b, p, q); ok {
		return 0
	}
	d := math.Inf(1)
	for _, e := range []struct{ x, a, b orb.Point }{{a, p, q}, {b, p, q}, {p, a, b}, {q, a, b}} {
		d = math.Min(d, length(e.x, between(e.a, e.b, foot(e.x, e.a, e.b))))
	}
	return d
}

// meet returns where two segments that are not parallel meet.
func meet(a, b, p, q orb.Point) (orb.Point, bool) {
	d := (b[0]-a[0])*(q[1]-p[1]) - (b[1]-a[1])*(q[0]-p[0])
	if d == 0 {
		return orb.Point{}, false
	}
	t := ((p[0]-a[0])*(q[1]-p[1]) - (p[1]-a[1])*(q[0]-p[0])) / d
	u := ((p[0]-a[0])*(b[1]-a[1]) - (p[1]-a[1])*(b[0]-a[0])) / d
	if t < 0 || t > 1 || u < 0 || u > 1 {
		return orb.Point{}, false
	}
	return between(a, b, t), true
}

// deepest walks from a to b in steps and returns how far inside a polygon it
// comes, 0 where it stays outside.
func deepest(area orb.Polygon, a, b orb.Point) float64 {
	worst := 0.0
	n := max(1, int(math.Ceil(length(a, b)/step)))
	for k := 0; k <= n; k++ {
		worst = math.Max(worst, -signed(area, between(a, b, float64(k)/float64(n))))
	}
	return worst
}
