package search

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/parallel"
)

// fitting is the angle all turns are multiples of where they are made by the
// bends and wyes that are sold, 22.5 and 45 degrees; a little under, so that
// rounding leaves no turn larger than allowed.
const fitting = math.Pi / 8 * (1 - 1e-6)

// wyeTurn is how far a wye turns what joins, in fittings: 45 degrees.
const wyeTurn = 2

// exact is how near to a fitting's an angle must be to be one, in fittings: a
// hundredth of a degree, a millimetre in 5 m.
const exact = 5e-4

// nearly is how near to a fitting's an angle is that may be drawn as one: a leg
// instead of two, where the law gives way.
const nearly = 0.3

// Fit turns a plan so that the bends and wyes that are sold make it: between
// points where water turns freely all pipes lie at multiples of 22.5 degrees to
// each other, and what joins a pipe comes to it at 45 degrees where it runs
// straight. Where that cannot be, a part of the plan stays as it was; unfit
// counts those parts, 1 where nothing can be done at all.
//
// A part is the pipes between points where water turns freely: inflows, outlets
// and basins. Its pipes are legs, lines of given directions whose offsets are
// free but where they start or end at a fast point; moving a leg sideways keeps
// every angle. So the directions are chosen first, from those of the plan, each
// replaced by the two nearest where it is none itself; then the offsets and the
// angle the directions are counted from are moved until nothing is gained, and
// legs left out where that is cheaper.
//
// Basins are free points where that is cheaper than turning by fittings there too.
func Fit(ctx context.Context, plan Plan, r Rules) (fitted Plan, unfit int) {
	p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
	if r.Apart > 0 && plan.tangled(r.Apart) {
		p.Apart = toldApart
	}
	given, ok := p.try(slices.Clone(plan))
	if !ok || r.Most(false) < fitting {
		return plan, 1
	}
	inflows, basins := p.freePoints()
	fitted, cost, unfit := p.fit(ctx, given, append(basins, inflows...))
	if len(basins) > 0 {
		p.take(plan)
		if q, c, n := p.fit(ctx, given, inflows); n <= unfit && c < cost {
			return q, n
		}
	}
	return fitted, unfit
}

// finished is how many of the ways a part may lie are moved to the last
// millimetre: the cheapest, which all may still be.
const finished = 2

// fit turns every part of the plan, of so much cost, between free points.
func (p *planner) fit(ctx context.Context, cost float64, free []orb.Point) (Plan, float64, int) {
	unfit := 0
	done := map[orb.Point]bool{} // the points parts start at
	for _, start := range free {
		if done[start] || ctx.Err() != nil {
			continue
		}
		whole := p.plan
		first := p.part(start, free, beginning{0, exact})
		for _, b := range first.branches {
			done[whole[b.from].At] = true
		}
		if first.fits() {
			continue
		}
		begin := first.beginnings()
		tried := make([]settled, len(begin))
		parallel.Each(len(tried), func(k int) { tried[k] = p.apart(whole).part(start, free, begin[k]).settle() })
		slices.SortStableFunc(tried, func(a, b settled) int { return cmp.Compare(a.cost, b.cost) })
		tried = tried[:min(len(tried), finished)]
		parallel.Each(len(tried), func(k int) { tried[k].finish() })
		best, least := Plan(nil), math.Inf(1)
		for _, x := range tried {
			if x.plan != nil && x.cost < least {
				best, least = x.plan, x.cost
			}
		}
		if best == nil {
			best, least = whole, cost
			unfit++
		}
		cost = least
		p.take(best)
	}
	return p.plan, cost, unfit
}

// apart is a planner of its own for the same plan, to work beside others.
func (p *planner) apart(plan Plan) *planner {
	own := &planner{Rules: p.Rules, arcs: map[arcKey]*slopedArc{}}
	own.take(plan)
	return own
}

// freePoints are where water turns freely and a part may start: inflows, and
// basins, where it turns more than a fitting does.
func (p *planner) freePoints() (inflows, basins []orb.Point) {
	for v, s := range p.plan {
		switch {
		case s.Source >= 0:
			inflows = append(inflows, s.At)
		case s.Next >= 0 && p.basin(v):
			basins = append(basins, s.At)
		}
	}
	return inflows, basins
}

func (p *planner) basin(v int) bool {
	for _, c := range p.children[v] {
		a, b, d := p.plan[c].At, p.plan[v].At, p.plan[p.plan[v].Next].At
		if turnOf(unit(a, b), unit(b, d)) > p.Most(len(p.children[v]) > 1) {
			return true
		}
	}
	return false
}

// turnOf is the angle between two directions, radians.
func turnOf(in, out orb.Point) float64 {
	return math.Abs(math.Atan2(in[0]*out[1]-in[1]*out[0], in[0]*out[0]+in[1]*out[1]))
}

// part is a part of a plan between free points.
type part struct {
	*planner
	whole    Plan
	replaced []bool  // points of the whole that the legs replace
	sharpest int     // the largest bend, in fittings
	near     float64 // how near a pipe's direction is to the leg's put for it, in fittings
	foot     int     // in the whole plan
	slides   bool    // along the curb
	footed   footed
	end      Point // the foot as last drawn, where it slides
	ends     bool  // an outlet may be there
	told     told
	stance
	ways [][]int // of each branch, its points in the whole plan, downstream

	// Of the plan as last drawn: its points, those of the whole by their old
	// numbers, those of each branch, and the joins.
	scratch Plan
	index   []int
	ids     [][]int
	joins   []join
	unknown []int // pipes of it not asked for before
}

// stance is how the legs of a part lie.
type stance struct {
	branches []branch
	base     float64 // the angle directions are counted from, radians
	last     float64 // length of the pipe to an outlet, m, where its leg is longer
}

// copyTo writes a stance over another, for going back to: all but where it was last
// drawn.
func (s *stance) copyTo(t *stance) {
	t.base, t.last = s.base, s.last
	t.branches = slices.Grow(t.branches[:0], len(s.branches))[:len(s.branches)]
	for k, b := range s.branches {
		x := &t.branches[k]
		x.from, x.into, x.on = b.from, b.into, b.on
		x.legs = append(x.legs[:0], b.legs...)
	}
}

// part takes the part that starts at a free point, all turns counted from base.
func (p *planner) part(start orb.Point, free []orb.Point, x beginning) *part {
	f := &part{planner: p, whole: p.plan, replaced: make([]bool, len(p.plan)), sharpest: int(p.Most(false)/fitting + exact), near: x.near, stance: stance{base: x.base}}
	v := slices.IndexFunc(f.whole, func(s Point) bool { return s.At == start })
	isFree := func(v int) bool { return f.whole[v].Next < 0 || slices.Contains(free, f.whole[v].At) }
	last := v
	for v = f.whole[v].Next; !isFree(v); v = f.whole[v].Next {
		last = v
	}
	f.foot = v
	f.slides = f.whole[v].Next < 0 && !math.IsNaN(f.whole[v].Along) && len(p.children[v]) == 1
	if a, b := f.whole[last].At, f.whole[v].At; f.whole[v].Outlet >= 0 {
		f.last = math.Hypot(b[0]-a[0], b[1]-a[1])
	}
	f.follow(last, v, -1, isFree)
	for k := range f.branches {
		f.lay(k)
	}
	return f
}

// follow lists the branch that comes down over the pipe from v to its end, and
// those that join it.
func (f *part) follow(v, end, into int, isFree func(int) bool) {
	way := []int{end, v}
	type side struct{ v, at int }
	var sides []side
	for !isFree(v) {
		f.replaced[v] = true
		straight := f.straightest(v)
		for _, c := range f.children[v] {
			if c != straight {
				sides = append(sides, side{c, v})
			}
		}
		v = straight
		way = append(way, v)
	}
	slices.Reverse(way)
	f.branches = append(f.branches, branch{from: v, into: into})
	f.ways = append(f.ways, way)
	own := len(f.branches) - 1
	for _, s := range sides {
		f.follow(s.v, s.at, own, isFree)
	}
}

// inflowStraight is the turn, radians, that an inflow more outweighs when one of
// the pipes that join goes on straight.
const inflowStraight = 0.3

// straightest is the point whose water goes straightest through v; of those
// nearly as straight the one more inflows come by.
func (f *part) straightest(v int) int {
	out := unit(f.whole[v].At, f.whole[f.whole[v].Next].At)
	best, least := -1, math.Inf(1)
	for _, c := range f.children[v] {
		turn := turnOf(unit(f.whole[c].At, f.whole[v].At), out) - inflowStraight*float64(f.above(c))
		if turn < least {
			best, least = c, turn
		}
	}
	return best
}

// above counts the inflows whose water comes by v.
func (f *part) above(v int) int {
	n := 0
	if f.whole[v].Source >= 0 {
		n++
	}
	for _, c := range f.children[v] {
		n += f.above(c)
	}
	return n
}

// beginning is what a part's legs are first laid by: the angle directions are
// counted from, radians, and how near to a leg's a direction is that is drawn as
// one, in fittings.
type beginning struct{ base, near float64 }

// beginnings are those worth trying.
func (f *part) beginnings() (list []beginning) {
	for _, base := range f.bases() {
		list = append(list, beginning{base, exact}, beginning{base, nearly})
	}
	return list
}

// basesTried is how many angles to count from are tried for a part, beside that of
// its last pipe.
const basesTried = 2

// bases are the angles worth counting from: the direction of the last pipe,
// which comes to the curb nearly square, and those of other pipes, the ones first
// from which all are the least far.
func (f *part) bases() []float64 {
	type pipe struct{ angle, length float64 }
	var pipes []pipe
	for _, way := range f.ways {
		for i := 1; i < len(way); i++ {
			a, b := f.whole[way[i-1]].At, f.whole[way[i]].At
			pipes = append(pipes, pipe{math.Atan2(b[1]-a[1], b[0]-a[0]), math.Hypot(b[0]-a[0], b[1]-a[1])})
		}
	}
	// What the two nearest directions are longer than the pipe between them.
	longer := func(base float64) (sum float64) {
		for _, p := range pipes {
			r := math.Mod(p.angle-base, fitting)
			if r < 0 {
				r += fitting
			}
			sum += p.length * ((math.Sin(r)+math.Sin(fitting-r))/math.Sin(fitting) - 1)
		}
		return sum
	}
	slices.SortStableFunc(pipes, func(a, b pipe) int { return cmp.Compare(longer(a.angle), longer(b.angle)) })
	var list []float64
	add := func(base float64) {
		for _, x := range list {
			if d := math.Remainder(base-x, fitting); math.Abs(d) < exact*fitting {
				return
			}
		}
		list = append(list, base)
	}
	trunk := f.ways[0]
	if a, b := f.whole[trunk[len(trunk)-2]].At, f.whole[trunk[len(trunk)-1]].At; f.slides || len(trunk) == 2 {
		add(math.Atan2(b[1]-a[1], b[0]-a[0]))
	}
	if len(trunk) == 2 && !f.slides {
		return list // one pipe between fast points: nothing else will do
	}
	for _, p := range pipes {
		if add(p.angle); len(list) > basesTried {
			break
		}
	}
	return list
}

// fits tells whether all turns of the part are fittings' already.
func (f *part) fits() bool {
	for v, inner := range f.replaced {
		if !inner {
			continue
		}
		out := unit(f.whole[v].At, f.whole[f.whole[v].Next].At)
		runs := 0
		for _, c := range f.children[v] {
			turn := turnOf(unit(f.whole[c].At, f.whole[v].At), out) / fitting
			near := math.Round(turn)
			if math.Abs(turn-near) > exact || near > float64(f.sharpest) {
				return false
			}
			if near == 0 {
				runs++
			} else if len(f.children[v]) > 1 && near != wyeTurn {
				return false
			}
		}
		if len(f.children[v]) > 1 && runs != 1 {
			return false
		}
	}
	return true
}
