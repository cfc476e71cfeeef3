package design

import (
	"context"
	"errors"
	"math"
	"slices"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
	"curbfall/routing/parallel"
	"curbfall/routing/search"
)

// Alternative is one change with all inflows it would do for, each alone, and what
// the whole lot then comes to.
//
//	ds1: less cover 0.11 m, flatter 0.7 %      less cover 0.10 m   for ds1, ds2   all 3 drained, 41 m
//	ds2: less cover 0.10 m                 ->  flatter 0.7 %       for ds1        2 of 3 drained, 30 m
type Alternative struct {
	Remedy  // of the inflow that asks most
	Inflows []string
	Design  *Outcome // with a pump that of what runs to its sump; nil where there is none, or the alternative is not designed
}

// AlternativesDesigned is with how many alternatives the whole lot is designed: each
// takes as long as a lot that drains.
const AlternativesDesigned = 4

// Outcome is what a whole lot's design comes to.
type Outcome struct {
	Served     []string // inflows
	Flow       float64  // design flow of all these, m3/s
	Leftover   float64  // of it what the pipes do not carry flowing full, m3/s
	PlanLength float64  // of all pipes, m
	Sizes      []string // nominal, the smallest first
	Trench     float64  // its side, from ground to invert, m2
	CoverMin   float64  // m
	DepthMax   float64  // ground to invert, m
}

// change is a remedy put in: what site and criteria then are.
type change struct {
	site     *constraint.Site
	criteria Criteria
}

func (d *job) asChange() *change { return &change{d.site, d.criteria} }

// alternatives lays the remedies of all inflows side by side, those that do for most
// first, and designs the lot with these.
func (d *job) alternatives(ctx context.Context, inflows []Inflow) ([]Alternative, error) {
	var list []Alternative
	var asked [][]Remedy
	var served []string
	for _, in := range inflows {
		if in.Status == Served {
			served = append(served, in.ID)
		}
		for _, x := range in.Remedies {
			k := slices.IndexFunc(list, func(a Alternative) bool { return a.Rule == x.Rule && a.Type == x.Type && a.Rule != RuleRim })
			if k < 0 {
				k, list, asked = len(list), append(list, Alternative{}), append(asked, nil)
				list[k].Remedy = x
			}
			list[k].Inflows, asked[k] = append(list[k].Inflows, in.ID), append(asked[k], x)
		}
	}
	slices.SortStableFunc(asked, func(a, b []Remedy) int { return len(b) - len(a) })
	slices.SortStableFunc(list, func(a, b Alternative) int { return len(b.Inflows) - len(a.Inflows) })
	posed := make([]*job, len(list))
	for k := range list {
		list[k].Remedy, posed[k] = d.decisive(asked[k], slices.Concat(served, list[k].Inflows))
	}
	errs := make([]error, min(len(list), AlternativesDesigned))
	parallel.Each(len(errs), func(k int) { list[k].Design, errs[k] = posed[k].outcome(ctx) })
	return list, errors.Join(errs...)
}

// decisive is the remedy of one kind that does for most inflows, and the lot it
// makes: the one that goes furthest or, of places to discharge, the one most get
// out to. able are the inflows that get out where outlets stay.
func (d *job) decisive(list []Remedy, able []string) (most Remedy, lot *job) {
	most = list[0]
	for _, x := range list {
		if further(x, most) {
			most = x
		}
	}
	if most.At == nil {
		lot = d.changed(most.put)
		return most, lot.only(func(i int) bool { return slices.Contains(able, lot.in[i].ID) })
	}
	lot = d.changed(most.put).reached(d.now().arcs)
	for _, x := range list {
		if *x.At == *most.At {
			continue
		}
		if there := d.changed(x.put).reached(d.now().arcs); there.able() > lot.able() {
			most, lot = x, there
		}
	}
	return most, lot
}

// further tells that remedy a goes further than b of the same kind.
func further(a, b Remedy) bool {
	if a.Lift != b.Lift && !math.IsNaN(a.Lift) {
		return a.Lift > b.Lift
	}
	return math.Abs(a.Needed-a.Now) > math.Abs(b.Needed-b.Now)
}

// changed is the lot with a change put in; without inflows where it cannot be
// designed.
func (d *job) changed(x *change) *job {
	if x == nil {
		return &job{}
	}
	e, _, err := pose(constraint.NewLaw(d.law.Ground, x.site, d.lotIndex(), x.criteria.Limits), x.site, d.water, x.criteria)
	if err != nil || len(e.out) == 0 {
		return &job{} // a rim that is given may lie below the lid of an emitter put in
	}
	return e
}

// reached is the lot where those inflows alone are asked for ways out that get out
// on the coarse lattice, or miss by little.
func (d *job) reached(arcs map[posing]*search.Arcs) *job {
	if len(d.in) == 0 {
		return d
	}
	t := d.trialOf(arcs)
	return d.only(func(i int) bool {
		return slices.ContainsFunc(d.mains(), func(wide int) bool {
			w, ok := t.swept(coarse, wide).Best(i, -nearMiss)
			return ok && w.Margin >= -nearMiss
		})
	})
}

// only is the lot where some inflows alone are asked for ways out.
func (d *job) only(able func(i int) bool) *job {
	for i := range d.in {
		if !able(i) {
			d.hopeless = append(d.hopeless, i)
		}
	}
	return d
}

// able is how many inflows may get out.
func (d *job) able() int { return len(d.in) - len(d.hopeless) }

// outcome designs a lot; nil where nothing can be laid.
func (d *job) outcome(ctx context.Context) (*Outcome, error) {
	if d.able() == 0 {
		return nil, ctx.Err()
	}
	p, _, err := d.plan(ctx)
	if err != nil || p == nil {
		return nil, err
	}
	l, err := d.spread(ctx, p)
	if err != nil {
		return nil, ctx.Err() // a plan that cannot be laid is none
	}
	l = l.lightened()
	o := &Outcome{Leftover: l.leftOver(), PlanLength: l.net.PlanLength(), CoverMin: math.Inf(1)}
	for _, i := range p.sources() {
		o.Served, o.Flow = append(o.Served, d.in[i].ID), o.Flow+d.in[i].Flow
	}
	for k := range l.net.Pipes {
		x := &l.net.Pipes[k]
		o.Trench, o.CoverMin, o.DepthMax = o.Trench+l.dug(k), math.Min(o.CoverMin, x.CoverMin), math.Max(o.DepthMax, x.DepthMax)
	}
	for _, b := range d.criteria.Catalogue.Bores {
		if slices.ContainsFunc(l.net.Pipes, func(p network.Pipe) bool { return p.Size.Nominal == b.Nominal }) {
			o.Sizes = append(o.Sizes, b.Nominal)
		}
	}
	return o, nil
}

// rimmed is a site with the rim of an inflow raised; nil where it is proposed and
// the site has none.
func rimmed(s *constraint.Site, in *Inflow, rim float64) *constraint.Site {
	changed := *s
	changed.Inlets, changed.ChannelDrains = slices.Clone(s.Inlets), slices.Clone(s.ChannelDrains)
	for k := range changed.Inlets {
		if x := &changed.Inlets[k]; x.ID == in.ID && in.Kind == network.Inlet {
			x.Rim = rim
			return &changed
		}
	}
	for k := range changed.ChannelDrains {
		if x := &changed.ChannelDrains[k]; x.ID == in.ID && in.Kind == network.ChannelDrain {
			x.Rim = rim
			return &changed
		}
	}
	return nil
}

// withLowerOutlets is the lot with every outlet lower, m: the gutter, an emitter's
// pipe under its lid, a storm inlet. An open end stays where the ground is.
func (d *job) withLowerOutlets(by float64) *change {
	c, site := d.criteria, *d.site
	c.Limits.OutletAboveGutter -= by
	c.Limits.EmitterRiseMax += by
	site.Outlets = slices.Clone(site.Outlets)
	for k := range site.Outlets {
		site.Outlets[k].Invert -= by // stays NaN where none is given
	}
	return &change{&site, c}
}
