package design

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// designed runs a lot rising behind its curb at a slope under changed criteria
// and site.
func designed(t *testing.T, rise float64, change func(*Criteria, *constraint.Site)) *Result {
	t.Helper()
	ground, site := testLot(rise)
	c := testCriteria()
	change(&c, site)
	law := constraint.NewLaw(ground, site, 0, c.Limits)
	water := Water{Runoff: func(orb.Point) (float64, float64) { return 50, 17.5 }}
	r, err := Lot(context.Background(), law, site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Moving the gutter by 3 cm moves the missing height by 3 cm.
func TestGutterMovesMargin(t *testing.T) {
	short := func(gutter float64) float64 {
		r := designed(t, 0.005, func(_ *Criteria, s *constraint.Site) { s.Curbs[0].Gutter = []float64{gutter} })
		if r.Status != Infeasible {
			t.Fatal(r.Verdict)
		}
		return r.Inflows[0].ShortBy
	}
	if d := short(9.88) - short(9.85); math.Abs(d-0.03) > 5e-4 {
		t.Errorf("gutter 3 cm up, missing height %.4f m up", d)
	}
}

// Each remedy that is a limit, put in, makes the lot feasible; one step less
// does not.
func TestRemediesWork(t *testing.T) {
	const rise = 0.0215 // a little too flat
	r := designed(t, rise, func(*Criteria, *constraint.Site) {})
	if r.Status != Infeasible {
		t.Fatalf("the lot is feasible: %s", r.Verdict)
	}
	tried := 0
	for _, in := range r.Inflows {
		for _, x := range in.Remedies {
			for _, v := range levers {
				if v.rule != x.Rule {
					continue
				}
				tried++
				served := func(value float64) bool {
					r := designed(t, rise, func(c *Criteria, _ *constraint.Site) { *v.value(&c.Limits) = value })
					for _, other := range r.Inflows {
						if other.ID == in.ID {
							return other.Status == Served
						}
					}
					t.Fatalf("%s is gone", in.ID)
					return false
				}
				step := math.Copysign(v.step, x.Now-x.Needed)
				if !served(x.Needed) {
					t.Errorf("%s: %s of %g does not serve it", in.ID, x.Rule, x.Needed)
				}
				if able(t, rise, v, x.Needed+step, in.ID) {
					t.Errorf("%s: %s of %g already serves it, %g was asked", in.ID, x.Rule, x.Needed+step, x.Needed)
				}
			}
		}
		break // the others stand alike
	}
	if tried == 0 {
		t.Error("no remedy to try")
	}
}

// able asks for an inflow's own verdict alone.
func able(t *testing.T, rise float64, v lever, value float64, id string) bool {
	t.Helper()
	ground, site := testLot(rise)
	c := testCriteria()
	*v.value(&c.Limits) = value
	d := &job{law: constraint.NewLaw(ground, site, 0, c.Limits), site: site, criteria: c,
		water: Water{Runoff: func(orb.Point) (float64, float64) { return 50, 17.5 }}}
	d.in = d.inflows()
	d.out, _ = d.discharges()
	for _, in := range d.in {
		d.exits = append(d.exits, d.law.ExitAt(in.At, in.Roof))
	}
	list, err := d.verdicts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for i, in := range d.in {
		if in.ID == id {
			return list[i].Feasible
		}
	}
	t.Fatalf("%s is gone", id)
	return false
}

// Every kind of outlet can serve the lot; a daylight end wants ground that
// falls faster than a pipe under full cover comes up through.
func TestOutletTypes(t *testing.T) {
	for _, o := range []constraint.Outlet{
		{ID: "o", At: orb.Point{10, -3}, Type: constraint.CurbFace, Invert: math.NaN()},
		{ID: "o", At: orb.Point{10, 2}, Type: constraint.Emitter, Invert: math.NaN()},
		{ID: "o", At: orb.Point{10, 1}, Type: constraint.Daylight, Invert: math.NaN()},
		{ID: "o", At: orb.Point{10, -2.5}, Type: constraint.StormInlet, Invert: 9.2},
	} {
		rise := 0.06
		if o.Type == constraint.Daylight {
			rise = 0.12
		}
		r := designed(t, rise, func(_ *Criteria, s *constraint.Site) { s.Outlets = []constraint.Outlet{o} })
		if r.Status != Feasible {
			t.Errorf("%s: %s", o.Type, r.Verdict)
			continue
		}
		last := r.Network.Nodes[len(r.Network.Nodes)-1]
		for _, n := range r.Network.Nodes {
			if n.Out < 0 {
				last = n
			}
		}
		if last.OutletType != o.Type || last.At != o.At {
			t.Errorf("%s: ends at %v as %s", o.Type, last.At, last.OutletType)
		}
	}
}

// A grate below an emitter's lid cannot drain to it.
func TestEmitterLid(t *testing.T) {
	r := designed(t, 0.06, func(_ *Criteria, s *constraint.Site) {
		s.Outlets = []constraint.Outlet{{ID: "o", At: orb.Point{10, 8}, Type: constraint.Emitter, Invert: math.NaN()}}
		s.Inlets = []constraint.Inlet{{ID: "low", At: orb.Point{10, 2}, Rim: math.NaN()}}
	})
	for _, in := range r.Inflows {
		if in.ID == "low" && (in.Status != Infeasible || in.Binding.Rule != "emitter_lid" || math.Abs(in.ShortBy-0.36) > 1e-3) {
			t.Errorf("%+v", in)
		}
	}
}
