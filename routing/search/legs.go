package search

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// leg is a straight line of a part: at so many fittings from the base angle,
// and so far to the left of the plan's first point, m. A fast one goes through a
// point that does not move.
type leg struct {
	dir    int
	offset float64
	fast   bool
	at     orb.Point // the fast point, else the middle at last
}

// branch is the legs from a free point down to the foot of its part or, where
// into is not -1, to the leg on of another branch.
type branch struct {
	from     int // in the whole plan
	legs     []leg
	into, on int
	points   []orb.Point // the ends of the legs, as last drawn
}

// toward is the direction of a leg.
func (f *part) toward(dir int) orb.Point {
	if f.told.base != f.base {
		f.told = told{base: f.base}
	}
	var x orb.Point
	k := dir + len(f.told.dirs)/2
	kept := 0 <= k && k < len(f.told.dirs)
	if kept {
		x = f.told.dirs[k]
	}
	if x == (orb.Point{}) {
		x[1], x[0] = math.Sincos(f.base + float64(dir)*fitting)
	}
	if kept {
		f.told.dirs[k] = x
	}
	return x
}

// told are directions counted from a base angle, by fittings; zero: not told yet.
type told struct {
	base float64
	dirs [64]orb.Point
}

// offsetOf is how far a point lies to the left of a direction through the plan's
// first point, m.
func (f *part) offsetOf(dir int, p orb.Point) float64 {
	u, o := f.toward(dir), f.whole[0].At
	return u[0]*(p[1]-o[1]) - u[1]*(p[0]-o[0])
}

// crossing is where two legs meet.
func (f *part) crossing(a, b leg) orb.Point {
	u, v, o := f.toward(a.dir), f.toward(b.dir), f.whole[0].At
	w := u[0]*v[1] - u[1]*v[0]
	return orb.Point{o[0] + (a.offset*v[0]-b.offset*u[0])/w, o[1] + (a.offset*v[1]-b.offset*u[1])/w}
}

// bendable tells whether a bend turns by so many fittings.
func (f *part) bendable(d int) bool { return -f.sharpest <= d && d <= f.sharpest }

// through is a leg through a point.
func (f *part) through(dir int, p orb.Point, fast bool) leg {
	return leg{dir: dir, offset: f.offsetOf(dir, p), fast: fast, at: p}
}

// beyondJoin is how far down the leg it joins a branch is laid at first, m.
const beyondJoin = 0.3

// lay replaces the pipes of branch k by legs.
func (f *part) lay(k int) {
	b := &f.branches[k]
	way := f.ways[k]
	points := make([]orb.Point, len(way))
	for i, v := range way {
		points[i] = f.whole[v].At
	}
	last := 0 // the direction the last leg must have, where the branch joins
	if b.into >= 0 {
		parent := &f.branches[b.into]
		b.on = f.legAfter(b.into, way[len(way)-1])
		u := f.toward(parent.legs[b.on].dir)
		end := points[len(points)-1]
		prev := points[len(points)-2]
		last = parent.legs[b.on].dir + wyeTurn
		if u[0]*(prev[1]-end[1])-u[1]*(prev[0]-end[0]) > 0 {
			last = parent.legs[b.on].dir - wyeTurn // it comes from the left and turns right
		}
		if f.direct(k, last) {
			return
		}
		points[len(points)-1] = orb.Point{end[0] + beyondJoin*u[0], end[1] + beyondJoin*u[1]}
	}
	points = cornered(points)
	// Of each pipe the two directions it lies between, in the order that turns least.
	pairs := make([][]leg, 0, len(points))
	heading := 0.0
	for i := 1; i < len(points); i++ {
		u := unit(points[i-1], points[i])
		d := (math.Atan2(u[1], u[0]) - f.base) / fitting
		turns := 2 * math.Pi / fitting
		if i == 1 {
			heading = float64(last)
		}
		d += math.Round((heading-d)/turns) * turns
		heading = d
		near, fast := math.Round(d), i == 1
		switch {
		case math.Abs(d-near) <= f.near || b.into < 0 && i == len(points)-1 && f.slides:
			pairs = append(pairs, []leg{f.through(int(near), orb.Point{(points[i-1][0] + points[i][0]) / 2, (points[i-1][1] + points[i][1]) / 2}, false)})
		default:
			pairs = append(pairs, []leg{f.through(int(math.Floor(d)), points[i-1], false), f.through(int(math.Floor(d))+1, points[i], false)})
		}
		if p := pairs[len(pairs)-1]; fast {
			p[0] = f.through(p[0].dir, points[0], true)
		}
	}
	b.legs = f.inOrder(pairs, points, last, b.into >= 0)
	if b.into < 0 && !f.slides {
		end := &b.legs[len(b.legs)-1]
		*end = f.through(end.dir, points[len(points)-1], true)
	}
}

// directMost is how much longer than the way of a branch a single leg may be, m.
const directMost = 0.5

// direct makes branch k one leg straight to the one it joins, where that comes
// there and is hardly longer.
func (f *part) direct(k, dir int) bool {
	b := &f.branches[k]
	parent := &f.branches[b.into]
	from := f.whole[b.from].At
	length := 0.0
	for i, v := range f.ways[k][1:] {
		a, b := f.whole[f.ways[k][i]].At, f.whole[v].At
		length += math.Hypot(b[0]-a[0], b[1]-a[1])
	}
	l := f.through(dir, from, true)
	u, end := f.toward(dir), f.crossing(l, parent.legs[b.on])
	if d := u[0]*(end[0]-from[0]) + u[1]*(end[1]-from[1]); d < leastLeg || d > length+directMost {
		return false
	}
	b.legs = []leg{l}
	return true
}

// shortPiece is the length of a pipe up to which it is there for its bends
// alone, m.
const shortPiece = 0.8

// cornered is a way without the short pieces between its other pipes: these
// turn at one point instead, where their lines meet or midway.
func cornered(way []orb.Point) []orb.Point {
	way = slices.Clone(way)
	for i := 2; i < len(way)-1; i++ {
		a, b, c, d := way[i-2], way[i-1], way[i], way[i+1]
		if math.Hypot(c[0]-b[0], c[1]-b[1]) > shortPiece {
			continue
		}
		corner := orb.Point{(b[0] + c[0]) / 2, (b[1] + c[1]) / 2}
		u, v := unit(a, b), unit(c, d)
		if w := u[0]*v[1] - u[1]*v[0]; math.Abs(w) > 0.2 {
			t := ((c[0]-b[0])*v[1] - (c[1]-b[1])*v[0]) / w
			if t > 0 && t < shortPiece {
				corner = orb.Point{b[0] + t*u[0], b[1] + t*u[1]}
			}
		}
		way = slices.Delete(way, i-1, i)
		way[i-1] = corner
		i--
	}
	return way
}

// legAfter is the leg of branch k that leaves a point of the whole plan.
func (f *part) legAfter(k, v int) int {
	b := &f.branches[k]
	at := f.whole[v].At
	best, near := 0, math.Inf(1)
	for j := range b.legs {
		// Of the legs through it the one farthest down.
		if d := math.Abs(f.offsetOf(b.legs[j].dir, at) - b.legs[j].offset); d < 1e-6 || d < near-1e-6 {
			best, near = j, d
		}
	}
	return best
}

// inOrder strings the legs of some pipes together: each pair in the order that
// turns least, those of one direction as one, and a leg across every turn that
// is larger than a fitting's.
func (f *part) inOrder(pairs [][]leg, points []orb.Point, last int, joins bool) []leg {
	var legs []leg
	add := func(l leg) {
		if n := len(legs) - 1; n >= 0 && legs[n].dir == l.dir {
			if !legs[n].fast {
				legs[n] = l
			}
			return
		}
		legs = append(legs, l)
	}
	swapped := f.swaps(pairs, points, last, joins)
	for i, p := range pairs {
		if swapped[i] == 1 {
			fast := p[0].fast
			p = []leg{f.through(p[1].dir, points[i], fast), f.through(p[0].dir, points[i+1], false)}
		}
		for _, l := range p {
			add(l)
		}
	}
	if joins {
		add(f.through(last, points[len(points)-1], len(legs) == 0))
	}
	return f.chamfered(legs)
}

// swaps tells of each pair of legs whether it is swapped, 1, or not, 0, so that
// all turn least, and the last toward a direction where they join there.
func (f *part) swaps(pairs [][]leg, points []orb.Point, last int, joins bool) []int {
	const never = 1 << 20
	type state struct{ turns, from int }
	table := make([][2]state, len(pairs)) // the least turning up to a pair, swapped or not
	for i, p := range pairs {
		for s := range 2 {
			if table[i][s].turns = never; s == 1 && len(p) == 1 {
				continue
			}
			first, _ := headings(p, s)
			bar := f.barredOrder(p, s == 1, points[i], points[i+1])
			if i == 0 {
				table[i][s].turns = bar
				continue
			}
			for t := range 2 {
				_, before := headings(pairs[i-1], t)
				if n := table[i-1][t].turns + f.turning(before, first) + bar; n < table[i][s].turns {
					table[i][s] = state{n, t}
				}
			}
		}
	}
	end := len(pairs) - 1
	s, least := 0, never
	for t := range 2 {
		n := table[end][t].turns
		if _, final := headings(pairs[end], t); joins {
			n += f.turning(final, last)
		}
		if n < least {
			s, least = t, n
		}
	}
	swapped := make([]int, len(pairs))
	for i := end; i >= 0; i-- {
		swapped[i] = s
		s = table[i][s].from
	}
	return swapped
}

// headings are the directions a pair starts and ends in, swapped or not.
func headings(pair []leg, swapped int) (first, last int) {
	first, last = pair[0].dir, pair[len(pair)-1].dir
	if swapped == 1 {
		return last, first
	}
	return first, last
}

// turning is the turn between two directions in fittings, larger ones than a bend
// makes counted threefold.
func (f *part) turning(a, b int) int {
	d := max(a-b, b-a)
	if d > f.sharpest {
		return 3 * d
	}
	return d
}

// barredTurns is what a leg the law bars counts for, in fittings of turning.
const barredTurns = 100

// barredOrder prices what the law bars of a pair of legs from a to b.
func (f *part) barredOrder(pair []leg, swapped bool, a, b orb.Point) (turns int) {
	if len(pair) == 1 {
		return 0
	}
	first, second := f.through(pair[0].dir, a, false), f.through(pair[1].dir, b, false)
	if swapped {
		first, second = f.through(pair[1].dir, a, false), f.through(pair[0].dir, b, false)
	}
	mid := f.crossing(first, second)
	line, _ := f.line(-1, -1, math.NaN())
	for _, l := range [][2]orb.Point{{a, mid}, {mid, b}} {
		if _, _, ok := line(f.st[:0], l[0], l[1]); !ok {
			turns += barredTurns
		}
	}
	return turns
}

// chamfer is how much of either leg is cut off at a turn made in two, m.
const chamfer = 0.5

// chamfered puts legs across turns larger than a fitting's.
func (f *part) chamfered(legs []leg) []leg {
	for j := 1; j < len(legs); j++ {
		a, b := legs[j-1], legs[j]
		d := b.dir - a.dir
		if f.bendable(d) || d%16 == 8 || d%16 == -8 {
			continue
		}
		x, u, v := f.crossing(a, b), f.toward(a.dir), f.toward(b.dir)
		mid := orb.Point{x[0] + chamfer/2*(v[0]-u[0]), x[1] + chamfer/2*(v[1]-u[1])}
		legs = slices.Insert(legs, j, f.through(a.dir+d/2, mid, false))
		j -= 1
		if j > 64 {
			return legs
		}
	}
	return legs
}
