package design

import (
	"context"
	"errors"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/parallel"
	"curbfall/routing/search"
)

// remedies asks every lever for every inflow that lacks something, levers side
// by side, and for other outlets.
func (d *job) remedies(ctx context.Context, list []*lacking) error {
	if len(list) == 0 {
		return nil
	}
	now := d.now()
	for _, x := range list {
		if err := d.seek(ctx, x); err != nil {
			return err
		}
		x.found = append(make([]Remedy, len(levers)), d.instead(x.inflow, now)...)
	}
	errs := make([]error, len(levers))
	ask := func(k int) {
		var e *easing
		for _, x := range list {
			if e == nil || e.own {
				e = d.easing(levers[k], x.inflow)
			}
			if x.found[k], errs[k] = e.remedy(ctx, x); errs[k] != nil {
				return
			}
		}
	}
	groups := [][]int{nil} // the first share arcs of the lot as it is, so they go one after the other
	for k := range levers {
		if levers[k].ends {
			groups[0] = append(groups[0], k)
		} else {
			groups = append(groups, []int{k})
		}
	}
	parallel.Each(len(groups), func(g int) {
		for _, k := range groups[g] {
			ask(k)
		}
	})
	return errors.Join(errs...)
}

// noDepth is a limit of depth that is none, m.
const noDepth = 1000

// seek finds the best way at any depth of an inflow that has none under the limits
// as they are.
func (d *job) seek(ctx context.Context, x *lacking) error {
	if x.way != nil || len(d.out) == 0 {
		return ctx.Err()
	}
	c := d.criteria
	c.Limits.DepthMax = noDepth
	deep := d.under(c).now()
	v, err := deep.verdict(ctx, x.inflow, math.Inf(-1), true)
	if v.way != nil {
		x.deeper, x.deeperWay = deep.job, v.way
	}
	return err
}

// easing asks how far one limit must be eased.
type easing struct {
	*job
	lever
	inflow    int // whose own it is, any where it is nobody's
	now, sign float64
	trials    map[int]*trial
	arcs      map[posing]*search.Arcs // under the limits as they are
}

func (d *job) easing(v lever, inflow int) *easing {
	e := &easing{job: d, lever: v, inflow: inflow, sign: 1, trials: map[int]*trial{}, arcs: d.now().arcs}
	if !v.raise {
		e.sign = -1
	}
	c, in := d.criteria, d.in[inflow]
	e.now = *v.value(&c, &in)
	return e
}

// trial is the lot under one eased limit.
type trial struct {
	*job
	sweeps map[posing]*search.Sweeps
	arcs   map[posing]*search.Arcs
}

func (d *job) trialOf(arcs map[posing]*search.Arcs) *trial {
	return &trial{job: d, sweeps: map[posing]*search.Sweeps{}, arcs: arcs}
}

// trial is the lot with the limit k steps easier.
func (e *easing) trial(k int) *trial {
	if e.trials[k] == nil {
		eased, in := e.criteria, slices.Clone(e.in)
		*e.lever.value(&eased, &in[e.inflow]) = e.value(k)
		arcs := map[posing]*search.Arcs{}
		if e.ends {
			arcs = e.arcs
		}
		t := e.with(in, eased)
		if e.own {
			t.site = rimmed(e.site, &in[e.inflow], e.value(k))
		}
		e.trials[k] = t.trialOf(arcs)
	}
	return e.trials[k]
}

// swept answers for single inflows by one of the mains on a lattice.
func (t *trial) swept(step float64, wide int) *search.Sweeps {
	a := t.leastHeight(step, wide)
	k := posing{a.bore, step}
	if t.sweeps[k] == nil {
		p := t.problem(k)
		if t.arcs[k] == nil {
			t.arcs[k] = search.NewArcs(p)
		}
		var outlets []search.Outlet
		for i := range t.out {
			outlets = append(outlets, t.outletOf(a, &t.out[i]))
		}
		highest := func(at orb.Point) float64 {
			_, high := p.Span(at)
			return high
		}
		t.sweeps[k] = search.NewSweeps(t.arcs[k], p.Sources, outlets, highest)
	}
	return t.sweeps[k]
}

// attains tells whether a way of inflow i holds with the limit k steps easier.
func (e *easing) attains(w *wayOut, i, k int) bool {
	t := e.trial(k)
	for _, p := range w.Points {
		if !t.law.Open(p) {
			return false
		}
	}
	a := t.leastHeight(coarse, w.wide)
	bore, end := t.criteria.Catalogue.Bores[a.bore], t.endOf(w)
	o := t.outletOf(a, &end)
	if f := o.LeaveFrom; f != nil {
		o.LeaveFrom = func(int) constraint.Line { return f(i) }
	}
	p := search.Problem{
		SlopeMin: t.slopeMin(bore), Interior: t.law.Interior(bore),
		Sources: []search.Source{t.source(i, posing{a.bore, coarse})}, Outlets: []search.Outlet{o},
	}
	return search.Enough(p.Attains(0, search.Way{Points: w.Points}))
}

// least is the least number of steps, above low, with which a way of inflow i
// holds; it does with high.
func (e *easing) least(w *wayOut, i, low, high int) int {
	for high-low > 1 {
		if k := (low + high) / 2; e.attains(w, i, k) {
			high = k
		} else {
			low = k
		}
	}
	return high
}

// works is a way by which inflow i gets out with the limit k steps easier, nil
// where it does not. Unless sure is set the fine lattice is asked only where the
// coarse one has a way.
func (e *easing) works(ctx context.Context, i, k int, sure bool) (*wayOut, error) {
	v, err := e.trial(k).verdict(ctx, i, -latticeCosts, sure)
	if err != nil || !v.able() {
		return nil, err
	}
	return v.way, nil
}

// remedy finds the least easing of the limit that lets an inflow out; it has no
// rule where none does. A way that gets out tells by itself how little it
// needs, so only one step less than that is asked of the whole lot, until it
// says no.
func (e *easing) remedy(ctx context.Context, x *lacking) (Remedy, error) {
	w, extreme := x.way, e.extreme
	tooDeep := e.rule == "limits."+ruleDepth && x.deeperWay != nil && search.Enough(x.deeperWay.Margin)
	if tooDeep {
		w, extreme = x.deeperWay, noDepth
	}
	most := e.steps(extreme)
	if most < 1 || e.idle() {
		return Remedy{}, nil
	}
	w, high, err := e.tighten(ctx, x.inflow, w, most)
	if w == nil || err != nil {
		return Remedy{}, err
	}
	eased := e.trial(high).job
	if tooDeep {
		x.deeper, x.deeperWay = eased, w
	}
	needed := e.value(high)
	if tooDeep && needed > e.extreme { // deeper than anyone would dig
		return Remedy{}, nil
	}
	return e.named(x.inflow, needed, eased, w), nil
}

// named is the remedy of a limit eased so far, with the way it opens.
func (e *easing) named(i int, needed float64, eased *job, w *wayOut) Remedy {
	r := unfigured(Remedy{Rule: e.rule, Now: e.now, Needed: needed, Unit: e.unit, put: eased.asChange()})
	r.Says = e.sentence(needed, &e.criteria, r.figure(i, w, eased, e.job).words(), e.in[i].ID)
	if e.step == 0 && r.Carries < e.in[i].Flow {
		return Remedy{} // height for water it does not carry
	}
	return r
}

// tighten is the least number of steps, most at most, with which inflow i gets out
// and its way, nil: it does not. w is a way to begin with, nil: none.
func (e *easing) tighten(ctx context.Context, i int, w *wayOut, most int) (_ *wayOut, high int, err error) {
	if w == nil || e.moves || !e.attains(w, i, most) {
		if w, err = e.works(ctx, i, most, w == nil && e.widens()); w == nil || err != nil {
			return nil, 0, err
		}
	}
	low, high := 0, most // low does not do
	for {
		if !e.moves { // the way tells how little it needs
			high = e.least(w, i, low, high)
		}
		if high-low <= 1 {
			return w, high, nil
		}
		probe := high - 1
		if e.moves {
			probe = (low + high) / 2
		}
		better, err := e.works(ctx, i, probe, true)
		switch {
		case err != nil:
			return nil, 0, err
		case better == nil:
			low = probe
		default:
			w, high = better, probe
		}
	}
}

// under is the same lot with the same inflows under other criteria.
func (d *job) under(c Criteria) *job { return d.with(slices.Clone(d.in), c) }

// with is the same lot with these inflows under other criteria.
func (d *job) with(in []Inflow, c Criteria) *job {
	e := &job{site: d.site, criteria: c, water: d.water, in: in}
	e.law = constraint.NewLaw(d.law.Ground, d.site, d.lotIndex(), c.Limits)
	e.out, _ = e.discharges()
	for _, in := range e.in {
		e.exits = append(e.exits, e.exitOf(&in))
	}
	return e
}

func (d *job) lotIndex() int {
	return slices.IndexFunc(d.site.Lots, func(l constraint.Lot) bool { return l.ID == d.law.Lot.ID })
}
