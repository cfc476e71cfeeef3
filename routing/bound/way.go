package bound

import (
	"container/heap"
	"context"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Barrier is a straight line, or a point where A is B, that no pipe comes nearer to
// than Radius, m.
type Barrier struct {
	A, B   orb.Point
	Radius float64
}

const (
	// facet is how far the straight sides of a barrier's outline may lie within the round
	// one, m.
	facet = 2e-4
	// rounding is far more than a sum of metres is out by, and how much longer than
	// given an exit is taken, m: who lays pipes may let one reach as far too far.
	rounding = 2e-6
	// touching is how near to a barrier a line counts as clear of it, m.
	touching = 1e-9
)

// Way returns a length, m, that no way from an inflow to an outlet that keeps
// away from barriers goes below: that of the shortest one round barriers that are facet thinner
// at most. It is infinite where there is none up to known, m. It errs where ctx ends.
func Way(ctx context.Context, barriers []Barrier, from Inflow, outlets []orb.LineString, known float64) (float64, error) {
	return way(ctx, barriers, from, Inflow{At: orb.Point{math.NaN(), math.NaN()}}, outlets, known)
}

// Ways returns, by two inflows, or one and, last, the outlets, lengths, m, that no way
// between them goes below, as Way finds them.
func Ways(ctx context.Context, barriers []Barrier, inflows []Inflow, outlets []orb.LineString, known float64) ([][]float64, error) {
	n := len(inflows)
	apart := make([][]float64, n+1)
	for i := range apart {
		apart[i] = make([]float64, n+1)
	}
	for i, from := range inflows {
		for j := i + 1; j <= n; j++ {
			var err error
			if j == n {
				apart[i][j], err = Way(ctx, barriers, from, outlets, known)
			} else {
				to := inflows[j]
				apart[i][j], err = way(ctx, barriers, from, to, []orb.LineString{{to.At, to.At}}, known)
			}
			if err != nil {
				return nil, err
			}
			apart[j][i] = apart[i][j]
		}
	}
	return apart, nil
}

// way leads from one inflow to lines, which are where another is where it is given.
func way(ctx context.Context, barriers []Barrier, from, to Inflow, lines []orb.LineString, known float64) (float64, error) {
	local := func(p orb.Point) orb.Point { return orb.Point{p[0] - from.At[0], p[1] - from.At[1]} }
	s := &sight{exits: [2]Inflow{{Exit: from.Exit + rounding}, {local(to.At), to.Exit + rounding}}, most: known + rounding, places: make([]place, 1)}
	for _, line := range lines {
		for k := 1; k < len(line); k++ {
			s.outlets = append(s.outlets, [2]orb.Point{local(line[k-1]), local(line[k])})
		}
	}
	for _, x := range barriers {
		s.build(local(x.A), local(x.B), x.Radius)
	}
	for _, o := range s.outlets {
		s.add(alone(o[0], true))
		s.add(alone(o[1], true))
	}
	s.clear()
	length, err := s.shortest(ctx)
	return max(0, length-rounding), err
}

// sight is what straight parts of a way lead between, in metres from the inflow.
type sight struct {
	exits    [2]Inflow // at the way's beginning, and at its end where that is one
	most     float64
	outlets  [][2]orb.Point
	barriers []thinned
	places   []place // the first is the inflow
}

// thinned is a barrier within its outline of straight sides.
type thinned struct {
	a, b   orb.Point
	radius float64
	bound  orb.Bound
}

// place is where a way may bend or end.
type place struct {
	at            orb.Point
	before, after orb.Point // the corners beside it on a barrier's outline; at itself where it is none
	end           bool
	toGo          float64 // straight to the nearest outlet, m
}

func alone(p orb.Point, end bool) place { return place{at: p, before: p, after: p, end: end} }

func (s *sight) add(p place) {
	if p.toGo = s.toOutlet(p.at); norm(p.at)+p.toGo <= s.most {
		s.places = append(s.places, p)
	}
}

func norm(p orb.Point) float64 { return math.Hypot(p[0], p[1]) }

func (s *sight) toOutlet(p orb.Point) float64 {
	least := math.Inf(1)
	for _, o := range s.outlets {
		least = min(least, planar.DistanceFromSegment(o[0], o[1], p))
	}
	return least
}

// build adds a barrier, the corners of its outline, and where that meets the exit's
// end and the outlets.
func (s *sight) build(a, b orb.Point, radius float64) {
	if norm(a)+s.toOutlet(a)-2*(planar.Distance(a, b)+radius) > s.most || radius <= 0 {
		return
	}
	half := max(2, math.Ceil(math.Pi/2/math.Acos(1-min(1, facet/radius))))
	thin := radius*math.Cos(math.Pi/2/half) - touching
	s.barriers = append(s.barriers, thinned{a, b, thin, orb.MultiPoint{a, b}.Bound().Pad(thin)})
	ring := outline(a, b, radius, int(half))
	n := len(ring)
	for k, p := range ring {
		before, after := ring[(k+n-1)%n], ring[(k+1)%n]
		if !s.exits[0].holds(p) && !s.exits[1].holds(p) {
			s.add(place{at: p, before: before, after: after})
		}
		for _, x := range s.exits {
			s.atExit(x, p, after)
		}
		for _, o := range s.outlets {
			if q, ok := crossing(p, after, o[0], o[1]); ok {
				s.add(alone(q, true))
			}
		}
	}
}

// outline is the corners round a barrier, counter-clockwise, all of them at its
// radius: half a circle round either end, in so many parts.
func outline(a, b orb.Point, radius float64, half int) (ring []orb.Point) {
	turn := math.Atan2(b[1]-a[1], b[0]-a[0]) + math.Pi/2
	for _, c := range []orb.Point{a, b} {
		for k := range half + 1 {
			if k == half && a == b {
				continue // the other half's first
			}
			sin, cos := math.Sincos(turn + math.Pi*float64(k)/float64(half))
			ring = append(ring, orb.Point{c[0] + radius*cos, c[1] + radius*sin})
		}
		turn += math.Pi
	}
	return ring
}

// holds tells whether p lies within the inflow's exit; none does where there is no inflow.
func (x Inflow) holds(p orb.Point) bool { return planar.Distance(x.At, p) < x.Exit }

// atExit adds the places from p to q that are as far from an inflow as its exit
// is long.
func (s *sight) atExit(x Inflow, p, q orb.Point) {
	l := planar.Distance(p, q)
	ux, uy := (q[0]-p[0])/l, (q[1]-p[1])/l
	foot := ux*(x.At[0]-p[0]) + uy*(x.At[1]-p[1])
	side := cross(x.At, p, q) / l
	half := x.Exit*x.Exit - side*side
	if !(half >= -touching) {
		return
	}
	half = math.Sqrt(max(0, half))
	for _, t := range []float64{foot - half, foot + half} {
		if t >= -touching && t <= l+touching {
			s.add(alone(orb.Point{p[0] + t*ux, p[1] + t*uy}, false))
		}
	}
}

// crossing is where two segments meet; ok is false where they do not, or lie
// along each other.
func crossing(a, b, p, q orb.Point) (at orb.Point, ok bool) {
	c, d := cross(p, q, a), cross(p, q, b)
	e, f := cross(a, b, p), cross(a, b, q)
	if c*d > 0 || e*f > 0 || c == d {
		return at, false
	}
	t := c / (c - d)
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}, true
}

func cross(o, a, b orb.Point) float64 {
	return (a[0]-o[0])*(b[1]-o[1]) - (a[1]-o[1])*(b[0]-o[0])
}

// clear takes out the places within barriers: no way comes there.
func (s *sight) clear() {
	open := s.places[:1]
	for _, p := range s.places[1:] {
		if p.end || s.sees(p.at, p.at) {
			open = append(open, p)
		}
	}
	s.places = open
}

// sees tells whether the line from a to b keeps out of all barriers.
func (s *sight) sees(a, b orb.Point) bool {
	x0, x1, y0, y1 := min(a[0], b[0]), max(a[0], b[0]), min(a[1], b[1]), max(a[1], b[1])
	for k := range s.barriers {
		w := &s.barriers[k]
		if x1 > w.bound.Min[0] && x0 < w.bound.Max[0] && y1 > w.bound.Min[1] && y0 < w.bound.Max[1] && w.near(a, b) {
			return false
		}
	}
	return true
}

// near tells whether the line from a to b comes into the barrier.
func (w *thinned) near(a, b orb.Point) bool {
	r := w.radius * w.radius
	return planar.DistanceFromSegmentSquared(w.a, w.b, a) < r || planar.DistanceFromSegmentSquared(w.a, w.b, b) < r ||
		planar.DistanceFromSegmentSquared(a, b, w.a) < r || planar.DistanceFromSegmentSquared(a, b, w.b) < r ||
		cross(a, b, w.a)*cross(a, b, w.b) < 0 && cross(w.a, w.b, a)*cross(w.a, w.b, b) < 0
}

// leads tells whether a way may run straight from place i to q: in exits, the first
// metres from an inflow, through barriers.
func (s *sight) leads(i int, q orb.Point) bool {
	p := s.places[i].at
	l, from, to := planar.Distance(p, q), 0.0, 0.0
	if i == 0 {
		from = s.exits[0].Exit
	}
	if q == s.exits[1].At {
		to = s.exits[1].Exit
	}
	if from+to >= l {
		return true
	}
	ux, uy := (q[0]-p[0])/l, (q[1]-p[1])/l
	return s.sees(orb.Point{p[0] + from*ux, p[1] + from*uy}, orb.Point{q[0] - to*ux, q[1] - to*uy})
}

// passes tells whether the line through place p and q leaves the barrier p is a
// corner of on one side, as it must where a way bends there.
func (p *place) passes(q orb.Point) bool {
	b, a := cross(q, p.at, p.before), cross(q, p.at, p.after)
	return a*b >= 0 || min(math.Abs(a), math.Abs(b)) <= touching*planar.Distance(p.at, q)
}

// shortest is the length of the shortest way, by A*: a line is looked along once
// it would be the next part of it.
func (s *sight) shortest(ctx context.Context) (float64, error) {
	settled := make([]bool, len(s.places))
	next := legs{{}}
	for len(next) > 0 {
		x := heap.Pop(&next).(leg)
		if x.to >= 0 && settled[x.to] || !s.leads(x.from, x.at) {
			continue
		}
		if x.to < 0 || s.places[x.to].end {
			return x.length, nil
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		settled[x.to] = true
		u := &s.places[x.to]
		push := func(to int, at orb.Point, toGo float64) {
			l := x.length + planar.Distance(u.at, at)
			if l+toGo <= s.most && u.passes(at) {
				heap.Push(&next, leg{l + toGo, l, x.to, to, at})
			}
		}
		for k := range s.places {
			if v := &s.places[k]; !settled[k] && v.passes(u.at) {
				push(k, v.at, v.toGo)
			}
		}
		for _, o := range s.outlets {
			push(-1, nearest(o[0], o[1], u.at), 0)
		}
	}
	return math.Inf(1), nil
}

// nearest is the point of the segment from a to b that is nearest to p.
func nearest(a, b, p orb.Point) orb.Point {
	x, y := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := x*x + y*y; l > 0 {
		t = max(0, min(1, ((p[0]-a[0])*x+(p[1]-a[1])*y)/l))
	}
	return orb.Point{a[0] + t*x, a[1] + t*y}
}

// leg is a straight part a way may go on by: to a place, or to none but an outlet.
type leg struct {
	least    float64 // the length of ways by it, m, at least
	length   float64 // to its end, m
	from, to int     // places; to is -1 for a place on an outlet's line
	at       orb.Point
}

// legs is a heap, the least first.
type legs []leg

func (l legs) Len() int           { return len(l) }
func (l legs) Less(i, j int) bool { return l[i].least < l[j].least }
func (l legs) Swap(i, j int)      { l[i], l[j] = l[j], l[i] }
func (l *legs) Push(x any)        { *l = append(*l, x.(leg)) }
func (l *legs) Pop() any {
	n := len(*l) - 1
	x := (*l)[n]
	*l = (*l)[:n]
	return x
}
