package design

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
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
	raised, curb := nan, nan
	for _, in := range r.Inflows {
		if in.ID == "low" && (in.Status != Infeasible || in.Binding.Rule != "emitter_lid" || math.Abs(in.ShortBy-0.36) > 1e-3) {
			t.Errorf("%+v", in)
		}
		for _, x := range in.Remedies {
			switch x.Rule + string(x.Type) {
			case "rim":
				raised = x.Needed - x.Now
			case "outlet.typecurb_face":
				curb = x.Length
			}
		}
	}
	if math.Abs(raised-0.36) > 1e-3 || !(curb > 5) {
		t.Errorf("raised by %.3f m, %.2f m to the curb", raised, curb)
	}
}

// A rim that the site gives below the lid is a mistake in it.
func TestRimBelowLid(t *testing.T) {
	ground, site := testLot(0.06)
	site.Outlets = []constraint.Outlet{{ID: "o", At: orb.Point{10, 8}, Type: constraint.Emitter, Invert: math.NaN()}}
	site.Inlets = []constraint.Inlet{{ID: "low", At: orb.Point{10, 9}, Rim: 10.4}}
	c := testCriteria()
	lot := func() error {
		_, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, Water{Runoff: func(orb.Point) (float64, float64) { return 50, 17.5 }}, c)
		return err
	}
	var below *RimBelowLid
	// The lid is the ground, 10 + 0.06 x 11 m.
	if err := lot(); !errors.As(err, &below) || err.Error() != "inlet low: rim 10.400 m lies 0.260 m below the lid of emitter o at 10.660 m, the ground there: water would come out at the rim first; raise the rim, or draw the emitter lower" {
		t.Error(err)
	}
	site.Inlets[0].Rim = 10.67
	if err := lot(); err != nil {
		t.Error(err)
	}
}

// turned returns a lot rising behind its curb, turned about the origin and
// moved.
func turned(rise, angle, east, north float64) (*grid.Grid, *constraint.Site) {
	c, s := math.Cos(angle), math.Sin(angle)
	move := func(p orb.Point) orb.Point { return orb.Point{east + c*p[0] - s*p[1], north + s*p[0] + c*p[1]} }
	_, site := testLot(rise)
	area := func(p orb.Polygon) {
		for i := range p[0] {
			p[0][i] = move(p[0][i])
		}
	}
	area(site.Lots[0].Area)
	area(site.Roofs[0].Outline)
	area(site.Paved[0].Area)
	for i := range site.Curbs[0].Line {
		site.Curbs[0].Line[i] = move(site.Curbs[0].Line[i])
	}
	g := grid.New(grid.NewFrame(east-60, north+60, 0.25, 0.25), 480, 480)
	for i := range g.Z {
		col, row := g.Cell(i)
		x, y := g.ToSite(float64(col), float64(row))
		v := -s*(x-east) + c*(y-north) // north of the lot before it was turned
		z := 10 + rise*(v+3)
		if v < -3 {
			z = 9.8476 + 0.02*(-3-v)
		}
		g.Z[i] = float32(z)
	}
	return g, site
}

// turnedLength is how far a length may change when a site is turned or moved:
// the lattice lies otherwise under it, and may find another plan as good.
const turnedLength = 0.01

// Turning or moving a site changes no verdict, and lengths by little.
func TestTurnedAndMoved(t *testing.T) {
	for _, rise := range []float64{0.05, 0.005} {
		var first *Result
		for _, at := range [][3]float64{{0, 0, 0}, {0, 1234.56, -987.1}, {math.Pi / 2, 0, 0}, {0.4, 500, 500}, {-1.1, 0, 0}} {
			ground, site := turned(rise, at[0], at[1], at[2])
			c := testCriteria()
			law := constraint.NewLaw(ground, site, 0, c.Limits)
			r, err := Lot(context.Background(), law, site, Water{Runoff: func(orb.Point) (float64, float64) { return 0, 0 }}, c)
			if err != nil {
				t.Fatal(err)
			}
			if first == nil {
				first = r
			}
			if r.Status != first.Status || r.Status == Feasible && math.Abs(r.PlanLength/first.PlanLength-1) > turnedLength {
				t.Errorf("turned by %.2f, moved by %v %v: %s, %.2f m; at first %s, %.2f m", at[0], at[1], at[2], r.Status, r.PlanLength, first.Status, first.PlanLength)
			}
		}
	}
}
