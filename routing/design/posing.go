package design

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/search"
)

// attempt is one set of sizes the whole tree is searched with.
type attempt struct {
	step     float64 // of the lattice, m
	bore     int     // of all pipes but the outlet pipe
	hole     int     // bore of the outlet pipe to a curb face
	holeFlow float64 // that pipe is laid steep enough for, m3/s; 0: none is asked
}

// capacity tells whether an attempt asks the outlet pipe to carry a flow.
func (a attempt) capacity() bool { return a.holeFlow > 0 }

// attempts lists what is tried, best first: the bore that carries the whole
// flow at its least slope with an outlet pipe steep enough for it, then with one
// at its least slope, then narrower bores, which need less height, and last, with the
// smallest hole through the curb, those that need the least.
func (d *job) attempts(step, flow float64) []attempt {
	first, hole := d.smallestMain(), d.holeFor(flow)
	widest := d.boreFor(flow, first, len(d.criteria.Catalogue.Bores)-1)
	list := []attempt{{step, widest, min(widest, hole), flow}}
	for b := widest; b >= first; b-- {
		list = append(list, attempt{step, b, min(b, hole), 0})
	}
	for _, wide := range d.mains() {
		list = append(list, d.leastHeight(step, wide))
	}
	return slices.Compact(list)
}

// attemptsOf are those for some inflows whose outlet pipe carries all their flow, or
// those that do not ask it.
func (d *job) attemptsOf(step float64, inflows []int, capacity bool) []attempt {
	return slices.DeleteFunc(d.attempts(step, d.flowOf(inflows)), func(a attempt) bool { return a.capacity() != capacity })
}

// smallest stands for the smallest pipe a main may have, whichever that is.
const smallest = 0

// mains are the pipes that decide whether an inflow can be drained at all: the
// smallest a main may have and, since it may lie flatter (slope_min_large), the
// smallest large one. Over a long way that saves more than its width costs. One
// pipe from end to end: what only a change of size on the way would drain is not
// found.
func (d *job) mains() []int {
	list := []int{smallest}
	first := d.smallestMain()
	for b := first + 1; b < len(d.criteria.Catalogue.Bores); b++ {
		if d.slopeMin(d.criteria.Catalogue.Bores[b]) < d.slopeMin(d.criteria.Catalogue.Bores[first]) {
			return append(list, b)
		}
	}
	return list
}

// leastHeight is the attempt that decides whether an inflow can be drained by one of
// the mains: the smallest hole, least slopes.
func (d *job) leastHeight(step float64, wide int) attempt {
	if wide == smallest {
		wide = d.smallestMain()
	}
	return attempt{step: step, bore: wide}
}

// search poses the lot to the search with the sizes of an attempt. What was
// asked of the law is kept for the next attempt with the same bore or hole.
func (d *job) search(a attempt) *search.Search {
	k := posing{a.bore, a.step}
	if d.posed[k] == nil {
		if d.posed == nil {
			d.posed = map[posing]*posed{}
		}
		d.posed[k] = &posed{search.New(d.problem(k)), map[ending]*search.Ends{}}
	}
	p, e := d.posed[k], d.endingOf(a)
	if p.ends[e] == nil {
		var outlets []search.Outlet
		for i := range d.out {
			outlets = append(outlets, d.outletOf(a, &d.out[i]))
		}
		for i := range d.slidOut {
			outlets = append(outlets, d.outletOf(a, &d.slidOut[i]))
		}
		if d.bent[a.step] != nil {
			for i := range outlets { // what a way bent in pieces comes lower than whole
				outlets[i].MinInvert -= layingSlack
			}
		}
		p.ends[e] = p.EndsAt(outlets)
	}
	p.UseEnds(p.ends[e])
	return p.Search
}

// posing is what a search is kept for.
type posing struct {
	bore int
	step float64
}

// posed is a search with what it knows of the last pipes.
type posed struct {
	*search.Search
	ends map[ending]*search.Ends
}

// ending is what last pipes are kept for: bore and least slope of an outlet pipe
// to a curb face.
type ending struct {
	hole  int
	slope float64
}

func (d *job) endingOf(a attempt) ending { return ending{a.hole, d.holeSlope(a.hole, a.holeFlow)} }

// problem is the lot for one bore on one lattice, without outlets.
func (d *job) problem(k posing) search.Problem {
	b := d.criteria.Catalogue.Bores[k.bore]
	p := search.Problem{Lattice: d.lattice(k.step), SlopeMin: d.slopeMin(b), Interior: d.law.Interior(b), Alike: alike, Effort: d.criteria.Effort}
	if d.onItsOwn && k.step == coarse {
		p.Another = func() constraint.Line { return d.law.Interior(b) }
	}
	p.Span = func(at orb.Point) (low, high float64) { return d.law.Span(b, at) }
	p.Forget = len(d.in) == 1 && len(p.Usable) > keptMost
	for i := range d.in {
		p.Sources = append(p.Sources, d.source(i, k))
	}
	return p
}

// keptMost is for how many points the law's answers are kept whoever asks: some
// 350 MB of them. Beyond, that is for several inflows, which ask again and again.
const keptMost = 3e5

// source is inflow i as the search sees it.
func (d *job) source(i int, k posing) search.Source {
	b, x := d.criteria.Catalogue.Bores[k.bore], d.exits[i]
	return search.Source{At: d.in[i].At, Start: math.Inf(1), Leave: d.law.Leave(b, x), Reach: x.Length + leaveReach*k.step}
}

// alike is the height in which ways on the lattice are not told apart, m: what
// it costs a way is less than leaving the lattice gives back.
const alike = 5e-4

// leaveReach is how far beyond its exit an inflow's first pipe may reach, in
// lattice steps.
const leaveReach = 3

// plainReach is the longest last pipe to an outlet that is no curb face, m.
const plainReach = 3.5

func (d *job) outletOf(a attempt, x *discharge) search.Outlet {
	bore := d.criteria.Catalogue.Bores[a.bore]
	o := search.Outlet{At: x.at, MinInvert: x.minInvert, Slope: d.slopeMin(bore), Reach: plainReach}
	switch {
	case x.curb != nil:
		hole := d.criteria.Catalogue.Bores[a.hole].Outlet
		o.Slope, o.Reach = d.holeSlope(a.hole, a.holeFlow), d.criteria.Limits.OutletZone
		o.Enter = onOneGrade(d.entersCurb(a.hole, *x.curb), o.Slope, o.MinInvert)
		o.LeaveFrom = func(s int) constraint.Line {
			return onOneGrade(d.law.LeaveToCurb(hole, *x.curb, d.exits[s]), o.Slope, o.MinInvert)
		}
	case x.kind == constraint.Daylight:
		o.Enter = d.law.EnterDaylight(bore, x.minInvert, o.Slope)
		o.Reach = d.criteria.Limits.DaylightZone
	default:
		o.Enter = d.law.Interior(bore)
	}
	return o
}

// holeSlope is the least slope of an outlet pipe to a curb face that is to
// carry a flow.
func (d *job) holeSlope(hole int, flow float64) float64 {
	b := d.criteria.Catalogue.Bores[hole]
	return math.Max(d.slopeMin(b), hydraulics.SlopeForFlow(flow, b.Outlet.Inside, b.Outlet.Roughness))
}

// lattice lays the search's points over where pipes may run.
func (d *job) lattice(step float64) search.Lattice {
	if l := d.bent[step]; l != nil {
		return *l
	}
	b := d.law.Bound()
	l := search.Lattice{
		Origin: orb.Point{b.Min[0] + step/2, b.Min[1] + step/2}, Step: step,
		Cols: max(1, int((b.Max[0]-b.Min[0])/step)), Rows: max(1, int((b.Max[1]-b.Min[1])/step)),
	}
	l.Usable = make([]bool, l.Cols*l.Rows)
	for i := range l.Usable {
		l.Usable[i] = d.law.Open(l.At(i))
	}
	return l
}
