package design

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// What an alternative says of the whole lot is what the lot comes to with it put in.
func TestAlternatives(t *testing.T) {
	lots := []shortLot{
		{name: "two too low", rise: 0.0215, change: func(s *constraint.Site) {
			s.Downspouts = append(s.Downspouts, constraint.Downspout{ID: "back", At: orb.Point{5, 20}, Roof: "roof", Share: nan})
		}},
		{name: "one of two too low", rise: 0.03, heap: func(_, y float64) float64 { return -0.5 * math.Max(0, math.Min(1, (y-22)/4)) }, change: func(s *constraint.Site) {
			s.Inlets = []constraint.Inlet{{ID: "yard", At: orb.Point{10, 27}, Rim: nan}}
		}},
	}
	for _, s := range shortLots {
		if s.name == "a rim dug down" || s.name == "an outlet drawn at the high end" || s.name == "a curb with the street on the lot's side" {
			lots = append(lots, s)
		}
	}
	tried := map[string]int{}
	for k := range lots {
		s := &lots[k]
		law, site, water, c := s.pose(func(*Criteria) {})
		r, err := Lot(t.Context(), law, site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		for k, a := range r.Alternatives {
			if (a.Design == nil) != (k >= AlternativesDesigned) {
				t.Errorf("%s: with %s, number %d, something is designed: %v", s.name, a.Rule, k+1, a.Design != nil)
			}
			if a.Design == nil {
				continue
			}
			tried[a.Rule]++
			value := a.Needed
			if a.Rule == RuleOutletInvert { // to the millimetre
				value = a.Now - up(a.Now-a.Needed, millimetre)
			}
			changed := s.put(a.Inflows[0], a.Remedy, value)
			if changed == nil {
				continue
			}
			law, site, water, c := changed.pose(func(*Criteria) {})
			whole, err := Lot(t.Context(), law, site, water, c)
			if err != nil {
				t.Fatal(err)
			}
			s.same(t, a, whole, law)
			for _, id := range a.Inflows {
				if !slices.Contains(a.Design.Served, id) {
					t.Errorf("%s: %s of %g does not serve %s with the others", s.name, a.Rule, a.Needed, id)
				}
			}
		}
		n := 0
		for _, in := range r.Inflows {
			n += len(in.Remedies)
		}
		if k == 0 && n != 2*len(r.Alternatives) {
			t.Errorf("%s: %d remedies make %d alternatives", s.name, n, len(r.Alternatives))
		}
	}
	for _, rule := range []string{"limits.cover_min", "limits.slope_min", "outlet.type", "outlet.at", "curb.street_side", RuleRim, RuleOutletInvert, "pump"} {
		if tried[rule] == 0 {
			t.Errorf("%s is none of the alternatives", rule)
		}
	}
}

// same holds an alternative's design against the whole lot's with it put in.
func (s *shortLot) same(t *testing.T, a Alternative, whole *Result, law *constraint.Law) {
	t.Helper()
	o := a.Design
	var served []string
	flow := 0.0
	for _, in := range whole.Inflows {
		if in.Status == Served {
			served, flow = append(served, in.ID), flow+in.Flow
		}
	}
	t.Logf("%-25s %-22s %v of %d, %.2f L/s of %.2f left over, %.2f m, %.2f m2", s.name, a.Rule, o.Served, len(whole.Inflows), 1000*o.Leftover, 1000*o.Flow, o.PlanLength, o.Trench)
	if !slices.Equal(served, o.Served) {
		t.Errorf("%s: %s of %g serves %v, %v was said", s.name, a.Rule, a.Needed, served, o.Served)
	}
	const digit = 1e-6
	curb := digit // the top of a curb goes down with its gutter
	if a.Rule == RuleOutletInvert {
		curb = up(a.Now-a.Needed, millimetre)
	}
	cover, depth, trench := math.Inf(1), 0.0, 0.0
	var sizes []string
	for k := range whole.Network.Pipes {
		p := &whole.Network.Pipes[k]
		cover, depth = math.Min(cover, p.CoverMin), math.Max(depth, p.DepthMax)
		if !slices.Contains(sizes, p.Size.Nominal) {
			sizes = append(sizes, p.Size.Nominal)
		}
		const steps = 1000
		from, to := whole.Network.Nodes[p.From].At, whole.Network.Nodes[p.To].At
		for i := range steps {
			f := (float64(i) + 0.5) / steps
			at := pointOn(from, to, f)
			trench += p.Length / steps * (law.Ground.Ground(at[0], at[1]) - (p.InvertUp - f*p.Fall()))
		}
	}
	slices.Sort(sizes)
	for _, x := range []struct {
		what            string
		said, is, slack float64
	}{
		{"flow", o.Flow, flow, digit}, {"left over", o.Leftover, whole.Leftover, digit}, {"length", o.PlanLength, whole.PlanLength, digit},
		{"least cover", o.CoverMin, cover, curb}, {"depth", o.DepthMax, depth, digit}, {"trench", o.Trench, trench, 1e-3},
	} {
		if math.Abs(x.said-x.is) > x.slack {
			t.Errorf("%s: %s of %g: %s is said to be %g, and is %g", s.name, a.Rule, a.Needed, x.what, x.said, x.is)
		}
	}
	if !slices.Equal(sizes, o.Sizes) {
		t.Errorf("%s: %s of %g: sizes are said to be %v, and are %v", s.name, a.Rule, a.Needed, o.Sizes, sizes)
	}
}
