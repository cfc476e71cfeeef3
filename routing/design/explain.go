package design

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
	"curbfall/routing/search"
)

// lacking is an inflow that nothing within the limits leads out.
type lacking struct {
	inflow int
	way    *wayOut // its best, nil: none
	// Of an inflow whose every way lies too deep somewhere: the lot under the least
	// deeper limit that lets it out, and its way there. That limit is as deep as need be.
	deeper    *job
	deeperWay *wayOut
	found     []Remedy // by lever; without a rule where it does not help
}

// explain names, for each inflow that cannot be served, what is missing, between
// which places, and every single change that would do.
func (d *job) explain(ctx context.Context, verdicts []verdict) error {
	var list []*lacking
	shut := false
	for i := range d.in {
		switch {
		case d.in[i].Status == Served:
		case verdicts[i].able():
			shut = true
		default:
			list = append(list, &lacking{inflow: i, way: verdicts[i].way})
		}
	}
	if shut {
		if err := d.shutInByPipes(ctx, verdicts); err != nil {
			return err
		}
	}
	if err := d.remedies(ctx, list); err != nil {
		return err
	}
	for _, x := range list {
		d.bind(x)
	}
	d.named(list)
	return nil
}

// shutInByPipes says of inflows that get out alone and not with the others that these
// shut them in, and whether one more outlet would do.
func (d *job) shutInByPipes(ctx context.Context, verdicts []verdict) error {
	more, err := d.moreOutlets(ctx, ableOf(verdicts))
	for i := range d.in {
		in := &d.in[i]
		if in.Status == Served || !verdicts[i].able() {
			continue
		}
		in.Sealed = "pipes already laid for the other inflows shut it in"
		in.Binding = barredBinding("outlets_max", "", in.At)
		if more.Rule != "" {
			in.Remedies = append(in.Remedies, more)
		}
	}
	return err
}

// moreOutlets is the remedy of one more outlet through the curb than there may be;
// it has no rule where not all that are able get out so.
func (d *job) moreOutlets(ctx context.Context, able []int) (Remedy, error) {
	if !d.mayDivide() {
		return Remedy{}, nil // outlets stand where they were drawn
	}
	c := d.criteria
	c.Limits.OutletsMax++
	more := d.under(c)
	more.bent, more.slidOut = d.bent, d.slidOut
	best, err := more.firstPlan(ctx, coarse, len(able), 0)
	if err != nil {
		return Remedy{}, err
	}
	if best, err = more.fuller(ctx, best, able); err != nil || best == nil || len(best.sources()) < len(able) {
		return Remedy{}, err
	}
	return unfigured(Remedy{put: more.asChange(), Rule: "limits.outlets_max", Now: float64(d.criteria.Limits.OutletsMax), Needed: float64(c.Limits.OutletsMax),
		Says: fmt.Sprintf("another outlet of its own through the curb, %d in all, with the authority's leave", c.Limits.OutletsMax)}), nil
}

// ableOf lists the inflows that get out alone.
func ableOf(verdicts []verdict) (able []int) {
	for i, v := range verdicts {
		if v.able() {
			able = append(able, i)
		}
	}
	return able
}

// named gives inflows the remedies found for them.
func (d *job) named(list []*lacking) {
	for _, x := range list {
		for _, r := range append(x.found, d.lower(x), d.pump(x, list)) {
			if r.Rule != "" {
				d.in[x.inflow].Remedies = append(d.in[x.inflow].Remedies, r)
			}
		}
	}
}

// bind says what an inflow lacks and what binds it.
func (d *job) bind(x *lacking) {
	in := &d.in[x.inflow]
	switch {
	case x.way != nil:
		in.ShortBy, in.Binding = -x.way.Margin, d.fallBinding(x.inflow, x.way)
	case x.deeperWay == nil:
		in.Sealed, in.Binding = d.shutIn(x.inflow)
		for _, r := range x.found {
			if r.Rule == "limits."+in.Binding.Rule {
				in.Binding.Value, in.Binding.Limit = r.Needed, r.Now
			}
		}
	case search.Enough(x.deeperWay.Margin):
		if in.Binding = d.depthBinding(x.inflow, x.deeperWay, x.deeper); in.Binding != nil {
			in.ShortBy = in.Binding.Limit - in.Binding.Value
		}
	default: // however deep, it comes too low
		in.ShortBy, in.Binding = -x.deeperWay.Margin, x.deeper.fallBinding(x.inflow, x.deeperWay)
	}
}

// RuleOutletInvert is the remedy of a lower place to discharge.
const RuleOutletInvert = "outlet invert"

// lower is the remedy of a lower place to discharge; it has no rule where fall is
// not what lacks.
func (d *job) lower(x *lacking) Remedy {
	if x.way == nil {
		return Remedy{}
	}
	o := d.endOf(x.way)
	r := unfigured(Remedy{Rule: RuleOutletInvert, Now: o.minInvert, Needed: o.minInvert + x.way.Margin, Unit: "m",
		Says: fmt.Sprintf("an outlet at least %.3f m lower, where the street or a storm inlet offers one", up(-x.way.Margin, millimetre))})
	r.figure(x.inflow, x.way, d, d)
	if o.kind != constraint.Daylight {
		r.put = d.withLowerOutlets(up(-x.way.Margin, millimetre))
	}
	return r
}

// conclude settles the status and the verdict's sentence.
func (d *job) conclude(r *Result) {
	r.Inflows = append(slices.Clone(d.in), d.drowned...)
	served, short := 0, -1
	for i := range r.Inflows {
		if r.Inflows[i].Status == Served {
			served++
			continue
		}
		if short < 0 || less(r.Inflows[short].ShortBy, r.Inflows[i].ShortBy) {
			short = i
		}
	}
	r.Status = Feasible
	if served < len(r.Inflows) {
		r.Status = Infeasible
	}
	r.Verdict = d.verdict(r, served, short)
}

// less puts inflows without any way (NaN) last, as the worst.
func less(a, b float64) bool { return a < b || !math.IsNaN(a) && math.IsNaN(b) }

func (d *job) verdict(r *Result, served, short int) string {
	if r.Status == Infeasible {
		in := r.Inflows[short]
		tail := fmt.Sprintf("%s has no way at all: %s", in.ID, in.Sealed)
		switch {
		case math.IsNaN(in.ShortBy):
		case in.Binding != nil && in.Binding.Rule == ruleDepth:
			tail = fmt.Sprintf("%s is short of depth by %s", in.ID, shortWords(in.ShortBy))
		default:
			tail = fmt.Sprintf("%s is short of fall by %s", in.ID, shortWords(in.ShortBy))
		}
		return fmt.Sprintf("Not every inflow drains by gravity: %d of %d reach the outlet; %s%s%s.", served, len(r.Inflows), tail, leftOverWords(r), overRimWords(&r.Network))
	}
	n := &r.Network
	var outlets []string
	for i := range n.Pipes {
		if p := &n.Pipes[i]; n.Nodes[p.To].Out < 0 {
			outlets = append(outlets, fmt.Sprintf("a %s %s outlet, invert %.4f m", p.Size.Nominal, p.Size.Material, p.InvertDown))
		}
	}
	all := fmt.Sprintf("All %d inflows drain", len(r.Inflows))
	if len(r.Inflows) == 1 {
		all = "The one inflow drains"
	}
	s := fmt.Sprintf("%s by gravity through %.2f m of pipe to %s", all, r.PlanLength, strings.Join(outlets, ", and "))
	return s + leftOverWords(r) + overRimWords(n) + "."
}

// leftOverWords says how much of the design flow of what is served is left over, ""
// for none.
func leftOverWords(r *Result) string {
	if r.Leftover <= 0 {
		return ""
	}
	s := fmt.Sprintf("; %.3f L/s of the design flow is more than the pipes carry flowing full and is left over", r.Leftover*1000)
	if len(r.Spills) == 0 || r.Spills[0].Share >= 1 {
		s += ", though under pressure it finds room with the hydraulic grade line below every rim and leader"
	}
	return s
}

// overRimWords says which open rim the grade line passes most, "" for none.
func overRimWords(n *network.Network) string {
	v := overRim(n)
	if v == nil {
		return ""
	}
	return fmt.Sprintf("; in the design storm the hydraulic grade line stands %.3f m over the rim of %s, and water comes out there", up(-v.Freeboard, millimetre), v.ID)
}
