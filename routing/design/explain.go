package design

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// lever is one limit that may be eased.
type lever struct {
	rule    string
	unit    string
	step    float64 // the change a remedy is named to
	extreme float64 // the furthest value anyone would go
	raise   bool    // easing is a larger value
	value   func(*constraint.Limits) *float64
	says    string // with the needed value in its unit for people: %s
}

// levers are tried one by one. The extremes are common practice, no source:
// what a careful designer might still defend with protection or permission.
var levers = []lever{
	{"limits.cover_min", "m", 0.001, 0.05, false, func(l *constraint.Limits) *float64 { return &l.CoverMin }, "less cover in lawn, %s, with the shallow stretches protected"},
	{"limits.slope_min", "", 0.0001, 0.0025, false, func(l *constraint.Limits) *float64 { return &l.SlopeMin }, "flatter pipe, %s, laid with a laser"},
	{"limits.outlet_above_gutter", "m", 0.001, 0, false, func(l *constraint.Limits) *float64 { return &l.OutletAboveGutter }, "the outlet %s above the gutter"},
	{"limits.outlet_cover", "m", 0.001, 0, false, func(l *constraint.Limits) *float64 { return &l.OutletCover }, "less cover over the outlet pipe, %s, encased"},
	{"limits.outlet_zone", "m", 0.1, 12.2, true, func(l *constraint.Limits) *float64 { return &l.OutletZone }, "a longer outlet pipe under short cover, %s, protected over its length"},
	{"limits.depth_max", "m", 0.01, 1.5, true, func(l *constraint.Limits) *float64 { return &l.DepthMax }, "a deeper trench, %s to the invert, with trench protection"},
	{"limits.roof_setback", "m", 0.01, 0.15, false, func(l *constraint.Limits) *float64 { return &l.RoofSetback }, "passing closer to the roofs, %s, by hand"},
	{"limits.lot_line_setback", "m", 0.01, 0, false, func(l *constraint.Limits) *float64 { return &l.LotLineSetback }, "passing closer to the lot line, %s"},
	{"limits.utility_clearance", "m", 0.01, 0.05, false, func(l *constraint.Limits) *float64 { return &l.UtilityClearance }, "less clearance to the utility, %s, with its owner's leave"},
	{"limits.root_plate_factor", "", 0.1, 2, false, func(l *constraint.Limits) *float64 { return &l.RootPlateFactor }, "passing closer to the trunk, %s trunk diameters, bored"},
}

// words is a value as a remedy says it.
func (v lever) words(x float64) string {
	switch {
	case v.rule == "limits.slope_min":
		return fmt.Sprintf("%.2f %%", 100*x)
	case v.unit == "m":
		return fmt.Sprintf("%.3f m", x)
	}
	return fmt.Sprintf("%.1f", x)
}

// explain names, for each inflow that cannot be served, what is missing, where
// it binds, and every single change that would do.
func (d *job) explain(ctx context.Context, verdicts []search.Verdict) error {
	var unserved []int
	for i := range d.in {
		in := &d.in[i]
		switch {
		case in.Status == Served:
		case verdicts[i].Feasible:
			in.Sealed = "pipes already laid for the other inflows shut it in"
		default:
			unserved = append(unserved, i)
			if math.IsInf(verdicts[i].Margin, -1) {
				in.Sealed = d.sealed(i)
				continue
			}
			in.ShortBy = -verdicts[i].Margin
			o := d.out[verdicts[i].Outlet]
			in.Binding = &Binding{Rule: outletRule(o.kind), At: o.at, Value: o.minInvert + verdicts[i].Margin, Limit: o.minInvert}
		}
	}
	found, err := d.remedies(ctx, unserved)
	if err != nil {
		return err
	}
	for n, i := range unserved {
		for _, r := range found[n] {
			if r.Rule != "" {
				d.in[i].Remedies = append(d.in[i].Remedies, r)
			}
		}
		d.in[i].Remedies = append(d.in[i].Remedies, d.otherWays(i, verdicts[i])...)
	}
	return nil
}

// remedies asks every lever for every unserved inflow, levers side by side;
// where one does not help its remedy has no rule.
func (d *job) remedies(ctx context.Context, unserved []int) ([][]Remedy, error) {
	found := make([][]Remedy, len(unserved))
	for n := range found {
		found[n] = make([]Remedy, len(levers))
	}
	if len(unserved) == 0 {
		return found, nil
	}
	errs := make([]error, len(levers))
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for k, v := range levers {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			asked := map[string][]search.Verdict{}
			for n, i := range unserved {
				var ok bool
				if found[n][k], ok, errs[k] = d.remedy(ctx, v, i, asked); errs[k] != nil {
					return
				} else if !ok {
					found[n][k] = Remedy{}
				}
			}
		})
	}
	wait.Wait()
	return found, errors.Join(errs...)
}

func outletRule(t constraint.OutletType) string {
	switch t {
	case constraint.CurbFace:
		return constraint.RuleOutlet
	case constraint.Emitter:
		return "emitter_rise_max"
	}
	return string(t) + "_invert"
}

// easing asks how far one limit must be eased.
type easing struct {
	*job
	lever
	now, sign float64
	asked     map[string][]search.Verdict // shared by all inflows
}

func (e *easing) value(k int) float64 { return e.now + e.sign*float64(k)*e.step }

// works tells whether inflow i gets out with the limit k steps easier. Unless
// sure is set the fine lattice is asked only where the coarse one nearly does.
func (e *easing) works(ctx context.Context, i, k int, sure bool) (bool, error) {
	key := fmt.Sprintf("%s %d %v", e.rule, k, sure)
	if _, ok := e.asked[key]; !ok {
		eased := e.criteria.Limits
		*e.lever.value(&eased) = e.value(k)
		d := e.under(eased)
		verdicts := func(ctx context.Context) ([]search.Verdict, error) { return d.verdictsWhere(ctx, missesByLittle) }
		if sure {
			verdicts = d.verdicts
		}
		list, err := verdicts(ctx)
		if err != nil {
			return false, err
		}
		e.asked[key] = list
	}
	return e.asked[key][i].Feasible, nil
}

// remedy finds the least easing of one limit that lets inflow i out.
func (d *job) remedy(ctx context.Context, v lever, i int, asked map[string][]search.Verdict) (Remedy, bool, error) {
	limits := d.criteria.Limits
	e := &easing{job: d, lever: v, now: *v.value(&limits), sign: 1, asked: asked}
	if v.extreme < e.now {
		e.sign = -1
	}
	most := int(math.Floor(math.Abs(v.extreme-e.now)/v.step + constraint.Tolerance))
	if most < 1 || v.extreme > e.now != v.raise {
		return Remedy{}, false, nil // already beyond what anyone would defend
	}
	ok, err := e.works(ctx, i, most, false)
	if !ok || err != nil {
		return Remedy{}, false, err
	}
	low, high := 0, most // low does not work, high does
	for _, sure := range []bool{false, true} {
		for probe := high - 1; high-low > 1; probe = (low + high) / 2 {
			ok, err := e.works(ctx, i, probe, sure)
			if err != nil {
				return Remedy{}, false, err
			}
			if ok {
				high = probe
			} else {
				low = probe
			}
		}
		if !sure {
			low = 0
			if ok, err := e.works(ctx, i, high-1, true); err != nil {
				return Remedy{}, false, err
			} else if !ok || high == 1 {
				break
			}
		}
	}
	needed := e.value(high)
	return Remedy{Rule: v.rule, Now: e.now, Needed: needed, Unit: v.unit, Says: fmt.Sprintf(v.says, v.words(needed))}, true, nil
}

// under is the same lot with the same inflows under other limits.
func (d *job) under(limits constraint.Limits) *job {
	e := &job{site: d.site, criteria: d.criteria, water: d.water, in: slices.Clone(d.in)}
	e.criteria.Limits = limits
	e.law = constraint.NewLaw(d.law.Ground, d.site, d.lotIndex(), limits)
	e.out, _ = e.discharges()
	for _, in := range e.in {
		e.exits = append(e.exits, e.law.ExitAt(in.At, in.Roof))
	}
	return e
}

func (d *job) lotIndex() int {
	return slices.IndexFunc(d.site.Lots, func(l constraint.Lot) bool { return l.ID == d.law.Lot.ID })
}

// otherWays are the remedies that need no search: height from elsewhere.
func (d *job) otherWays(i int, v search.Verdict) []Remedy {
	in := d.in[i]
	var list []Remedy
	if !math.IsInf(v.Margin, -1) {
		o := d.out[v.Outlet]
		list = append(list, Remedy{Rule: "outlet invert", Now: o.minInvert, Needed: o.minInvert + v.Margin, Unit: "m",
			Says: fmt.Sprintf("an outlet %.3f m lower, where the street or a storm inlet offers one", -v.Margin)})
	}
	return append(list, Remedy{Rule: "pump", Now: math.NaN(), Needed: in.Flow, Unit: "m3/s",
		Says: fmt.Sprintf("a pump for %.1f L/s to a pipe that falls to the curb", in.Flow*1000)})
}

// sealed says what shuts an inflow in that no pipe can leave at any depth
// within the limits.
func (d *job) sealed(i int) string {
	reached, open := d.search(d.leastHeight(fine)).Reachable(i)
	if open {
		return fmt.Sprintf("every way out is deeper than depth_max %.2f m somewhere", d.criteria.Limits.DepthMax)
	}
	l := d.lattice(fine)
	count := map[string]int{}
	blame := func(k int) {
		if b, ok := d.law.BarAt(l.At(k)); ok {
			count[b.Rule+" of "+b.ID]++
		}
	}
	for _, k := range reached {
		for _, n := range [4]int{k - 1, k + 1, k - l.Cols, k + l.Cols} {
			if n >= 0 && n < len(l.Usable) && !l.Usable[n] {
				blame(n)
			}
		}
	}
	if len(reached) == 0 {
		return "no straight first pipe can leave it: " + d.barredRound(i)
	}
	names := make([]string, 0, len(count))
	for name := range count {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if count[a] != count[b] {
			return count[b] - count[a]
		}
		return strings.Compare(a, b)
	})
	return "shut in by " + strings.Join(names[:min(len(names), mostBlamed)], ", ")
}

// mostBlamed is how many obstacles are named.
const mostBlamed = 4

// barredRound names what bars the place of an inflow itself.
func (d *job) barredRound(i int) string {
	if b, ok := d.law.BarAt(d.in[i].At); ok {
		return b.Rule + " of " + b.ID
	}
	return "the ground round it is unknown or outside the lot"
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
		tail := fmt.Sprintf("%s has no way at all: %s.", in.ID, in.Sealed)
		if !math.IsNaN(in.ShortBy) {
			tail = fmt.Sprintf("%s is short of fall by %.3f m.", in.ID, in.ShortBy)
		}
		return fmt.Sprintf("Not every inflow drains by gravity: %d of %d reach the outlet; %s", served, len(r.Inflows), tail)
	}
	n := &r.Network
	var outlets []string
	for i := range n.Pipes {
		if p := &n.Pipes[i]; n.Nodes[p.To].Out < 0 {
			outlets = append(outlets, fmt.Sprintf("a %s %s outlet, invert %.3f m", p.Size.Nominal, p.Size.Material, p.InvertDown))
		}
	}
	s := fmt.Sprintf("All %d inflows drain by gravity through %.1f m of pipe to %s", len(r.Inflows), r.PlanLength, strings.Join(outlets, ", and "))
	if r.Leftover > 0 {
		s += fmt.Sprintf("; %.1f L/s of the design flow is more than the pipes carry and is left over", r.Leftover*1000)
	}
	return s + "."
}
