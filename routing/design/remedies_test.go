package design

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// shortLot is a lot that cannot be drained as it is: the test lot rising behind
// its curb at a slope, with ground heaped on it or dug off, and more drawn.
type shortLot struct {
	name   string
	rise   float64
	heap   func(x, y float64) float64 // m; nil: none
	change func(*constraint.Site)
}

// across is a strip over the whole lot and beyond.
func across(south, north float64) orb.Polygon { return rectangle(-5, south, 25, north) }

var shortLots = []shortLot{
	{"a little too flat", 0.0215, nil, func(*constraint.Site) {}},
	{"flatter than a pipe", 0.0135, nil, func(*constraint.Site) {}},
	{"a driveway across", 0.026, nil, func(s *constraint.Site) {
		s.Paved = append(s.Paved, constraint.Paved{ID: "drive", Kind: constraint.Driveway, Area: across(4, 7), Thickness: math.NaN(), CoverMin: math.NaN()})
	}},
	{"a shallow main across", 0.03, nil, func(s *constraint.Site) {
		s.Utilities = []constraint.Utility{{ID: "main", Line: orb.LineString{{-5, 6}, {25, 6}}, Top: math.NaN(), Depth: 0.5, OutsideDiameter: 0.05, Clearance: math.NaN()}}
	}},
	{"a swale across", 0.03, func(_, y float64) float64 { return -0.12 * math.Max(0, 1-math.Abs(y-6)/2) }, func(*constraint.Site) {}},
	{"a bank across", 0.04, func(_, y float64) float64 { return 1.1 * math.Max(0, 1-math.Abs(y-8)/1.5) }, func(*constraint.Site) {}},
	{"a row of trees", 0.05, nil, func(s *constraint.Site) {
		for x := 0.5; x < 20; x += 2 {
			s.Trees = append(s.Trees, constraint.Tree{ID: "tree", At: orb.Point{x, 6}, TrunkDiameter: 0.25})
		}
	}},
	{"a house from side to side", 0.05, nil, func(s *constraint.Site) {
		s.Roofs[0].Outline = rectangle(0.8, 12, 19.2, 20)
		s.Downspouts = []constraint.Downspout{{ID: "back", At: orb.Point{10, 20}, Roof: "roof", Share: math.NaN()}}
	}},
	{"a low back yard", 0.03, func(_, y float64) float64 { return -0.5 * math.Max(0, math.Min(1, (y-22)/4)) }, func(s *constraint.Site) {
		s.Inlets = []constraint.Inlet{{ID: "yard", At: orb.Point{10, 27}, Rim: math.NaN()}}
	}},
	{"two houses too low", 0.019, nil, func(s *constraint.Site) {
		s.Roofs = append(s.Roofs, constraint.Roof{ID: "shed", Outline: rectangle(2, 24, 6, 28), RunoffCoeff: math.NaN(), FinishedFloor: math.NaN()})
	}},
}

// pose returns the lot under changed limits, ready to be asked.
func (s *shortLot) pose(change func(*constraint.Limits)) (*constraint.Law, *constraint.Site, Water, Criteria) {
	ground, site := testLot(s.rise)
	if s.heap != nil {
		for i := range ground.Z {
			col, row := ground.Cell(i)
			x, y := ground.ToSite(float64(col), float64(row))
			ground.Z[i] += float32(s.heap(x, y))
		}
	}
	s.change(site)
	c := testCriteria()
	change(&c.Limits)
	return constraint.NewLaw(ground, site, 0, c.Limits), site, Water{Runoff: func(orb.Point) (float64, float64) { return 50, 17.5 }}, c
}

// Of ten lots that cannot be drained: what is missing, and each limit that
// would do. Put into the criteria it does, and one step less does not.
func TestRemediesWork(t *testing.T) {
	for k := range shortLots {
		s := &shortLots[k]
		law, site, water, c := s.pose(func(*constraint.Limits) {})
		r, err := Lot(context.Background(), law, site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		if r.Status != Infeasible {
			t.Errorf("%s: is feasible: %s", s.name, r.Verdict)
			continue
		}
		tried := 0
		for _, in := range r.Inflows {
			if in.Status == Served {
				continue
			}
			t.Logf("%-25s %s: %.0f mm missing %s", s.name, in.ID, 1000*in.ShortBy, in.Sealed)
			for _, x := range in.Remedies {
				t.Logf("%-25s   %s", "", x.Says)
				tried += s.try(t, in, x)
			}
			break // the others stand alike
		}
		if tried == 0 {
			t.Errorf("%s: no remedy to try", s.name)
		}
	}
}

// try puts a remedy in, and one step less; it returns how many it tried.
func (s *shortLot) try(t *testing.T, in Inflow, x Remedy) int {
	t.Helper()
	for _, v := range levers {
		if v.rule != x.Rule {
			continue
		}
		step := math.Copysign(v.step, x.Now-x.Needed)
		if !s.able(t, in.ID, func(l *constraint.Limits) { *v.value(l) = x.Needed }) {
			t.Errorf("%s, %s: %s of %g does not serve it", s.name, in.ID, x.Rule, x.Needed)
		}
		if s.able(t, in.ID, func(l *constraint.Limits) { *v.value(l) = x.Needed + step }) {
			t.Errorf("%s, %s: %s of %g already serves it, %g was asked", s.name, in.ID, x.Rule, x.Needed+step, x.Needed)
		}
		return 1
	}
	return 0
}

// able asks for an inflow's own verdict.
func (s *shortLot) able(t *testing.T, id string, change func(*constraint.Limits)) bool {
	t.Helper()
	law, site, water, c := s.pose(change)
	d := &job{law: law, site: site, criteria: c, water: water}
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

// An eased limit serves the whole design, and so does an emitter where one is
// named.
func TestRemedyDesigned(t *testing.T) {
	s := &shortLots[0]
	law, site, water, c := s.pose(func(*constraint.Limits) {})
	r, err := Lot(context.Background(), law, site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	easy, emitter := 0, 0
	for _, x := range r.Inflows[0].Remedies {
		for _, v := range levers {
			if v.rule != x.Rule {
				continue
			}
			eased, site, water, c := s.pose(func(l *constraint.Limits) { *v.value(l) = x.Needed })
			r, err := Lot(context.Background(), eased, site, water, c)
			if err != nil || r.Inflows[0].Status != Served {
				t.Errorf("%s of %g: %v %v", x.Rule, x.Needed, r.Verdict, err)
			}
			easy++
		}
		if x.Rule == "outlet.type" {
			emitter++
			d := &job{law: law, site: site, criteria: c, water: water}
			d.in = r.Inflows
			d.out, _ = d.discharges()
			for _, in := range d.in {
				d.exits = append(d.exits, d.law.ExitAt(in.At, in.Roof))
			}
			at, ok := d.emitterPlace(0, d.trialOf(map[float64]*search.Arcs{}).swept(coarse))
			if !ok || !strings.Contains(x.Says, compass(r.Inflows[0].At, at)) {
				t.Errorf("%q, at %v", x.Says, at)
			}
			site.Outlets = []constraint.Outlet{{ID: "o", At: at, Type: constraint.Emitter, Invert: math.NaN()}}
			r, err := Lot(context.Background(), law, site, water, c)
			if err != nil || r.Inflows[0].Status != Served {
				t.Errorf("an emitter at %v: %v %v", at, r.Verdict, err)
			}
		}
	}
	if easy == 0 || emitter != 1 {
		t.Errorf("%d limits and %d emitters named", easy, emitter)
	}
}
