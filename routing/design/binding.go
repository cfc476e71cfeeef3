package design

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// The names of rules that are no limit of the criteria by themselves.
const (
	ruleUnknown      = "unknown_ground"
	ruleEdge         = "lot" // pipes run in the lot and its frontage alone
	ruleOutletInvert = "outlet_invert"
	ruleDaylight     = "daylight"
	ruleDepth        = "depth_max"
)

// RuleRim is the rule, and the remedy, of an inflow's own rim.
const RuleRim = "rim"

// fallBinding names the pair of places that leaves inflow i's best way too low: the
// last one downstream where the law holds it down, from where on it falls at its
// least slope, and the outlet.
func (d *job) fallBinding(i int, w *wayOut) *Binding {
	list, ok := d.trace(i, w)
	if !ok {
		return nil
	}
	out, end := d.endOf(w), list[len(list)-1]
	upper, lower := d.upper(list), Place{At: out.at, Invert: end.invert, Needed: out.minInvert}
	lower.Rule, lower.ID = d.outletRule(&out)
	upper.Needed = upper.Invert + lower.Needed - lower.Invert
	return &Binding{Rule: upper.Rule, At: upper.At, Station: upper.Station, Value: upper.Invert, Limit: upper.Needed, Upper: &upper, Lower: &lower}
}

// depthBinding names the pair of places that leaves inflow i's way under a deeper
// limit too deep under the one there is: where it lies deepest beyond it, and
// the last one before that where the law holds it down.
func (d *job) depthBinding(i int, w *wayOut, deeper *job) *Binding {
	list, ok := deeper.trace(i, w)
	if !ok {
		return nil
	}
	more := deeper.criteria.Limits.DepthMax - d.criteria.Limits.DepthMax
	deepest := 0
	for k, st := range list {
		if st.Floor-st.invert > list[deepest].Floor-list[deepest].invert {
			deepest = k
		}
	}
	st := list[deepest]
	upper := d.upper(list[:deepest+1])
	upper.Station += list[len(list)-1].away - st.away
	lower := Place{Rule: ruleDepth, At: st.at, Station: list[len(list)-1].away - st.away, Invert: st.invert, Needed: st.Floor + more}
	upper.Needed = upper.Invert + lower.Needed - lower.Invert
	return &Binding{Rule: lower.Rule, At: lower.At, Station: lower.Station, Value: lower.Invert, Limit: lower.Needed, Upper: &upper, Lower: &lower}
}

// upper is the last place of a way where the law holds it down. The first always
// is one: an inflow's pipe starts as high as it may.
func (d *job) upper(list []stop) Place {
	held := 0
	for k := range list {
		if list[k].held {
			held = k
		}
	}
	st := list[held]
	p := Place{At: st.at, Station: list[len(list)-1].away - st.away, Invert: st.invert}
	if p.Rule, p.ID = d.holding(st); held == 0 && underRim(list) {
		p.Rule, p.ID = RuleRim, ""
	}
	return p
}

// underRim tells whether the rim holds a way's beginning lower than cover does: the
// first of two stops there is the rim's.
func underRim(list []stop) bool {
	return len(list) > 1 && list[1].away == 0 && list[0].Ceiling < list[1].Ceiling
}

// holding is the rule that holds a pipe down at a place, and whose it is.
func (d *job) holding(st stop) (rule, id string) {
	switch {
	case st.invert < st.Ceiling-constraint.Tolerance:
		return "utility_clearance", d.law.BuriedNear(st.at)
	case st.last && d.out[0].curb != nil:
		return "outlet_cover", ""
	}
	return d.coverRule(st.at)
}

// coverRule is the rule of cover at a place, and whose ground it is.
func (d *job) coverRule(p orb.Point) (rule, id string) {
	c := d.law.Covering(p)
	switch {
	case c.Own || c.Kind == "":
		return "cover_min", c.ID
	case c.Kind == constraint.ZoneDriveway:
		return "cover_min_driveway", c.ID
	}
	return "cover_min_walk", c.ID
}

// outletRule is the rule that asks for the invert at an outlet, and whose it is.
func (d *job) outletRule(x *discharge) (rule, id string) {
	switch {
	case x.kind == constraint.Daylight && x.minInvert <= x.ground+constraint.Tolerance:
		return ruleDaylight, x.id
	case x.curb != nil && x.minInvert <= x.curb.MinInvert+constraint.Tolerance:
		return "outlet_above_gutter", x.curb.Face.ID
	case x.kind == constraint.Emitter && x.minInvert <= x.lid-d.criteria.Limits.EmitterRiseMax+constraint.Tolerance:
		return "emitter_rise_max", x.id
	}
	return ruleOutletInvert, x.id
}

// barredBinding names the place where a rule closes every way of inflow i.
func barredBinding(rule, id string, at orb.Point) *Binding {
	nan := math.NaN()
	return &Binding{Rule: rule, At: at, Station: nan, Value: nan, Limit: nan, Upper: &Place{Rule: rule, ID: id, At: at, Station: nan, Invert: nan, Needed: nan}}
}
