package design

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// remedies asks every lever for every unserved inflow, levers side by side;
// where one does not help its remedy has no rule. ways are the best of all
// inflows as things are, nil where one has none.
func (d *job) remedies(ctx context.Context, unserved []int) (found [][]Remedy, ways []*search.Way, err error) {
	found = make([][]Remedy, len(unserved))
	for n := range found {
		found[n] = make([]Remedy, len(levers)+1) // and an emitter
	}
	ways = make([]*search.Way, len(d.in))
	if len(unserved) == 0 {
		return found, ways, nil
	}
	now := d.trialOf(map[float64]*search.Arcs{})
	for _, i := range unserved {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if w, ok := now.swept(coarse).Best(i, math.Inf(-1)); ok {
			ways[i] = &w
		}
	}
	for n, i := range unserved {
		found[n][len(levers)] = d.emitterInstead(i, now)
	}
	errs := make([]error, len(levers))
	ask := func(k int) {
		e := &easing{job: d, lever: levers[k], ways: ways, trials: map[int]*trial{}, arcs: now.arcs}
		for n, i := range unserved {
			if found[n][k], errs[k] = e.remedy(ctx, i); errs[k] != nil {
				return
			}
		}
	}
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	start := func(list ...int) {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			for _, k := range list {
				ask(k)
			}
		})
	}
	var ends []int // they share arcs, so they go one after the other
	for k, v := range levers {
		if v.ends {
			ends = append(ends, k)
		} else {
			start(k)
		}
	}
	start(ends...)
	wait.Wait()
	return found, ways, errors.Join(errs...)
}

// easing asks how far one limit must be eased.
type easing struct {
	*job
	lever
	now, sign float64
	ways      []*search.Way // the best of each inflow under the limits as they are, nil: none
	trials    map[int]*trial
	arcs      map[float64]*search.Arcs // under the limits as they are, by step
}

// trial is the lot under one eased limit.
type trial struct {
	*job
	sweeps map[float64]*search.Sweeps // by lattice step
	arcs   map[float64]*search.Arcs
	coarse map[int]float64 // margins of inflows on the coarse lattice
}

func (d *job) trialOf(arcs map[float64]*search.Arcs) *trial {
	return &trial{job: d, sweeps: map[float64]*search.Sweeps{}, arcs: arcs, coarse: map[int]float64{}}
}

func (e *easing) value(k int) float64 { return e.now + e.sign*float64(k)*e.step }

// trial is the lot with the limit k steps easier.
func (e *easing) trial(k int) *trial {
	if e.trials[k] == nil {
		eased := e.criteria.Limits
		*e.lever.value(&eased) = e.value(k)
		arcs := map[float64]*search.Arcs{}
		if e.ends {
			arcs = e.arcs
		}
		e.trials[k] = e.under(eased).trialOf(arcs)
	}
	return e.trials[k]
}

// swept answers for single inflows on a lattice.
func (t *trial) swept(step float64) *search.Sweeps {
	if t.sweeps[step] == nil {
		a := t.leastHeight(step)
		p := t.problem(posing{a.bore, step})
		if t.arcs[step] == nil {
			t.arcs[step] = search.NewArcs(p)
		}
		var outlets []search.Outlet
		for i := range t.out {
			outlets = append(outlets, t.outletOf(a, &t.out[i]))
		}
		t.sweeps[step] = search.NewSweeps(t.arcs[step], p.Sources, outlets, t.highest)
	}
	return t.sweeps[step]
}

// highest is an elevation, m, no invert at p lies above.
func (t *trial) highest(p orb.Point) float64 {
	_, high := t.law.Span(t.criteria.Catalogue.Bores[t.smallestMain()], p)
	return high
}

// attains tells whether a way of inflow i on the coarse lattice holds with the
// limit k steps easier.
func (e *easing) attains(w *search.Way, i, k int) bool {
	t := e.trial(k)
	for _, p := range w.Points {
		if !t.law.Open(p) {
			return false
		}
	}
	a := t.leastHeight(coarse)
	bore := t.criteria.Catalogue.Bores[a.bore]
	o := t.outletOf(a, &t.out[w.Outlet])
	if f := o.LeaveFrom; f != nil {
		o.LeaveFrom = func(int) constraint.Line { return f(i) }
	}
	p := search.Problem{
		SlopeMin: t.slopeMin(bore), Interior: t.law.Interior(bore),
		Sources: []search.Source{t.source(i, posing{a.bore, coarse})}, Outlets: []search.Outlet{o},
	}
	return search.Enough(p.Attains(0, search.Way{Points: w.Points}))
}

// least is the least number of steps, above low, with which a coarse way of
// inflow i holds; it does with high.
func (e *easing) least(w *search.Way, i, low, high int) int {
	for high-low > 1 {
		if k := (low + high) / 2; e.attains(w, i, k) {
			high = k
		} else {
			low = k
		}
	}
	return high
}

// works tells whether inflow i gets out with the limit k steps easier, and by
// which way on the coarse lattice, nil: by the fine one alone. Unless sure is
// set the fine lattice is asked only where the coarse one nearly does.
func (e *easing) works(ctx context.Context, i, k int, sure bool) (bool, *search.Way, error) {
	if err := ctx.Err(); err != nil {
		return false, nil, err
	}
	t := e.trial(k)
	w, near := t.swept(coarse).Best(i, -nearMiss)
	if near && search.Enough(w.Margin) {
		return true, &w, nil
	}
	if near || sure && t.doubtful(i) {
		w, ok := t.swept(fine).Best(i, 0)
		return ok && search.Enough(w.Margin), nil, ctx.Err()
	}
	return false, nil, nil
}

// doubtful tells whether job.verdicts would ask the fine lattice. The inflow
// first is asked first.
func (t *trial) doubtful(first int) bool {
	doubt := func(i int) bool {
		m, ok := t.coarse[i]
		if !ok {
			m = math.Inf(-1)
			if w, ok := t.swept(coarse).Best(i, m); ok {
				m = w.Margin
			}
			t.coarse[i] = m
		}
		return math.IsInf(m, -1) || m > -nearMiss && !search.Enough(m)
	}
	if doubt(first) {
		return true
	}
	for i := range t.in {
		if doubt(i) {
			return true
		}
	}
	return false
}

// idle tells that the limit bears on nothing of the site.
func (e *easing) idle() bool {
	paved := func(kinds ...constraint.PavedKind) bool {
		return slices.ContainsFunc(e.site.Paved, func(p constraint.Paved) bool { return !constraint.Given(p.CoverMin) && slices.Contains(kinds, p.Kind) })
	}
	switch e.rule {
	case "limits.cover_min_walk":
		return !paved(constraint.Walk, constraint.Patio)
	case "limits.cover_min_driveway":
		return !paved(constraint.Driveway)
	case "limits.utility_clearance":
		return !slices.ContainsFunc(e.site.Utilities, func(u constraint.Utility) bool {
			return !constraint.Given(u.Clearance) && (constraint.Given(u.Top) || constraint.Given(u.Depth))
		})
	case "limits.root_plate_factor":
		return !slices.ContainsFunc(e.site.Trees, func(t constraint.Tree) bool { return t.TrunkDiameter > 0 })
	}
	return false
}

// widens tells that easing the limit opens lanes to one that is shut in: too
// narrow ones for the coarse lattice, maybe.
func (e *easing) widens() bool {
	switch e.rule {
	case "limits.roof_setback", "limits.lot_line_setback", "limits.root_plate_factor":
		return true
	}
	return false
}

// remedy finds the least easing of the limit that lets inflow i out; it has no
// rule where none does. A way that gets out tells by itself how little it
// needs, so only one step less than that is asked of the whole lot, until it
// says no.
func (e *easing) remedy(ctx context.Context, i int) (Remedy, error) {
	limits := e.criteria.Limits
	e.now, e.sign = *e.lever.value(&limits), 1
	if e.extreme < e.now {
		e.sign = -1
	}
	most := int(math.Floor(math.Abs(e.extreme-e.now)/e.step + constraint.Tolerance))
	if most < 1 || e.extreme > e.now != e.raise || e.idle() {
		return Remedy{}, nil // already beyond what anyone would defend, or no help
	}
	w := e.ways[i]
	if w == nil || !e.attains(w, i, most) {
		var ok bool
		var err error
		if ok, w, err = e.works(ctx, i, most, w == nil && e.widens()); !ok || err != nil {
			return Remedy{}, err
		}
	}
	high := most
	if w != nil {
		high = e.least(w, i, 0, most)
	}
	high, err := e.tighten(ctx, i, high)
	if err != nil {
		return Remedy{}, err
	}
	needed := e.value(high)
	return Remedy{Rule: e.rule, Now: e.now, Needed: needed, Unit: e.unit, Says: fmt.Sprintf(e.says, e.words(needed))}, nil
}

// tighten lowers the number of steps inflow i gets out with as far as it goes.
func (e *easing) tighten(ctx context.Context, i, high int) (int, error) {
	low := 0 // does not do
	back := 1
	for high-low > 1 {
		probe := max(high-back, (low+high)/2)
		ok, w, err := e.works(ctx, i, probe, true)
		switch {
		case err != nil:
			return 0, err
		case !ok:
			low = probe
		case w != nil:
			high, back = e.least(w, i, low, probe), 1
		default: // by the fine lattice: nothing tells how little that needs
			high, back = probe, 2*back
		}
	}
	return high, nil
}

// under is the same lot with the same inflows under other limits.
func (d *job) under(limits constraint.Limits) *job {
	e := &job{site: d.site, criteria: d.criteria, water: d.water, in: slices.Clone(d.in)}
	e.criteria.Limits = limits
	e.law = constraint.NewLaw(d.law.Ground, d.site, d.lotIndex(), limits)
	e.out, _ = e.discharges()
	for _, in := range e.in {
		e.exits = append(e.exits, e.exitOf(&in))
	}
	return e
}

func (d *job) lotIndex() int {
	return slices.IndexFunc(d.site.Lots, func(l constraint.Lot) bool { return l.ID == d.law.Lot.ID })
}
