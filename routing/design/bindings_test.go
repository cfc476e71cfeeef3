package design

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// boundLot is a lot that cannot be drained for one rule of the law.
type boundLot struct {
	name        string
	rule, lower string // of the binding, and of its lower place; "" for none
	sealed      bool   // no height helps
	rise        float64
	heap        func(x, y float64) float64 // m
	change      func(*Criteria, *constraint.Site)
}

var nan = math.NaN()

// hill is a bank across the lot.
func hill(top float64) func(x, y float64) float64 {
	return func(_, y float64) float64 { return top * math.Max(0, 1-math.Abs(y-8)/1.5) }
}

func outletAt(x, y float64, kind constraint.OutletType, invert float64) func(*Criteria, *constraint.Site) {
	return func(_ *Criteria, s *constraint.Site) {
		s.Outlets = []constraint.Outlet{{ID: "o", At: orb.Point{x, y}, Type: kind, Invert: invert}}
	}
}

// rimGiven leaves the lot an area drain alone, its rim so far below the ground, m.
func rimGiven(down float64) func(*Criteria, *constraint.Site) {
	return func(_ *Criteria, s *constraint.Site) {
		s.Roofs, s.Downspouts = nil, nil
		s.Inlets = []constraint.Inlet{{ID: "yard", At: orb.Point{10, 12}, Rim: 10 + 0.03*15 - down}}
	}
}

func shutBy(change func(s *constraint.Site)) func(*Criteria, *constraint.Site) {
	return func(_ *Criteria, s *constraint.Site) { change(s) }
}

var boundLots = []boundLot{
	{name: "cover in lawn", rule: "cover_min", lower: "outlet_above_gutter", rise: 0.005},
	{name: "cover of a walk", rule: "cover_min_walk", lower: "outlet_above_gutter", rise: 0.0205, change: func(c *Criteria, s *constraint.Site) {
		c.Limits.CoverMinWalk = 0.4
		s.Paved = []constraint.Paved{{ID: "walk", Kind: constraint.Walk, Area: across(5, 7), CoverMin: nan}}
	}},
	{name: "cover of a driveway", rule: "cover_min_driveway", lower: "outlet_above_gutter", rise: 0.0205, change: shutBy(func(s *constraint.Site) {
		s.Paved = []constraint.Paved{{ID: "drive", Kind: constraint.Driveway, Area: across(4, 6), CoverMin: nan}}
	})},
	{name: "a patio's own cover", rule: "cover_min", lower: "outlet_above_gutter", rise: 0.0205, change: shutBy(func(s *constraint.Site) {
		s.Paved = []constraint.Paved{{ID: "terrace", Kind: constraint.Patio, Area: across(5, 7), CoverMin: 0.45}}
	})},
	{name: "cover at the outlet", rule: "outlet_cover", lower: "outlet_above_gutter", rise: 0.03, heap: func(_, y float64) float64 {
		return -0.08 * math.Max(0, 1-math.Abs(y+2)/0.9)
	}},
	{name: "the gutter above every inflow", rule: "cover_min", lower: "outlet_above_gutter", rise: 0.02, change: shutBy(func(s *constraint.Site) { s.Curbs[0].Gutter = []float64{12} })},
	{name: "a given outlet's invert", rule: "outlet_cover", lower: "outlet_invert", rise: 0.03, change: outletAt(10, -3, constraint.CurbFace, 10.4)},
	{name: "a storm inlet's invert", rule: "cover_min", lower: "outlet_invert", rise: 0.02, change: outletAt(10, -2.5, constraint.StormInlet, 10.1)},
	{name: "an emitter's rise", rule: "cover_min", lower: "emitter_rise_max", rise: -0.02, change: outletAt(10, 5, constraint.Emitter, nan)},
	{name: "a daylight end", rule: "cover_min", lower: "daylight", rise: 0.02, change: outletAt(10, 3, constraint.Daylight, nan)},
	{name: "clearance to a utility", rule: "utility_clearance", lower: "outlet_above_gutter", rise: 0.0205, change: shutBy(func(s *constraint.Site) {
		s.Utilities = []constraint.Utility{{ID: "main", Line: orb.LineString{{-5, 6}, {25, 6}}, Top: nan, Depth: 0.3, OutsideDiameter: 0.05, Clearance: nan}}
	})},
	{name: "a rim dug down", rule: RuleRim, lower: "outlet_above_gutter", rise: 0.03, change: rimGiven(0.4)},
	{name: "depth over a bank", rule: "depth_max", lower: "depth_max", rise: 0.04, heap: hill(1.1)},
	{name: "depth over a high bank", rule: "depth_max", lower: "depth_max", rise: 0.04, heap: hill(3)},
	{name: "depth under a utility", rule: "depth_max", lower: "depth_max", rise: 0.12, change: shutBy(func(s *constraint.Site) {
		s.Utilities = []constraint.Utility{{ID: "main", Line: orb.LineString{{-5, 9}, {25, 9}}, Top: nan, Depth: 0.35, OutsideDiameter: 0.5, Clearance: nan}}
	})},
	{name: "a keep-out", rule: constraint.RuleKeepOut, sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		s.KeepOuts = []constraint.KeepOut{{ID: "pond", Area: across(4, 6)}}
	})},
	{name: "another lot", rule: constraint.RuleOtherLot, sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		s.Lots = append(s.Lots, constraint.Lot{ID: "next", Area: across(4, 6)})
	})},
	{name: "root plates", rule: constraint.RuleRootPlate, sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		for x := 0.5; x < 20; x += 2 {
			s.Trees = append(s.Trees, constraint.Tree{ID: "tree", At: orb.Point{x, 6}, TrunkDiameter: 0.25})
		}
	})},
	{name: "an easement", rule: constraint.RuleEasement, sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		s.Easements = []constraint.Easement{{ID: "strip", Area: across(4, 6), Forbid: true}}
	})},
	{name: "roof setbacks", rule: constraint.RuleRoofSetback, sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		s.Roofs[0].Outline = rectangle(0.8, 12, 19.2, 20)
		s.Downspouts = []constraint.Downspout{{ID: "back", At: orb.Point{10, 20}, Roof: "roof", Share: nan}}
	})},
	{name: "unknown ground", rule: ruleUnknown, sealed: true, rise: 0.05, heap: func(_, y float64) float64 {
		if y > 4 && y < 6 {
			return nan
		}
		return 0
	}},
	{name: "a frontage too narrow", rule: "frontage_margin", sealed: true, rise: 0.05, change: func(c *Criteria, _ *constraint.Site) { c.Limits.FrontageMargin = 10.5 }},
	{name: "driveways all along", rule: "curb_clearance_driveway", sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) {
		s.Paved = []constraint.Paved{{ID: "drive", Kind: constraint.Driveway, Area: across(-3, -1), CoverMin: nan}}
	})},
	{name: "a rolled curb", rule: "curb.type", sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) { s.Curbs[0].Type = constraint.RolledCurb })},
	{name: "a street on the lot's side", rule: "curb.street_side", sealed: true, rise: 0.05, change: shutBy(func(s *constraint.Site) { s.Curbs[0].StreetSide = constraint.Left })},
	{name: "no outlet of the type", rule: "outlet.type", sealed: true, rise: 0.05, change: func(c *Criteria, _ *constraint.Site) { c.Outlet = constraint.Daylight }},
}

// lacks is what the lot's last inflow is said to lack, remedies left aside.
func (b *boundLot) lacks(t *testing.T) Inflow {
	t.Helper()
	s := shortLot{rise: b.rise, heap: b.heap, change: func(*constraint.Site) {}}
	law, site, water, c := s.pose(func(*Criteria) {})
	if b.change != nil {
		b.change(&c, site)
	}
	d := &job{law: constraint.NewLaw(law.Ground, site, 0, c.Limits), site: site, criteria: c, water: water}
	d.in = d.inflows()
	if d.out, _ = d.discharges(); len(d.out) == 0 {
		r, err := Lot(t.Context(), d.law, site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		return r.Inflows[0]
	}
	for _, in := range d.in {
		d.exits = append(d.exits, d.exitOf(&in))
	}
	verdicts, err := d.verdicts(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if verdicts[0].able() {
		return Inflow{Status: Served}
	}
	d.in[0].ShortBy = nan
	x := &lacking{way: verdicts[0].way}
	if err := d.seek(t.Context(), x); err != nil {
		t.Fatal(err)
	}
	for _, v := range levers {
		if v.rule == "limits."+ruleDepth {
			if _, err := d.easing(v, 0).remedy(t.Context(), x); err != nil {
				t.Fatal(err)
			}
		}
	}
	d.bind(x)
	return d.in[0]
}

// Every rule of the law can be what binds, and is then named with its place, its
// pair and its numbers.
func TestEveryRuleBinds(t *testing.T) {
	for k := range boundLots {
		b := &boundLots[k]
		in := b.lacks(t)
		if in.Status == Served || in.Binding == nil {
			t.Errorf("%s: nothing binds: %+v", b.name, in)
			continue
		}
		x := in.Binding
		lower := ""
		if x.Lower != nil {
			lower = x.Lower.Rule
		}
		t.Logf("%-30s %-24s %-20s %8.4f m missing, at (%.2f %.2f) %s", b.name, x.Rule, lower, in.ShortBy, x.At[0], x.At[1], in.Sealed)
		if x.Rule != b.rule || lower != b.lower || math.IsNaN(in.ShortBy) != b.sealed || (in.Sealed != "") != b.sealed {
			t.Errorf("%s: %s binds, and %s; %g missing, %q", b.name, x.Rule, lower, in.ShortBy, in.Sealed)
		}
		if x.Lower == nil {
			continue
		}
		if err := x.agrees(in.ShortBy); err != nil {
			t.Errorf("%s: %v", b.name, err)
		}
	}
}

// agrees tells whether a binding's numbers come to the missing height, and to
// each other.
func (x *Binding) agrees(missing float64) error {
	const digit = 1e-6
	for name, is := range map[string]float64{"binding": x.Limit - x.Value, "upper": x.Upper.Needed - x.Upper.Invert, "lower": x.Lower.Needed - x.Lower.Invert} {
		if math.Abs(is-missing) > digit {
			return fmt.Errorf("%s: %.6f m apart, %.6f m missing", name, is, missing)
		}
	}
	if x.Upper.Station < x.Lower.Station || x.Upper.Invert < x.Lower.Invert {
		return fmt.Errorf("%+v lies under %+v", x.Upper, x.Lower)
	}
	return nil
}
