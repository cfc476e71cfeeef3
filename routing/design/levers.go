package design

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"curbfall/routing/constraint"
)

// lever is one limit that may be eased, or a figure of the inflow itself.
type lever struct {
	rule    string
	unit    string
	step    float64 // the change a remedy is named to; 0: to the next size of pipe
	extreme float64 // the furthest value anyone would go
	raise   bool    // easing is a larger value
	ends    bool    // it bears on first or last pipes alone
	moves   bool    // it bears on where outlets may be
	own     bool    // it is the inflow's own
	value   func(*Criteria, *Inflow) *float64
	says    string // {needed} is the value in its unit for people, {where} the pipe it bears on, {id} the inflow
}

func limit(of func(*constraint.Limits) *float64) func(*Criteria, *Inflow) *float64 {
	return func(c *Criteria, _ *Inflow) *float64 { return of(&c.Limits) }
}

// levers are tried one by one. The extremes are common practice, no source:
// what a careful designer might still defend with protection or permission.
var levers = []lever{
	{rule: "limits.cover_min", unit: "m", step: 0.001, extreme: 0.05, value: limit(func(l *constraint.Limits) *float64 { return &l.CoverMin }),
		says: "less cover in lawn, {needed}{where}: sleeved or encased there, and marked"},
	{rule: "limits.cover_min_walk", unit: "m", step: 0.001, extreme: 0.05, value: limit(func(l *constraint.Limits) *float64 { return &l.CoverMinWalk }),
		says: "less cover under walk and patio, {needed}{where}: encased, or the panel thickened over it"},
	{rule: "limits.cover_min_driveway", unit: "m", step: 0.001, extreme: 0.1, value: limit(func(l *constraint.Limits) *float64 { return &l.CoverMinDriveway }),
		says: "less cover under the driveway, {needed}{where}: encased in concrete"},
	{rule: "limits.slope_min", step: 0.0001, extreme: 0.0025, value: limit(func(l *constraint.Limits) *float64 { return &l.SlopeMin }),
		says: "flatter pipe, {needed}, laid with a laser"},
	{rule: "pipes.size_min_main", unit: "m", value: func(c *Criteria, _ *Inflow) *float64 { return &c.Catalogue.MainMin },
		says: "a narrower main, {needed}"},
	{rule: "limits.outlet_above_gutter", unit: "m", step: 0.001, ends: true, value: limit(func(l *constraint.Limits) *float64 { return &l.OutletAboveGutter }),
		says: "the outlet {needed} above the gutter"},
	{rule: "limits.outlet_cover", unit: "m", step: 0.001, ends: true, value: limit(func(l *constraint.Limits) *float64 { return &l.OutletCover }),
		says: "less cover over the outlet pipe, {needed}{where}: encased in concrete or sleeved in steel"},
	{rule: "limits.outlet_zone", unit: "m", step: 0.1, extreme: 12.2, raise: true, ends: true, value: limit(func(l *constraint.Limits) *float64 { return &l.OutletZone }),
		says: "a longer outlet pipe under short cover, {needed}: encased or sleeved over its length"},
	{rule: "limits.frontage_margin", unit: "m", step: 0.01, extreme: 0.3, ends: true, moves: true, value: limit(func(l *constraint.Limits) *float64 { return &l.FrontageMargin }),
		says: "another curb point, {needed} inside the lot line carried to the curb, with the authority's leave"},
	{rule: "limits.curb_clearance_driveway", unit: "m", step: 0.01, ends: true, moves: true, value: limit(func(l *constraint.Limits) *float64 { return &l.CurbClearanceDriveway }),
		says: "another curb point, {needed} from the driveway, with the authority's leave"},
	{rule: "limits.depth_max", unit: "m", step: 0.001, extreme: 1.5, raise: true, value: limit(func(l *constraint.Limits) *float64 { return &l.DepthMax }),
		says: "a deeper trench, {needed} to the invert, with trench protection"},
	{rule: "limits.roof_setback", unit: "m", step: 0.01, extreme: 0.15, value: limit(func(l *constraint.Limits) *float64 { return &l.RoofSetback }),
		says: "passing closer to the roofs, {needed}, dug by hand"},
	{rule: "limits.lot_line_setback", unit: "m", step: 0.01, value: limit(func(l *constraint.Limits) *float64 { return &l.LotLineSetback }),
		says: "passing closer to the lot line, {needed}"},
	{rule: "limits.utility_clearance", unit: "m", step: 0.01, extreme: 0.05, value: limit(func(l *constraint.Limits) *float64 { return &l.UtilityClearance }),
		says: "less clearance to the utility, {needed}, with its owner's leave"},
	{rule: "limits.root_plate_factor", step: 0.1, extreme: 2, value: limit(func(l *constraint.Limits) *float64 { return &l.RootPlateFactor }),
		says: "passing closer to the trunk, {needed} trunk diameters, bored"},
	// A rim given below the ground holds its own pipe alone, and never up: lowering
	// one helps nobody, and another's is no way out. At the ground it holds nothing.
	{rule: RuleRim, unit: "m", step: 0.001, raise: true, ends: true, own: true, value: func(_ *Criteria, in *Inflow) *float64 { return &in.Rim },
		says: "the rim of {id} higher, {needed}, with less ground dug off round it"},
}

// words is a value as a remedy says it, on the side that eases.
func (v *lever) words(x float64, c *Criteria) string {
	if v.step == 0 {
		for _, b := range c.Catalogue.Bores {
			if b.Diameter == x {
				return b.Nominal
			}
		}
	}
	side, to := "at most", down
	if v.raise {
		side, to = "at least", up
	}
	switch {
	case v.rule == "limits.slope_min":
		return fmt.Sprintf("%s %.2f %%", side, 100*to(x, slopeDigit))
	case v.unit == "m":
		return fmt.Sprintf("%s %.3f m", side, to(x, millimetre))
	}
	return fmt.Sprintf("%s %.1f", side, to(x, diametersDigit))
}

// sentence is what a remedy by the lever says.
func (v *lever) sentence(needed float64, c *Criteria, where, id string) string {
	return strings.NewReplacer("{needed}", v.words(needed, c), "{where}", where, "{id}", id).Replace(v.says)
}

// idle tells that the limit bears on nothing of the site.
func (e *easing) idle() bool {
	paved := func(kinds ...constraint.PavedKind) bool {
		return slices.ContainsFunc(e.site.Paved, func(p constraint.Paved) bool { return !constraint.Given(p.CoverMin) && slices.Contains(kinds, p.Kind) })
	}
	if e.moves && len(e.out) > 0 && !e.mayDivide() {
		return true // outlets stand where they were drawn
	}
	switch e.rule {
	case "limits.cover_min_walk":
		return !paved(constraint.Walk, constraint.Patio)
	case "limits.cover_min_driveway":
		return !paved(constraint.Driveway)
	case "limits.curb_clearance_driveway":
		return !slices.ContainsFunc(e.site.Paved, func(p constraint.Paved) bool { return p.Kind == constraint.Driveway })
	case "limits.utility_clearance":
		return !slices.ContainsFunc(e.site.Utilities, func(u constraint.Utility) bool {
			return !constraint.Given(u.Clearance) && (constraint.Given(u.Top) || constraint.Given(u.Depth))
		})
	case RuleRim:
		return e.exits[e.inflow].Rim == nil
	case "limits.root_plate_factor":
		return !slices.ContainsFunc(e.site.Trees, func(t constraint.Tree) bool { return t.TrunkDiameter > 0 })
	}
	return len(e.out) == 0 && !e.moves
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

// value is the limit k steps easier.
func (e *easing) value(k int) float64 {
	if e.step == 0 {
		return e.criteria.Catalogue.Bores[e.smallestMain()-k].Diameter
	}
	return e.now + e.sign*float64(k)*e.step
}

// steps is how far the limit may be eased for an inflow, in steps; 0: it is
// already beyond what anyone would defend.
func (e *easing) steps(extreme float64) int {
	switch {
	case e.step == 0:
		return e.smallestMain()
	case e.rule == RuleRim:
		at := e.in[e.inflow].At
		extreme = e.law.Ground.Ground(at[0], at[1])
	}
	if extreme > e.now != e.raise {
		return 0
	}
	return int(math.Floor(math.Abs(extreme-e.now)/e.step + constraint.Tolerance))
}
