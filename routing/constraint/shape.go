package constraint

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// span is a stretch of a straight line, plan distances from its start in m.
type span struct{ from, to float64 }

// touch is the length below which a stretch inside a shape counts as touching
// it, m: a thousandth of the plan tolerance of a stake-out.
const touch = 1e-6

// shape is a point, a line or a solid polygon, grown by a distance.
type shape struct {
	bound orb.Bound // grown
	rings [][]orb.Point
	solid bool
	grow  float64
}

func solidShape(p orb.Polygon, grow float64) *shape {
	s := &shape{solid: true, grow: grow}
	for _, r := range p {
		s.rings = append(s.rings, r)
	}
	s.bound = p.Bound().Pad(grow)
	return s
}

func lineShape(l orb.LineString, grow float64) *shape {
	return &shape{rings: [][]orb.Point{l}, grow: grow, bound: l.Bound().Pad(grow)}
}

func pointShape(p orb.Point, grow float64) *shape {
	return &shape{rings: [][]orb.Point{{p}}, grow: grow, bound: p.Bound().Pad(grow)}
}

// distance is how far p lies from the grown shape, m; negative inside.
func (s *shape) distance(p orb.Point) float64 {
	d2 := math.Inf(1)
	inside := false
	for _, ring := range s.rings {
		if len(ring) == 1 {
			d2 = min(d2, planar.DistanceSquared(p, ring[0]))
		}
		for k := 1; k < len(ring); k++ {
			a, b := ring[k-1], ring[k]
			d2 = min(d2, planar.DistanceSquared(p, nearestOnSegment(p, a, b)))
			if s.solid && (a[1] > p[1]) != (b[1] > p[1]) &&
				p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
				inside = !inside
			}
		}
	}
	d := math.Sqrt(d2)
	if inside {
		d = -d
	}
	return d - s.grow
}

func distanceToSegment(p, a, b orb.Point) float64 {
	return planar.Distance(p, nearestOnSegment(p, a, b))
}

func nearestOnSegment(p, a, b orb.Point) orb.Point {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l2 := dx*dx + dy*dy
	if l2 == 0 {
		return a
	}
	t := max(0, min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l2))
	return orb.Point{a[0] + t*dx, a[1] + t*dy}
}

// near tells whether the line from a to b comes into the grown bounds.
func (s *shape) near(a, b orb.Point) bool {
	return max(a[0], b[0]) >= s.bound.Min[0] && min(a[0], b[0]) <= s.bound.Max[0] &&
		max(a[1], b[1]) >= s.bound.Min[1] && min(a[1], b[1]) <= s.bound.Max[1]
}

// spans returns the stretches of the line from a to b inside the grown shape,
// sorted and disjoint; touching does not count.
func (s *shape) spans(a, b orb.Point) []span {
	if !s.near(a, b) {
		return nil
	}
	var in []span
	if s.solid {
		in = s.interior(a, b)
	}
	if s.grow > 0 {
		for _, ring := range s.rings {
			if len(ring) == 1 {
				in = appendDisc(in, a, b, ring[0], s.grow-touch)
			}
			for k := 1; k < len(ring); k++ {
				in = appendCapsule(in, a, b, ring[k-1], ring[k], s.grow-touch)
			}
		}
	}
	return union(in)
}

// interior returns the stretches inside the rings, not grown.
func (s *shape) interior(a, b orb.Point) []span {
	length := planar.Distance(a, b)
	if length == 0 {
		return nil
	}
	cuts := []float64{0, length}
	for _, ring := range s.rings {
		for k := 1; k < len(ring); k++ {
			cuts = appendCrossings(cuts, a, b, ring[k-1], ring[k], length)
		}
	}
	slices.Sort(cuts)
	bare := *s
	bare.grow = 0
	var in []span
	for k := 1; k < len(cuts); k++ {
		if cuts[k]-cuts[k-1] <= touch {
			continue
		}
		if bare.distance(along(a, b, (cuts[k-1]+cuts[k])/2/length)) < -touch {
			in = append(in, span{cuts[k-1], cuts[k]})
		}
	}
	return in
}

// along returns the point at share t of the line from a to b.
func along(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// appendCrossings appends where the line from a to b meets the segment p q;
// for a parallel one the feet of its ends.
func appendCrossings(cuts []float64, a, b, p, q orb.Point, length float64) []float64 {
	ux, uy := (b[0]-a[0])/length, (b[1]-a[1])/length
	sideP := ux*(p[1]-a[1]) - uy*(p[0]-a[0])
	sideQ := ux*(q[1]-a[1]) - uy*(q[0]-a[0])
	footP := ux*(p[0]-a[0]) + uy*(p[1]-a[1])
	footQ := ux*(q[0]-a[0]) + uy*(q[1]-a[1])
	add := func(s float64) {
		if s > 0 && s < length {
			cuts = append(cuts, s)
		}
	}
	if math.Abs(sideP) <= touch {
		add(footP)
	}
	if math.Abs(sideQ) <= touch {
		add(footQ)
	}
	if sideP*sideQ < 0 {
		add(footP + (footQ-footP)*sideP/(sideP-sideQ))
	}
	return cuts
}

func appendDisc(in []span, a, b, c orb.Point, r float64) []span {
	length := planar.Distance(a, b)
	if length == 0 {
		return in
	}
	ux, uy := (b[0]-a[0])/length, (b[1]-a[1])/length
	foot := ux*(c[0]-a[0]) + uy*(c[1]-a[1])
	side := ux*(c[1]-a[1]) - uy*(c[0]-a[0])
	half := r*r - side*side
	if half <= 0 {
		return in
	}
	half = math.Sqrt(half)
	return appendSpan(in, foot-half, foot+half, length)
}

func appendSpan(in []span, from, to, length float64) []span {
	from, to = max(0, from), min(length, to)
	if to-from > touch {
		in = append(in, span{from, to})
	}
	return in
}

// appendCapsule appends the stretch of a b within r of the segment p q: discs
// at its ends and the rectangle between.
func appendCapsule(in []span, a, b, p, q orb.Point, r float64) []span {
	length, l := planar.Distance(a, b), planar.Distance(p, q)
	in = appendDisc(appendDisc(in, a, b, p, r), a, b, q, r)
	if l == 0 || length == 0 {
		return in
	}
	vx, vy := (q[0]-p[0])/l, (q[1]-p[1])/l
	ux, uy := (b[0]-a[0])/length, (b[1]-a[1])/length
	// Along the segment between 0 and l, beside it between -r and r.
	from, to := clip(0, length, vx*(a[0]-p[0])+vy*(a[1]-p[1]), vx*ux+vy*uy, 0, l)
	from, to = clip(from, to, vx*(a[1]-p[1])-vy*(a[0]-p[0]), vx*uy-vy*ux, -r, r)
	return appendSpan(in, from, to, length)
}

// clip narrows from..to to where low <= c + d s <= high.
func clip(from, to, c, d, low, high float64) (float64, float64) {
	if d == 0 {
		if c <= low || c >= high {
			return 0, 0
		}
		return from, to
	}
	s0, s1 := (low-c)/d, (high-c)/d
	if s0 > s1 {
		s0, s1 = s1, s0
	}
	return max(from, s0), min(to, s1)
}

// union sorts and joins stretches; gaps under touch close.
func union(in []span) []span {
	slices.SortFunc(in, func(x, y span) int { return cmp.Compare(x.from, y.from) })
	out := in[:0]
	for _, s := range in {
		if n := len(out); n > 0 && s.from <= out[n-1].to+touch {
			out[n-1].to = max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

// covers tells whether the stretches leave nothing of 0..length out.
func covers(in []span, length float64) bool {
	at := 0.0
	for _, s := range union(in) {
		if s.from > at+touch {
			return false
		}
		at = max(at, s.to)
	}
	return at >= length-touch
}
