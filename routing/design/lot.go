package design

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// NothingToDrain says that a lot has neither a roof nor an inlet in it.
type NothingToDrain struct{ Lot string }

func (e *NothingToDrain) Error() string {
	return "lot " + e.Lot + ": no roof, inlet or low spot that matters inside it: nothing to drain; draw a roof or an inlet"
}

// NoOutlet says that a site names no place to discharge.
type NoOutlet struct{ Lot string }

func (e *NoOutlet) Error() string {
	return "lot " + e.Lot + ": no curb and no outlet: nowhere to discharge; draw the curb, or an outlet point"
}

// RimBelowLid says that a rim given in the site lies below the lid of every emitter
// there is. A rim that the ground tells is no mistake: then its inflow is
// infeasible.
type RimBelowLid struct {
	Kind    network.NodeKind
	ID      string
	Emitter string  // the one with the lowest lid
	Rim     float64 // elevations, m
	Lid     float64
}

func (e *RimBelowLid) Error() string {
	return fmt.Sprintf("%s %s: rim %.3f m lies %.3f m below the lid of emitter %s at %.3f m, the ground there: water would come out at the rim first; raise the rim, or draw the emitter lower",
		strings.ReplaceAll(string(e.Kind), "_", " "), e.ID, e.Rim, up(e.Lid-rimSlack-e.Rim, millimetre), e.Emitter, e.Lid)
}

// Lot designs one lot. The law carries ground, site lines and limits.
func Lot(ctx context.Context, law *constraint.Law, site *constraint.Site, water Water, c Criteria) (*Result, error) {
	d, why, err := pose(law, site, water, c)
	if err != nil {
		return nil, err
	}
	d.notes = append(d.notes, law.Odd()...)
	if c.Storm.Assumed {
		d.assume("storm: %.1f mm/h, since none was given; sizes rest on it", c.Storm.Intensity*1000*3600)
	}
	d.onItsOwn = true
	r := &Result{Storm: c.Storm, LengthBound: math.NaN()}
	d.insteadOfDrowning()
	if len(d.out) == 0 {
		if err := d.nowhere(ctx, r, why); err != nil {
			return nil, err
		}
	} else if err := d.route(ctx, r); err != nil {
		return nil, err
	}
	r.Assumed, r.Notes = d.assumed, d.notes
	r.Alternatives, err = d.alternatives(ctx, r.Inflows)
	return r, err
}

// pose is a lot ready to be designed; why is what rules out every place to
// discharge.
func pose(law *constraint.Law, site *constraint.Site, water Water, c Criteria) (d *job, why constraint.Refusal, err error) {
	d = &job{law: law, site: site, criteria: c, water: water}
	if d.in = d.inflows(); len(d.in) == 0 {
		return nil, why, &NothingToDrain{law.Lot.ID}
	}
	if d.out, why = d.discharges(); len(site.Curbs) == 0 && len(site.Outlets) == 0 {
		return nil, why, &NoOutlet{law.Lot.ID}
	}
	if err := d.setDrownedAside(); err != nil {
		return nil, why, err
	}
	for _, in := range d.in {
		d.exits = append(d.exits, d.exitOf(&in))
	}
	return d, why, nil
}

// setDrownedAside takes out the inflows whose open rim lies below the lid of
// every emitter there is: the main stands full to the lid, so water would come
// out at the rim first. The error is a *RimBelowLid.
func (d *job) setDrownedAside() error {
	lid, emitter := math.Inf(1), ""
	for _, o := range d.out {
		if o.kind != constraint.Emitter {
			return nil
		}
		if o.lid < lid {
			lid, emitter = o.lid, o.id
		}
	}
	least := lid - rimSlack // of a rim that is at the lid
	for _, in := range d.in {
		if len(d.out) > 0 && in.Rim < least && d.rimGiven(in) {
			return &RimBelowLid{in.Kind, in.ID, emitter, in.Rim, lid}
		}
	}
	d.in = slices.DeleteFunc(d.in, func(in Inflow) bool {
		if len(d.out) == 0 || !(in.Rim < least) {
			return false
		}
		in.Status, in.ShortBy = Infeasible, lid-in.Rim
		rim := Place{Rule: "emitter_lid", ID: emitter, At: in.At, Station: math.NaN(), Invert: in.Rim, Needed: lid}
		in.Binding = &Binding{Rule: rim.Rule, At: in.At, Station: math.NaN(), Value: in.Rim, Limit: lid, Upper: &rim}
		in.Remedies = []Remedy{unfigured(Remedy{Rule: RuleRim, Now: in.Rim, Needed: least, Unit: "m", Says: fmt.Sprintf("the rim at least %.3f m higher, at the lid of %s", up(least-in.Rim, millimetre), emitter)})}
		if site := rimmed(d.site, &in, least); site != nil {
			in.Remedies[0].put = &change{site, d.criteria}
		}
		d.drowned = append(d.drowned, in)
		return true
	})
	return nil
}

// rimGiven tells whether the site gives an inflow's rim.
func (d *job) rimGiven(in Inflow) bool {
	for _, x := range d.site.Inlets {
		if x.ID == in.ID && in.Kind == network.Inlet && constraint.Given(x.Rim) {
			return true
		}
	}
	for _, x := range d.site.ChannelDrains {
		if x.ID == in.ID && in.Kind == network.ChannelDrain && constraint.Given(x.Rim) {
			return true
		}
	}
	return false
}

// nowhere ends a design whose site names a curb or outlet this lot cannot use.
func (d *job) nowhere(ctx context.Context, r *Result, why constraint.Refusal) error {
	var list []*lacking
	for i := range d.in {
		list = append(list, &lacking{inflow: i})
		in := &d.in[i]
		in.Status, in.ShortBy, in.Sealed = Infeasible, math.NaN(), "no place to discharge: "+why.Says
		in.Binding = barredBinding(why.Rule, "", d.barredOutlet())
	}
	if err := d.remedies(ctx, list); err != nil {
		return err
	}
	d.named(list)
	d.conclude(r)
	return nil
}

// barredOutlet is where a lot without a place to discharge was to have one: its
// outlet that is drawn, else the middle of its frontage or of the lot.
func (d *job) barredOutlet() orb.Point {
	if o := d.drawnOutlet(); o != nil {
		return o.At
	}
	if f := d.law.Frontage; f != nil {
		half := d.law.CurbLine(f.From, (f.From+f.To)/2)
		return half[len(half)-1]
	}
	return d.law.Lot.Area.Bound().Center()
}

func (d *job) route(ctx context.Context, r *Result) error {
	for i := range d.in {
		d.in[i].Status, d.in[i].ShortBy = Infeasible, math.NaN()
	}
	verdicts, err := d.network(ctx, r)
	if err != nil {
		return err
	}
	if err := d.explain(ctx, verdicts); err != nil {
		return err
	}
	d.conclude(r)
	return nil
}

// plan is the plan of the first attempt that takes in every inflow that can be, nil
// where none can, with each inflow's own verdict; none where all are served.
func (d *job) plan(ctx context.Context) (best *planned, own []verdict, err error) {
	if best, err = d.firstPlan(ctx, coarse, len(d.in), 0); err != nil {
		return nil, nil, err
	}
	if best == nil || len(best.sources()) < len(d.in) {
		if own, err = d.verdicts(ctx, best.sources()); err != nil {
			return nil, nil, err
		}
		d.bend(own)
		if best, err = d.fuller(ctx, best, ableOf(own)); err != nil || best == nil {
			return nil, own, err
		}
	}
	best, err = d.apart(ctx, best)
	return best, own, err
}

// network lays the plan, and returns each inflow's own verdict; none where all are
// served.
func (d *job) network(ctx context.Context, r *Result) (own []verdict, err error) {
	best, own, err := d.plan(ctx)
	if err != nil || best == nil {
		return own, err
	}
	lengthBound, end := d.early(ctx, drained{best.sources(), best.outlets()}, best.length)
	defer end()
	l, err := d.spread(ctx, best)
	if err != nil {
		return nil, err
	}
	l = l.lightened()
	r.Network, r.PlanLength = l.net, l.net.PlanLength()
	r.Costs = l.costs()
	r.Crossings, r.Protections = l.crossings(), l.protections()
	if r.LengthBound, err = lengthBound(drained{best.sources(), len(d.used)}, r.PlanLength); err != nil {
		return nil, err
	}
	r.Leftover = l.leftOver()
	l.warnings()
	if err := l.waterLevels(r); err != nil {
		return nil, err
	}
	l.notedOverfull(r.Spills)
	d.notedUnused()
	return own, nil
}

// notedUnused notes the given outlets that the plan, if there is one, does not end at.
func (d *job) notedUnused() {
	if len(d.used) == 0 {
		return
	}
	var used []string
	for _, o := range d.used {
		used = append(used, o.id)
	}
	for _, o := range d.out {
		if o.id != "" && !slices.Contains(used, o.id) {
			d.note("outlet %s is not used: all that drains goes to %s", o.id, strings.Join(used, ", "))
		}
	}
}

// fuller is a plan that leads out more of the inflows that are able than best
// does, where one is found: all on lattices with the ways they get out by, else those
// left out to an outlet of their own. best may be nil.
func (d *job) fuller(ctx context.Context, best *planned, able []int) (*planned, error) {
	more := func(p *planned, err error) error {
		if err == nil && p != nil && (best == nil || len(p.sources()) > len(best.sources())) {
			best = p
		}
		return err
	}
	full := func() bool { return len(able) == 0 || best != nil && len(best.sources()) >= len(able) }
	steps := [...]float64{coarse, fine}
	for _, step := range steps {
		if !full() && (step == fine || d.bent[step] != nil) {
			if err := more(d.firstPlan(ctx, step, len(able), len(best.sources()))); err != nil {
				return nil, err
			}
		}
	}
	for _, step := range steps {
		if best != nil && !full() {
			if err := more(d.withLeftOut(ctx, best, step, able)); err != nil {
				return nil, err
			}
		}
	}
	return best, nil
}
