package constraint

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Frontage is the ground between a lot and its curb, within the lot lines
// carried square to the curb.
type Frontage struct {
	Face *Face
	Area orb.Polygon // empty where lot and curb touch
	// From, To is the stretch along the curb, m from the curb's start.
	From, To float64
	front    map[int]bool // lot edges that face the curb, by index of their end
}

// facing is how far a lot edge may turn from the curb's direction and still be
// a front edge: half a right angle tells front from side.
var facing = math.Cos(math.Pi / 4)

// nearestCurb returns the curb a lot meets first, -1 where there is none.
func nearestCurb(lot orb.Polygon, curbs []Curb) int {
	best, at := math.Inf(1), -1
	for k, c := range curbs {
		if d := lineDistance(lot[0], c.Line); d < best-touch {
			best, at = d, k
		}
	}
	return at
}

// lineDistance is the least distance between two lines by their vertices and
// segments, m; 0 where they cross.
func lineDistance(a orb.Ring, b orb.LineString) float64 {
	d := math.Inf(1)
	for i := 1; i < len(a); i++ {
		for j := 1; j < len(b); j++ {
			d = min(d, segmentDistance(a[i-1], a[i], b[j-1], b[j]))
		}
	}
	return d
}

func segmentDistance(a, b, p, q orb.Point) float64 {
	if properlyCross(a, b, p, q) {
		return 0
	}
	return min(
		min(distanceToSegment(a, p, q), distanceToSegment(b, p, q)),
		min(distanceToSegment(p, a, b), distanceToSegment(q, a, b)))
}

func cross(o, a, b orb.Point) float64 {
	return (a[0]-o[0])*(b[1]-o[1]) - (a[1]-o[1])*(b[0]-o[0])
}

// properlyCross tells whether two segments cross at a point inside both,
// further than touch from their ends.
func properlyCross(a, b, p, q orb.Point) bool {
	slackAB, slackPQ := touch*planar.Distance(a, b), touch*planar.Distance(p, q)
	c1, c2 := cross(a, b, p), cross(a, b, q)
	c3, c4 := cross(p, q, a), cross(p, q, b)
	return (c1 > slackAB && c2 < -slackAB || c1 < -slackAB && c2 > slackAB) &&
		(c3 > slackPQ && c4 < -slackPQ || c3 < -slackPQ && c4 > slackPQ)
}

// counterClockwise returns a copy of the ring so that the lot lies on the left.
func counterClockwise(r orb.Ring) orb.Ring {
	r = append(orb.Ring(nil), r...)
	if r.Orientation() == orb.CW {
		r.Reverse()
	}
	return r
}

// frontEdges marks the edges of a lot that face its curb: turned toward it by
// less than half a right angle, with nothing of the lot or another lot between.
func frontEdges(ring orb.Ring, curb orb.LineString, others []*shape) []bool {
	front := make([]bool, len(ring))
	for k := 1; k < len(ring); k++ {
		a, b := ring[k-1], ring[k]
		l := planar.Distance(a, b)
		if l == 0 {
			continue
		}
		m := along(a, b, 0.5)
		_, foot := stationOf(curb, m)
		d := planar.Distance(m, foot)
		if d <= touch {
			front[k] = true
			continue
		}
		nx, ny := (b[1]-a[1])/l, -(b[0]-a[0])/l // outward of a ring seen from its left
		if (nx*(foot[0]-m[0])+ny*(foot[1]-m[1]))/d < facing-squareSlack {
			continue
		}
		front[k] = !blocked(others, m, foot)
	}
	return front
}

func blocked(shapes []*shape, a, b orb.Point) bool {
	for _, s := range shapes {
		if len(s.spans(a, b)) > 0 {
			return true
		}
	}
	return false
}

// frontageOf returns the ground between the lot's front edges and the curb,
// the area without a Face; ok is false where no edge faces the curb and the
// curb does not run through the lot.
func frontageOf(lot orb.Polygon, curb orb.LineString, others []*shape) (f Frontage, ok bool) {
	ring := counterClockwise(lot[0])
	front := frontEdges(ring, curb, others)
	f.front = map[int]bool{}
	chain := longestRun(ring, front, f.front)
	if len(chain) < 2 {
		return throughLot(lot, curb)
	}
	length := planar.Length(curb)
	sa, fa := stationOf(curb, chain[0])
	sb, fb := stationOf(curb, chain[len(chain)-1])
	area := orb.Ring(chain)
	// Where the curb ends before the lot does, the last square line is the one
	// at the curb's end.
	if !square(curb, sb, fb, chain[len(chain)-1], length) {
		area = cutAt(area, curb, sb, fb, true)
	}
	if !square(curb, sa, fa, chain[0], length) {
		area = cutAt(area, curb, sa, fa, false)
	}
	f.From, f.To = min(sa, sb), max(sa, sb)
	if f.To-f.From <= touch || len(area) < 2 {
		return f, false
	}
	area = append(area, fb)
	area = append(area, between(curb, sb, sa)...)
	area = append(area, fa, area[0])
	if math.Abs(planar.Area(area)) > touch {
		f.Area = orb.Polygon{area}
	}
	return f, true
}

// longestRun returns the longest run of front edges as a chain of points and
// marks its edges.
func longestRun(ring orb.Ring, front []bool, marks map[int]bool) []orb.Point {
	n := len(ring) - 1
	bestFrom, bestLen, best := 0, 0, 0.0
	for start := 1; start <= n; start++ {
		prev := start - 1
		if prev == 0 {
			prev = n
		}
		if !front[start] || front[prev] && n > 1 {
			continue
		}
		count, l := 0, 0.0
		for k := start; count < n && front[(k-1)%n+1]; k++ {
			e := (k-1)%n + 1
			l += planar.Distance(ring[e-1], ring[e])
			count++
		}
		if l > best {
			bestFrom, bestLen, best = start, count, l
		}
	}
	var chain []orb.Point
	for i := range bestLen {
		e := (bestFrom+i-1)%n + 1
		marks[e] = true
		if i == 0 {
			chain = append(chain, ring[e-1])
		}
		chain = append(chain, ring[e])
	}
	return chain
}

// square tells whether the line from p to its foot meets the curb square, as
// it does unless the curb has ended.
func square(curb orb.LineString, s float64, foot, p orb.Point, length float64) bool {
	if s > touch && s < length-touch {
		return true
	}
	_, ux, uy := pointAt(curb, s)
	d := planar.Distance(p, foot)
	return d <= touch || math.Abs(ux*(p[0]-foot[0])+uy*(p[1]-foot[1])) <= touch*max(1, d)
}

// cutAt cuts a chain where the square line from the curb's end at s meets it,
// keeping what lies before (last) or behind.
func cutAt(chain orb.Ring, curb orb.LineString, s float64, foot orb.Point, last bool) orb.Ring {
	_, ux, uy := pointAt(curb, s)
	for k := 1; k < len(chain); k++ {
		p, q := chain[k-1], chain[k]
		sp := ux*(p[0]-foot[0]) + uy*(p[1]-foot[1])
		sq := ux*(q[0]-foot[0]) + uy*(q[1]-foot[1])
		if sp*sq > 0 || sp == sq {
			continue
		}
		at := along(p, q, sp/(sp-sq))
		if last {
			return append(append(orb.Ring(nil), chain[:k]...), at)
		}
		return append(orb.Ring{at}, chain[k:]...)
	}
	return nil
}

// between returns the curb's vertices strictly between two stations, in order
// from the first to the second.
func between(curb orb.LineString, from, to float64) []orb.Point {
	var pts []orb.Point
	s := 0.0
	for k := 1; k < len(curb)-1; k++ {
		s += planar.Distance(curb[k-1], curb[k])
		if s > min(from, to)+touch && s < max(from, to)-touch {
			pts = append(pts, curb[k])
		}
	}
	if from > to {
		for i, j := 0, len(pts)-1; i < j; i, j = i+1, j-1 {
			pts[i], pts[j] = pts[j], pts[i]
		}
	}
	return pts
}

// throughLot is the frontage of a curb drawn inside the lot (a lot drawn to
// the middle of its street): the stretch inside, with no ground outside.
func throughLot(lot orb.Polygon, curb orb.LineString) (Frontage, bool) {
	s := solidShape(lot, 0)
	f := Frontage{From: math.Inf(1), To: math.Inf(-1), front: map[int]bool{}}
	before := 0.0
	for k := 1; k < len(curb); k++ {
		for _, in := range s.spans(curb[k-1], curb[k]) {
			f.From = min(f.From, before+in.from)
			f.To = max(f.To, before+in.to)
		}
		before += planar.Distance(curb[k-1], curb[k])
	}
	return f, f.To-f.From > touch
}
