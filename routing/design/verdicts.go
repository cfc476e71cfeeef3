package design

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// The search's spacings, m: the coarse one finds nearly every route; the fine
// one is asked before an inflow is called infeasible.
const (
	coarse = 0.5
	fine   = 0.25
)

const (
	// latticeCosts is more height than a way on a lattice costs that one in the
	// plane beside it does not, m: 0.76 % of length, half a step at each end and corner
	// where the ground is highest, 9 mm on the worst of 120 lots; and the difference
	// of two covers where a step is lost beside one.
	latticeCosts = 0.2
	// nearMiss is the missing height up to which other ways are tried in the plane,
	// and the fine lattice's, m: those of one lot came out within 2 mm of each other.
	nearMiss = 0.008
	// spareHeight is a margin that is not raised further, m: pipes are laid in steps
	// of a millimetre.
	spareHeight = 0.002
	// waysTried is to how many places on the curb ways are moved in the plane,
	// waysApart how far these are apart, m, and raisedMove how far points are moved at
	// first, m. On rough ground the highest way lies by other bumps than the lattice's:
	// with 4 ways, 1.5 m and 0.5 m, 12 of 915 verdicts at the edge were wrong.
	waysTried  = 10
	waysApart  = 0.6
	raisedMove = 2.0
)

// wayOut is a way out by one of the mains.
type wayOut struct {
	search.Way
	wide int
}

// verdict says whether an inflow can be drained by itself: by one of the mains, at
// its least slope.
type verdict struct {
	way    *wayOut // the one with the best margin, nil: none
	step   float64 // of the lattice it is one of, m; 0: moved off it
	served bool    // by a plan: then it is not asked for a way
}

func (v *verdict) able() bool { return v.served || v.way != nil && search.Enough(v.way.Margin) }

// raised tells that the way is none of a lattice's.
func (v *verdict) raised() bool { return v.way != nil && v.step == 0 }

// margin is the height to spare, m; -Inf where there is no way.
func (v *verdict) margin() float64 {
	if v.way == nil {
		return math.Inf(-1)
	}
	return v.way.Margin
}

// take notes a way where it is better.
func (v *verdict) take(w wayOut, step float64) {
	if w.Margin > v.margin() {
		v.way, v.step = &w, step
	}
}

// verdicts asks for each inflow alone whether any way exists, but for those a plan
// serves and the hopeless.
func (d *job) verdicts(ctx context.Context, served []int) ([]verdict, error) {
	list := make([]verdict, len(d.in))
	for i := range list {
		if list[i].served = slices.Contains(served, i); list[i].served || slices.Contains(d.hopeless, i) {
			continue
		}
		var err error
		if list[i], err = d.now().verdict(ctx, i, math.Inf(-1), true); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// now is the lot under its limits as they are.
func (d *job) now() *trial {
	if d.asIs == nil {
		d.asIs = d.trialOf(map[posing]*search.Arcs{})
	}
	return d.asIs
}

// verdict asks for inflow i alone, by one of the mains after the other until one gets
// it out. Ways on a lattice that miss by more than least are none.
func (t *trial) verdict(ctx context.Context, i int, least float64, sure bool) (best verdict, err error) {
	for _, wide := range t.mains() {
		v, err := t.verdictBy(ctx, wide, i, least, sure)
		if err != nil {
			return v, err
		}
		if v.margin() > best.margin() {
			best = v
		}
		if best.able() {
			break
		}
	}
	return best, nil
}

// verdictBy asks for inflow i alone by one of the mains: the coarse lattice, then
// its best ways moved in the plane, and where those miss by little, or where sure is
// set and it has none, the fine lattice likewise.
func (t *trial) verdictBy(ctx context.Context, wide, i int, least float64, sure bool) (v verdict, err error) {
	for _, step := range [...]float64{coarse, fine} {
		var ways []wayOut
		for _, w := range t.swept(step, wide).Several(i, least, waysTried, waysApart) {
			ways = append(ways, wayOut{w, wide})
		}
		for _, w := range ways {
			v.take(w, step)
		}
		for _, w := range ways {
			if v.able() {
				return v, nil
			}
			wanted := v.margin()
			if !math.IsInf(least, -1) {
				wanted = 0 // only whether it gets out
			}
			v.take(t.raised(ctx, i, w, wanted), 0)
			if err := ctx.Err(); err != nil {
				return v, err
			}
			if v.margin() < -nearMiss {
				return v, nil
			}
		}
		if v.able() || v.way == nil && !sure {
			break
		}
	}
	return v, nil
}

// raised is a way of inflow i moved in the plane to where it comes highest, or as
// far as it may come to a margin of least.
func (d *job) raised(ctx context.Context, i int, w wayOut, least float64) wayOut {
	e := *d
	e.used = []discharge{d.endOf(&w)}
	t := tree{{at: d.in[i].At, next: 1, inflow: i, outlet: -1}}
	for _, p := range w.Points {
		t = append(t, vertex{at: p, next: len(t) + 1, inflow: -1, outlet: -1})
	}
	t = append(t, vertex{at: e.used[0].at, next: -1, inflow: -1, outlet: 0})
	r := e.rules(d.leastHeight(fine, w.wide).bore)
	r.Split = raisedSplit
	if line := r.Line; e.used[0].curb == nil { // there the search knows no first pipe that is the last
		r.Line = func(source, outlet int, along float64) (constraint.Line, float64) {
			if source >= 0 && outlet >= 0 {
				return barred, 0
			}
			return line(source, outlet, along)
		}
	}
	plan, margin := search.Raise(ctx, e.planOf(t), r, raisedMove, spareHeight, least)
	w.Points, w.Margin = nil, margin
	for v := plan[0].Next; ; v = plan[v].Next {
		if plan[v].Outlet >= 0 {
			w.Along = plan[v].Along
			break
		}
		w.Points = append(w.Points, plan[v].At)
	}
	w.Points = d.withinReach(i, w)
	return w
}

// barred is the law where no pipe may lie.
func barred(to []constraint.Station, _, _ orb.Point) ([]constraint.Station, float64, bool) {
	return to, 0, false
}

// raisedSplit is the longest pipe of a way in the plane that is not offered a bend
// midway, m: ground that decides is seldom wider.
const raisedSplit = 1.0

// hair is what a point is kept off the end of a reach by, m: rounding, and no more.
const hair = 1e-7

// withinReach are the points of a way with more on its first and last pipe where
// those are longer than a search's are.
func (d *job) withinReach(i int, w wayOut) (points []orb.Point) {
	if len(w.Points) == 0 {
		return nil
	}
	a, end := d.leastHeight(fine, w.wide), d.endOf(&w)
	points = slices.Clone(w.Points)
	first := d.source(i, posing{a.bore, a.step}).Reach - a.step
	if l := distance(d.in[i].At, points[0]); l > first {
		points = slices.Insert(points, 0, between(d.in[i].At, points[0], first))
	}
	last, n := d.outletOf(a, &end).Reach-hair, len(points)
	if l := distance(points[n-1], end.at); end.curb == nil && l > last {
		points = append(points, between(end.at, points[n-1], last))
	}
	return points
}

// endOf is where a way ends.
func (d *job) endOf(w *wayOut) discharge {
	e := *d
	e.used = []discharge{d.out[w.Outlet]}
	x, _ := e.slid(0, w.Along)
	return x
}

// outlet is a place the search may end at.
func (d *job) outlet(k int) discharge {
	if k < len(d.out) {
		return d.out[k]
	}
	return d.slidOut[k-len(d.out)]
}

// bend lays the ways that inflows get out by off a lattice over it, the tightest first,
// with the places they end at.
func (d *job) bend(own []verdict) {
	d.bent = map[float64]*search.Lattice{}
	for _, step := range [...]float64{coarse, fine} {
		var ways []*wayOut
		for i := range own {
			if v := &own[i]; v.able() && !v.served && v.step != step {
				ways = append(ways, v.way)
			}
		}
		if len(ways) == 0 {
			continue
		}
		slices.SortStableFunc(ways, func(a, b *wayOut) int { return cmp.Compare(a.Margin, b.Margin) })
		l := d.lattice(step)
		for _, w := range ways {
			l.Bend(w.Points)
			x := d.endOf(w)
			if x.at != d.out[w.Outlet].at && !slices.ContainsFunc(d.slidOut, func(y discharge) bool { return y.at == x.at }) {
				d.slidOut = append(d.slidOut, x)
			}
		}
		d.bent[step] = &l
		maps.DeleteFunc(d.posed, func(k posing, _ *posed) bool { return k.step == step })
	}
}
