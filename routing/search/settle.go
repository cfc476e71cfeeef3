package search

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// draw finds the ends of all legs; lacking is by how much legs and joins are
// shorter than the least there must be, m.
func (f *part) draw() (lacking float64) {
	for k := range f.branches {
		b := &f.branches[k]
		n := len(b.legs)
		b.points = append(b.points[:0], f.whole[b.from].At)
		for j := 1; j < n; j++ {
			b.points = append(b.points, f.crossing(b.legs[j-1], b.legs[j]))
		}
		switch {
		case b.into >= 0:
			parent := &f.branches[b.into]
			end := f.crossing(b.legs[n-1], parent.legs[b.on])
			b.points = append(b.points, end)
			lacking += f.lack(parent, b.on, parent.points[b.on], end) + f.lack(parent, b.on, end, parent.points[b.on+1])
		case f.slides:
			if at := (footed{b.legs[n-1].dir, b.legs[n-1].offset, f.base}); at != f.footed {
				f.footed = at
				f.end, f.ends = f.slid(b.legs[n-1])
			}
			if !f.ends {
				lacking += lackMost
			}
			b.points = append(b.points, f.end.At)
		default:
			b.points = append(b.points, f.whole[f.foot].At)
		}
		for j := range b.legs {
			lacking += f.lack(b, j, b.points[j], b.points[j+1])
			if l := &b.legs[j]; !l.fast {
				l.at = orb.Point{(b.points[j][0] + b.points[j+1][0]) / 2, (b.points[j][1] + b.points[j+1][1]) / 2}
			}
		}
	}
	return lacking
}

// footed is the leg a foot was last slid to.
type footed struct {
	dir          int
	offset, base float64
}

// leastLeg is the least length of a leg, m: less is no pipe.
const leastLeg = 0.02

// lackMost is the most one leg is said to lack, m.
const lackMost = 1e3

func (f *part) lack(b *branch, j int, from, to orb.Point) float64 {
	u := f.toward(b.legs[j].dir)
	l := leastLeg - u[0]*(to[0]-from[0]) - u[1]*(to[1]-from[1])
	switch {
	case l <= 0:
		return 0
	case l < lackMost:
		return l
	}
	return lackMost // a crossing of parallels is no number
}

// slid is the foot moved along the curb to where a leg meets it; ok is false
// where no outlet may be.
func (f *part) slid(l leg) (foot Point, ok bool) {
	foot = f.whole[f.foot]
	aside := func(along float64) (orb.Point, float64, bool) {
		q, _, ok := f.Outlet(foot.Outlet, along)
		return q, f.offsetOf(l.dir, q) - l.offset, ok
	}
	// Curbs are nearly straight: a few steps along the chord come there.
	const chord = 0.1
	for range 6 {
		q, d, ok := aside(foot.Along)
		if !ok {
			return foot, false
		}
		if foot.At = q; math.Abs(d) < 1e-9 {
			return foot, true
		}
		step := chord
		_, e, ok := aside(foot.Along + step)
		if !ok {
			step = -chord
			if _, e, ok = aside(foot.Along + step); !ok {
				return foot, false
			}
		}
		foot.Along -= step * d / (e - d)
	}
	return foot, false
}

// join is a point of a plan on a leg of a branch, at a station along it, m.
type join struct {
	branch, leg int
	v           int
	station     float64
}

// drawn is the whole plan with the part as last drawn; it holds until the next is
// asked for.
func (f *part) drawn() Plan {
	q := f.scratch[:0]
	index := slices.Grow(f.index[:0], len(f.whole))[:len(f.whole)]
	for v, s := range f.whole {
		if !f.replaced[v] {
			index[v] = len(q)
			q = append(q, s)
		}
	}
	for v := range q {
		if n := q[v].Next; n >= 0 {
			q[v].Next = index[n]
		}
	}
	ids := slices.Grow(f.ids[:0], len(f.branches))[:len(f.branches)]
	f.joins = f.joins[:0]
	for k := len(f.branches) - 1; k >= 0; k-- {
		b := &f.branches[k]
		n := len(b.legs)
		ids[k] = slices.Grow(ids[k][:0], n+1)[:n+1]
		ids[k][0] = index[b.from]
		for j := 1; j <= n; j++ {
			if j == n && b.into < 0 {
				ids[k][n] = index[f.foot]
				if f.slides {
					q[ids[k][n]].At, q[ids[k][n]].Along = f.end.At, f.end.Along
				}
				break
			}
			ids[k][j] = len(q)
			q = append(q, Point{Vertex{b.points[j], -1, -1, -1}, math.NaN()})
		}
		if b.into >= 0 {
			u := f.toward(f.branches[b.into].legs[b.on].dir)
			f.joins = append(f.joins, join{b.into, b.on, ids[k][n], u[0]*b.points[n][0] + u[1]*b.points[n][1]})
		}
	}
	f.index, f.ids = index, ids
	f.scratch = f.strung(q)
	return f.scratch
}

// strung leads every leg's pipes from its upper end past what joins it to its lower
// end.
func (f *part) strung(q Plan) Plan {
	var list []join
	for k := range f.branches {
		for j := range f.branches[k].legs {
			v := f.ids[k][j]
			list = list[:0]
			for _, x := range f.joins {
				if x.branch == k && x.leg == j {
					list = append(list, x)
				}
			}
			if b := &f.branches[k]; b.into < 0 && j == len(b.legs)-1 && f.last > 0 {
				// The pipe to an outlet has a law of its own: it starts where a leg is long.
				u, end := f.toward(b.legs[j].dir), b.points[j+1]
				at := orb.Point{end[0] - f.last*u[0], end[1] - f.last*u[1]}
				if math.Hypot(end[0]-b.points[j][0], end[1]-b.points[j][1]) > f.last+f.Short {
					list = append(list, join{k, j, len(q), u[0]*at[0] + u[1]*at[1]})
					q = append(q, Point{Vertex{at, -1, -1, -1}, math.NaN()})
				}
			}
			slices.SortStableFunc(list, func(a, b join) int { return cmp.Compare(a.station, b.station) })
			for _, x := range list {
				q[v].Next = x.v
				v = x.v
			}
			q[v].Next = f.ids[k][j+1]
		}
	}
	return q
}

// settled is a part with the cheapest plan its legs are moved to, nil where that
// is none, and the cost.
type settled struct {
	*part
	plan Plan
	cost float64
}

// settle moves and changes the legs of a part, to a few centimetres.
func (f *part) settle() settled {
	q, cost := f.score(math.Inf(1))
	best, cost := f.moved(slices.Clone(q), cost, 0.5, 0.1, everyLeg)
	for changed := true; changed; {
		changed = false
		for _, change := range []func(k, j int) bool{f.leaveOut, f.swap, f.veerLeft, f.veerRight} {
			for k := range f.branches {
				for j := 0; j < len(f.branches[k].legs); j++ {
					if q, c, ok := f.otherwise(change, k, j, cost); ok {
						best, cost, changed = q, c, true
						j--
					}
				}
			}
		}
	}
	return settled{f, best, cost}
}

// finish moves the legs to the last millimetre.
func (x *settled) finish() {
	x.plan, x.cost = x.moved(x.plan, x.cost, 0.25, finestMove, everyLeg)
}

// reach is some legs of a part: those from first up to last, exclusive, of one
// branch; of all where branch is -1.
type reach struct{ branch, first, last int }

var everyLeg = reach{-1, 0, math.MaxInt}

// moved moves legs sideways, one and two at a time, and turns all of them, by less
// and less, and keeps what is cheaper.
func (f *part) moved(best Plan, cost, step, finest float64, legs reach) (Plan, float64) {
	var back stance
	try := func(change func(by float64), d float64) {
		for _, by := range [2]float64{d, -d} {
			f.copyTo(&back)
			change(by)
			if q, c := f.score(cost - worthMoving); c < cost-worthMoving {
				best, cost = slices.Clone(q), c
				return
			}
			f.stance, back = back, f.stance
		}
	}
	for d := step; d >= finest; d /= 2 {
		for range movesEach {
			before := cost
			for k := range f.branches {
				if legs.branch >= 0 && legs.branch != k {
					continue
				}
				for j := max(0, legs.first); j < min(len(f.branches[k].legs), legs.last); j++ {
					if f.branches[k].legs[j].fast {
						continue
					}
					try(func(by float64) { f.branches[k].legs[j].offset += by }, d)
					if j+1 == len(f.branches[k].legs) || f.branches[k].legs[j+1].fast {
						continue
					}
					for _, other := range []float64{1, -1} {
						try(func(by float64) {
							f.branches[k].legs[j].offset += by
							f.branches[k].legs[j+1].offset += other * by
						}, d)
					}
				}
			}
			try(func(by float64) { f.turn(by / turnArm) }, d)
			if f.last > 0 {
				try(func(by float64) { f.last = max(f.Short, f.last+by) }, d)
			}
			if cost >= before-worthMoving {
				break
			}
		}
	}
	f.draw()
	return best, cost
}

// turnArm is the length of pipe that turning all legs by a step moves the end of
// by the step, m.
const turnArm = 10

// turn turns all legs by an angle, each about its fast point or its middle.
func (f *part) turn(by float64) {
	if len(f.branches[0].legs) == 1 && f.branches[0].legs[0].fast && !f.slides {
		return // fast at both ends
	}
	f.draw()
	f.base += by
	for k := range f.branches {
		for j := range f.branches[k].legs {
			l := &f.branches[k].legs[j]
			l.offset = f.offsetOf(l.dir, l.at)
		}
	}
}

// hopeless is how much dearer a change may be before legs are moved to it, m.
const hopeless = 3

// otherwise changes branch k at leg j where that is cheaper once the legs nearby
// are moved to it.
func (f *part) otherwise(change func(k, j int) bool, k, j int, cost float64) (Plan, float64, bool) {
	var back stance
	f.copyTo(&back)
	if change(k, j) {
		// What is no plan is worth changing only where that mends it.
		limit := cost - worthMoving
		if cost >= barred {
			limit = cost - barred/2
		}
		if q, c := f.score(math.Inf(1)); c < cost+hopeless || c >= barred {
			if q, c = f.moved(slices.Clone(q), c, 0.4, 0.05, reach{k, j - 2, j + 2}); c < limit {
				return q, c, true
			}
		}
	}
	f.stance = back
	return nil, 0, false
}

// leaveOut takes leg j out of branch k, where what is left turns no more than
// bends do and nothing joins at the leg.
func (f *part) leaveOut(k, j int) bool {
	b := &f.branches[k]
	end := len(b.legs) - 1
	if end == 0 || f.joined(k, j) || j == end && !(b.into < 0 && f.slides) {
		return false
	}
	if j == 0 {
		if b.legs[1].fast {
			return false
		}
		b.legs[1] = f.through(b.legs[1].dir, f.whole[b.from].At, true)
	} else if j < end && !f.bendable(b.legs[j+1].dir-b.legs[j-1].dir) {
		return false
	}
	f.remove(k, j)
	return j == 0 || j == end || f.merge(k, j-1)
}

// swap changes the order of legs j and j+1 of branch k between the same ends.
func (f *part) swap(k, j int) bool {
	b := &f.branches[k]
	if j+1 >= len(b.legs) || b.legs[j].fast || b.legs[j+1].fast || b.into >= 0 && j+1 == len(b.legs)-1 || f.joined(k, j) || f.joined(k, j+1) {
		return false
	}
	f.draw()
	first, second := b.legs[j].dir, b.legs[j+1].dir
	b.legs[j], b.legs[j+1] = f.through(second, b.points[j], false), f.through(first, b.points[j+2], false)
	if !f.merge(k, j+1) || !f.merge(k, j-1) {
		return false
	}
	for i := 1; i < len(b.legs); i++ {
		if !f.bendable(b.legs[i].dir - b.legs[i-1].dir) {
			return false
		}
	}
	return true
}

// veerLeft and veerRight turn leg j of branch k by one fitting about its middle,
// where nothing joins it and the legs beside it bend no more than bends do.
func (f *part) veerLeft(k, j int) bool  { return f.veer(k, j, 1) }
func (f *part) veerRight(k, j int) bool { return f.veer(k, j, -1) }

func (f *part) veer(k, j, by int) bool {
	b := &f.branches[k]
	if f.joined(k, j) || b.into >= 0 && j == len(b.legs)-1 || len(b.legs) == 1 && b.legs[0].fast {
		return false
	}
	f.draw()
	l := &b.legs[j]
	*l = f.through(l.dir+by, l.at, l.fast)
	if !f.merge(k, j) || !f.merge(k, j-1) {
		return false
	}
	for i := 1; i < len(b.legs); i++ {
		if !f.bendable(b.legs[i].dir - b.legs[i-1].dir) {
			return false
		}
	}
	return true
}

// merge makes legs at and at+1 of branch k one where both have one direction; it
// fails where both lie fast.
func (f *part) merge(k, at int) bool {
	b := &f.branches[k]
	if at < 0 || at+1 >= len(b.legs) || b.legs[at].dir != b.legs[at+1].dir {
		return true
	}
	if b.legs[at+1].fast {
		if b.legs[at].fast {
			return false
		}
		b.legs[at] = b.legs[at+1]
	}
	f.remove(k, at+1)
	return true
}

// remove takes leg j out of branch k; what joined it joins the one before.
func (f *part) remove(k, j int) {
	b := &f.branches[k]
	b.legs = slices.Delete(b.legs, j, j+1)
	for m := range f.branches {
		if x := &f.branches[m]; x.into == k && x.on >= j && x.on > 0 {
			x.on--
		}
	}
}

// joined tells whether a branch joins leg j of branch k.
func (f *part) joined(k, j int) bool {
	return slices.ContainsFunc(f.branches, func(x branch) bool { return x.into == k && x.on == j })
}
