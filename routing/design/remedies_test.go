package design

import (
	"context"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// shortLot is a lot that cannot be drained as it is: the test lot rising behind
// its curb at a slope, with ground heaped on it or dug off, and more drawn.
type shortLot struct {
	name   string
	rise   float64
	heap   func(x, y float64) float64 // m; nil: none
	change func(*constraint.Site)
	ruled  func(*Criteria) // nil: as they are
}

// across is a strip over the whole lot and beyond.
func across(south, north float64) orb.Polygon { return rectangle(-5, south, 25, north) }

var shortLots = []shortLot{
	{"a little too flat", 0.0215, nil, func(*constraint.Site) {}, nil},
	{"a driveway across", 0.026, nil, func(s *constraint.Site) {
		s.Paved = append(s.Paved, constraint.Paved{ID: "drive", Kind: constraint.Driveway, Area: across(4, 7), Thickness: math.NaN(), CoverMin: math.NaN()})
	}, nil},
	{"a shallow main across", 0.03, nil, func(s *constraint.Site) {
		s.Utilities = []constraint.Utility{{ID: "main", Line: orb.LineString{{-5, 6}, {25, 6}}, Top: math.NaN(), Depth: 0.5, OutsideDiameter: 0.05, Clearance: math.NaN()}}
	}, nil},
	{"a swale across", 0.03, func(_, y float64) float64 { return -0.12 * math.Max(0, 1-math.Abs(y-6)/2) }, func(*constraint.Site) {}, nil},
	{"a bank across", 0.04, func(_, y float64) float64 { return 1.1 * math.Max(0, 1-math.Abs(y-8)/1.5) }, func(*constraint.Site) {}, nil},
	{"a row of trees", 0.05, nil, func(s *constraint.Site) {
		for x := 0.5; x < 20; x += 2 {
			s.Trees = append(s.Trees, constraint.Tree{ID: "tree", At: orb.Point{x, 6}, TrunkDiameter: 0.25})
		}
	}, nil},
	{"a house from side to side", 0.05, nil, func(s *constraint.Site) {
		s.Roofs[0].Outline = rectangle(0.8, 12, 19.2, 20)
		s.Downspouts = []constraint.Downspout{{ID: "back", At: orb.Point{10, 20}, Roof: "roof", Share: math.NaN()}}
	}, nil},
	{"a low back yard", 0.03, func(_, y float64) float64 { return -0.5 * math.Max(0, math.Min(1, (y-22)/4)) }, func(s *constraint.Site) {
		s.Inlets = []constraint.Inlet{{ID: "yard", At: orb.Point{10, 27}, Rim: math.NaN()}}
	}, nil},
	{"a rim dug down", 0.03, nil, func(s *constraint.Site) { rimGiven(0.4)(nil, s) }, nil},
	{"a channel dug down", 0.03, nil, func(s *constraint.Site) {
		s.Roofs, s.Downspouts = nil, nil
		s.ChannelDrains = []constraint.ChannelDrain{{ID: "drive", Line: orb.LineString{{8, 12}, {12, 12}}, Rim: 10 + 0.03*15 - 0.4}}
	}, nil},
	{"a little too flat for a wide main", 0.0245, nil, func(*constraint.Site) {}, func(c *Criteria) {
		c.Catalogue.Bores = append([]constraint.Bore{testBore3()}, c.Catalogue.Bores...)
	}},
	{"the low end of the curb by the lot line", 0.0215, nil, func(s *constraint.Site) {
		s.Curbs[0].Gutter = []float64{9.6, 10.1}
		s.Roofs[0].Outline = rectangle(2, 12, 8, 20)
		s.Downspouts = []constraint.Downspout{{ID: "front", At: orb.Point{2, 12}, Roof: "roof", Share: nan}}
	}, func(c *Criteria) { c.Limits.FrontageMargin = 8 }},
	{"the low end of the curb by a driveway", 0.026, nil, func(s *constraint.Site) {
		s.Curbs[0].Gutter = []float64{9.6, 10.1}
		s.Paved = append(s.Paved, constraint.Paved{ID: "drive", Kind: constraint.Driveway, Area: rectangle(4, -3, 7, -1), CoverMin: nan})
	}, func(c *Criteria) { c.Limits.CurbClearanceDriveway = 5 }},
	{"an outlet drawn at the high end", 0.026, nil, func(s *constraint.Site) {
		s.Curbs[0].Gutter = []float64{9.6, 10.1}
		s.Outlets = []constraint.Outlet{{ID: "o", At: orb.Point{16, -3}, Type: constraint.CurbFace, Invert: nan}}
	}, nil},
	{"ground that falls from the curb", -0.03, func(_, y float64) float64 { return -0.12 * math.Max(0, y-20) }, func(s *constraint.Site) {
		s.Downspouts = []constraint.Downspout{{ID: "back", At: orb.Point{10, 20}, Roof: "roof", Share: nan}}
	}, func(c *Criteria) { c.Limits.EmitterSetbackLotLine = 1 }},
	{"a curb with the street on the lot's side", 0.05, nil, func(s *constraint.Site) { s.Curbs[0].StreetSide = constraint.Left }, nil},
	{"a rolled curb", 0.03, nil, func(s *constraint.Site) { s.Curbs[0].Type = constraint.RolledCurb }, nil},
}

// testBore3 is a pipe of 3 in.
func testBore3() constraint.Bore {
	const in = 0.0254
	x := constraint.Size{Family: "pvc_sch40", Material: "Schedule 40", Nominal: "3 in", Diameter: 3 * in, Inside: 3.068 * in, Outside: 3.5 * in, Roughness: 0.012}
	return constraint.Bore{Nominal: "3 in", Diameter: 3 * in, Lawn: x, Hard: x, Outlet: x}
}

// pose returns the lot under changed limits, ready to be asked.
func (s *shortLot) pose(change func(*Criteria)) (*constraint.Law, *constraint.Site, Water, Criteria) {
	ground, site := testLot(s.rise)
	if s.heap != nil {
		for i := range ground.Z {
			col, row := ground.Cell(i)
			x, y := ground.ToSite(float64(col), float64(row))
			ground.Z[i] += float32(s.heap(x, y))
		}
	}
	site.Downspouts = []constraint.Downspout{{ID: "front", At: orb.Point{5, 12}, Roof: "roof", Share: nan}}
	s.change(site)
	c := testCriteria()
	if s.ruled != nil {
		s.ruled(&c)
	}
	change(&c)
	return constraint.NewLaw(ground, site, 0, c.Limits), site, Water{
		Runoff:     func(orb.Point) (float64, float64) { return 50, 17.5 },
		Intercepts: func(orb.LineString) (float64, float64) { return 50, 17.5 },
	}, c
}

// Of lots that cannot be drained: what is missing, and each change that would do.
// Put in it does, and where it comes in steps one less does not.
func TestRemediesWork(t *testing.T) {
	found := map[string]int{}
	for k := range shortLots {
		s := &shortLots[k]
		law, site, water, c := s.pose(func(*Criteria) {})
		r, err := Lot(context.Background(), law, site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		if r.Status != Infeasible {
			t.Errorf("%s: is feasible: %s", s.name, r.Verdict)
			continue
		}
		tried := 0
		if b := r.Inflows[0].Binding; b != nil && (b.Rule == constraint.RuleRoofSetback && b.Value != 0.42 || b.Rule == constraint.RuleRootPlate && b.Limit != c.Limits.RootPlateFactor) {
			t.Errorf("%s: %s of %g, %g asked", s.name, b.Rule, b.Value, b.Limit)
		}
		for _, in := range r.Inflows {
			if in.Status == Served {
				continue
			}
			t.Logf("%-25s %s: %.0f mm missing %s", s.name, in.ID, 1000*in.ShortBy, in.Sealed)
			for _, x := range in.Remedies {
				t.Logf("%-25s   %s", "", x.Says)
				n := s.try(t, in, x)
				tried, found[x.Rule] = tried+n, found[x.Rule]+n
			}
			break // the others stand alike
		}
		if tried == 0 {
			t.Errorf("%s: no remedy to try", s.name)
		}
	}
	for _, v := range levers {
		if found[v.rule] == 0 && v.rule != "limits.cover_min_walk" && v.rule != "limits.outlet_above_gutter" && v.rule != "limits.outlet_cover" {
			t.Errorf("no lot asks for %s", v.rule)
		}
	}
	for _, rule := range []string{"outlet.at", "outlet.type", "curb.street_side", "pump", RuleOutletInvert} {
		if found[rule] == 0 {
			t.Errorf("no lot asks for %s", rule)
		}
	}
}

// An inflow that misses by less than is told is not told to miss nothing, nor to
// want an outlet lower by nothing.
func TestMissesByLittle(t *testing.T) {
	s := &shortLots[0]
	law, site, water, c := s.pose(func(*Criteria) {})
	r, err := Lot(t.Context(), law, site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	const little = 0.0003
	lower := r.Inflows[0].ShortBy - little
	law, site, water, c = s.pose(func(c *Criteria) { c.Limits.OutletAboveGutter -= lower })
	if r, err = Lot(t.Context(), law, site, water, c); err != nil {
		t.Fatal(err)
	}
	in := r.Inflows[0]
	if math.Abs(in.ShortBy-little) > 1e-6 || !strings.Contains(r.Verdict, "is short of fall by less than 0.001 m.") {
		t.Errorf("%.6f m missing: %s", in.ShortBy, r.Verdict)
	}
	for _, x := range in.Remedies {
		if x.Rule == RuleOutletInvert && !strings.HasPrefix(x.Says, "an outlet at least 0.001 m lower") {
			t.Error(x.Says)
		}
	}
}

// put is the lot with a remedy of an inflow put in at a value; nil where that is
// nothing of site and criteria.
func (s *shortLot) put(id string, x Remedy, value float64) *shortLot {
	changed := *s
	site := func(change func(*constraint.Site)) *shortLot {
		changed.change = func(x *constraint.Site) { s.change(x); change(x) }
		return &changed
	}
	switch x.Rule {
	case "outlet.type", "outlet.at":
		return site(func(to *constraint.Site) {
			to.Outlets = []constraint.Outlet{{ID: "new", At: *x.At, Type: x.Type, Invert: nan}}
		})
	case "curb.street_side":
		return site(func(x *constraint.Site) { x.Curbs[0].StreetSide = constraint.Right })
	case RuleOutletInvert:
		above := s.limits().OutletAboveGutter
		return site(func(x *constraint.Site) { x.Curbs[0].Gutter = []float64{value - above} })
	case RuleRim:
		return site(withRim(id, value))
	}
	for _, v := range levers {
		if v.rule == x.Rule {
			changed.ruled = func(c *Criteria) {
				if s.ruled != nil {
					s.ruled(c)
				}
				*v.value(c, &Inflow{}) = value
			}
			return &changed
		}
	}
	return nil
}

// try puts a remedy in, and one step less; it returns how many it tried.
func (s *shortLot) try(t *testing.T, in Inflow, x Remedy) int {
	t.Helper()
	does := func(value float64) bool { return s.put(in.ID, x, value).able(t, in.ID) }
	enough, step := x.Needed, 0.0 // and no step where places are tried
	switch x.Rule {
	case "pump":
		return s.lifts(t, in, x)
	case RuleOutletInvert:
		enough, step = x.Needed-0.0005, nearMiss // half a millimetre
	default:
		for _, v := range levers {
			if v.rule != x.Rule {
				continue
			}
			if step = math.Copysign(v.step, x.Now-x.Needed); v.step == 0 {
				step = x.Now - x.Needed
			}
			if said := asSaid(t, x); !does(said) {
				t.Errorf("%s, %s: %q, put in as said, does not serve it", s.name, in.ID, x.Says)
			}
		}
	}
	if !does(enough) {
		t.Errorf("%s, %s: %s of %g does not serve it", s.name, in.ID, x.Rule, x.Needed)
	}
	if step != 0 && does(x.Needed+step) {
		t.Errorf("%s, %s: %s of %g already serves it, %g was asked", s.name, in.ID, x.Rule, x.Needed+step, x.Needed)
	}
	return 1
}

// figureAsked is what a remedy's sentence asks for.
var figureAsked = regexp.MustCompile(`(?:at least|at most) (\d+\.\d+)( %)?`)

// asSaid is what a remedy's sentence asks for, SI; where that is no number, what the
// remedy does.
func asSaid(t *testing.T, x Remedy) float64 {
	t.Helper()
	m := figureAsked.FindStringSubmatch(x.Says)
	if m == nil {
		if x.Rule != "pipes.size_min_main" {
			t.Errorf("%q asks for nothing", x.Says)
		}
		return x.Needed
	}
	said, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	if m[2] != "" {
		said /= 100
	}
	return said
}

// lifts tells whether a pump lifts what its inflow brings from its sump's bottom to
// where gravity lacks height, the trench no deeper than it may be.
func (s *shortLot) lifts(t *testing.T, in Inflow, x Remedy) int {
	t.Helper()
	limits, b := s.limits(), in.Binding
	away := distance(*x.At, *x.Outlet) // of the sump, straight
	want := b.Lower.Needed - b.Lower.Invert - limits.SlopeMin*(away-b.Lower.Station) + limits.SumpDepth
	if b.Rule == ruleDepth {
		away = distance(*x.At, b.Lower.At)
		want = b.Lower.Needed - b.Lower.Invert - limits.SlopeMin*away + limits.SumpDepth
	}
	const bends = 0.002 // m, of fall: the way to the sump is not quite straight
	if x.Needed != in.Flow || math.Abs(x.Lift-want) > bends {
		t.Errorf("%s, %s: a pump for %g m3/s lifts it %.4f m, it comes %.4f m too low to its sump", s.name, in.ID, x.Needed, x.Lift, want)
	}
	return 1
}

// withRim gives an inflow's rim.
func withRim(id string, rim float64) func(*constraint.Site) {
	return func(s *constraint.Site) {
		for k := range s.Inlets {
			if s.Inlets[k].ID == id {
				s.Inlets[k].Rim = rim
			}
		}
		for k := range s.ChannelDrains {
			if s.ChannelDrains[k].ID == id {
				s.ChannelDrains[k].Rim = rim
			}
		}
	}
}

func (s *shortLot) limits() constraint.Limits {
	_, _, _, c := s.pose(func(*Criteria) {})
	return c.Limits
}

// able asks for an inflow's own verdict.
func (s *shortLot) able(t *testing.T, id string) bool {
	t.Helper()
	law, site, water, c := s.pose(func(*Criteria) {})
	d := &job{law: law, site: site, criteria: c, water: water}
	d.in = d.inflows()
	if d.out, _ = d.discharges(); len(d.out) == 0 {
		return false
	}
	for _, in := range d.in {
		d.exits = append(d.exits, d.exitOf(&in))
	}
	list, err := d.verdicts(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, in := range d.in {
		if in.ID == id {
			return list[i].able()
		}
	}
	t.Fatalf("%s is gone", id)
	return false
}

// An eased limit serves the whole design, and so does an emitter where one is
// named.
func TestRemedyDesigned(t *testing.T) {
	s := &shortLots[0]
	law, site, water, c := s.pose(func(*Criteria) {})
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
			eased, site, water, c := s.pose(func(c *Criteria) { *v.value(c, &Inflow{}) = x.Needed })
			r, err := Lot(context.Background(), eased, site, water, c)
			if err != nil || r.Inflows[0].Status != Served {
				t.Errorf("%s of %g: %v %v", x.Rule, x.Needed, r.Verdict, err)
			}
			easy++
		}
		if x.Rule == "outlet.type" {
			emitter++
			at := *x.At
			if !strings.Contains(x.Says, compass(r.Inflows[0].At, at)) {
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
