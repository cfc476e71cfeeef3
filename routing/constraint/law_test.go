package constraint

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// testLimits are round numbers; their meaning is what is tested.
func testLimits() Limits {
	return Limits{
		SlopeMin: 0.01, CoverMin: 0.15, CoverMinWalk: 0.2, CoverMinDriveway: 0.3, DepthMax: 1.1,
		OutletCover: 0.025, OutletZone: 7.5, OutletAboveGutter: 0.0125, CurbHeight: 0.15, CurbRaiseWidth: math.NaN(),
		DaylightZone: 3, RoofSetback: 0.6, LotLineSetback: 0.3, FrontageMargin: 1.5, CurbClearanceDriveway: 0.9,
		WallStrip: 1.5, WallStripRule: Price, RootZoneFactor: 12, RootZoneRadiusFloor: 1.8, RootZoneRule: Price,
		RootPlateFactor: 5, UtilityClearance: 0.3, StreetSideStep: 0.05, WalkFactor: 1.5, DrivewayFactor: 2, RootZonePrice: 1.4, WallStripFactor: 1.2,
	}
}

var testBore = Bore{
	Nominal: "4 in",
	Lawn:    Size{Inside: 0.101, Outside: 0.107},
	Hard:    Size{Inside: 0.102, Outside: 0.114},
	Outlet:  Size{Inside: 0.102, Outside: 0.114},
}

// testSite is a lot of 20 x 30 m with its street to the south: curb at y = -3.
func testSite() *Site {
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
	}
	nan := math.NaN()
	return &Site{
		Lots:      []Lot{{"lot", rect(0, 0, 20, 30)}},
		Roofs:     []Roof{{ID: "roof", Outline: rect(5, 12, 15, 20), RunoffCoeff: nan, FinishedFloor: nan}},
		Curbs:     []Curb{{ID: "curb", Line: orb.LineString{{-10, -3}, {30, -3}}, Type: VerticalCurb, Height: nan}},
		Paved:     []Paved{{ID: "drive", Kind: Driveway, Area: rect(15.5, -3, 19, 12), CoverMin: nan}, {ID: "walk", Kind: Walk, Area: rect(0, -2, 20, -1), CoverMin: nan}},
		Trees:     []Tree{{ID: "tree", At: orb.Point{4, 6}, TrunkDiameter: 0.2}},
		Utilities: []Utility{{ID: "gas", Line: orb.LineString{{0, 3}, {20, 3}}, Top: nan, Depth: 0.7, OutsideDiameter: 0.05, Clearance: 0.1}},
		KeepOuts:  []KeepOut{{"shed", rect(1, 24, 4, 28)}},
	}
}

// testGround slopes up from the street with a street cross-fall and waves, at
// cells of 0.5 m.
func testGround() *grid.Grid {
	g := grid.New(grid.NewFrame(-12, 34, 0.5, 0.5), 93, 93)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := g.ToSite(float64(c), float64(r))
		z := 10 + 0.04*(y+3) + 0.05*math.Sin(x*1.3)*math.Cos(y*0.9)
		if y < -3 {
			z = 9.85 + 0.02*(-3-y)
		}
		g.Z[i] = float32(z)
	}
	return g
}

// bruteCeiling is the ceiling at a point by the law's words, for a common pipe.
func bruteCeiling(w *Law, p orb.Point) float64 {
	z := w.Ground.Ground(p[0], p[1])
	cover, size := w.Limits.CoverMin, testBore.Lawn
	paved := false
	for _, v := range w.site.Paved {
		if solidShape(v.Area, 0).distance(p) > 0 {
			continue
		}
		c := w.Limits.CoverMinWalk
		if v.Kind == Driveway {
			c = w.Limits.CoverMinDriveway
		}
		if !paved || c > cover {
			cover = c
		}
		paved, size = true, testBore.Hard
	}
	return z - cover - size.Rise()
}

// onALine is what the ground may differ by beside a line of cell centres, m.
const onALine = 1e-6

// Between stations the corridor never admits what the law forbids at a point,
// and gives away no more than the sag tolerance.
func TestLineAgreesWithPoints(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	line := w.Interior(testBore)
	rng := rand.New(rand.NewPCG(3, 4))
	kept := 0
	for range 4000 {
		a := orb.Point{rng.Float64() * 20, rng.Float64()*33 - 3}
		angle, l := rng.Float64()*2*math.Pi, rng.Float64()*6
		b := orb.Point{a[0] + l*math.Cos(angle), a[1] + l*math.Sin(angle)}
		st, priced, ok := line(nil, a, b)
		if !ok {
			continue
		}
		kept++
		length := planar.Distance(a, b)
		if priced < length-1e-9 || math.Abs(st[0].S) > 0 || math.Abs(st[len(st)-1].S-length) > 1e-9 {
			t.Fatalf("priced %v, stations %v..%v of %v m", priced, st[0].S, st[len(st)-1].S, length)
		}
		for k := 1; k < len(st); k++ {
			s, e := st[k-1], st[k]
			if e.S-s.S < 1e-6 {
				continue
			}
			for _, f := range []float64{0.001, 0.25, 0.5, 0.75, 0.999} {
				x := s.S + f*(e.S-s.S)
				want := bruteCeiling(w, along(a, b, x/length))
				got := s.Ceiling + f*(e.Ceiling-s.Ceiling)
				if got > want+onALine || got < want-5*sagTolerance {
					t.Fatalf("line %v-%v at %.3f: ceiling %.6f, by points %.6f", a, b, x, got, want)
				}
				floor := s.Floor + f*(e.Floor-s.Floor)
				if z := w.Ground.Ground(along(a, b, x/length)[0], along(a, b, x/length)[1]); floor < z-w.Limits.DepthMax-onALine {
					t.Fatalf("floor %.6f below %.6f", floor, z-w.Limits.DepthMax)
				}
			}
		}
	}
	if kept < 500 {
		t.Fatalf("only %d lines were clear: the test has lost its grip", kept)
	}
}

func TestLineRefuses(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	line := w.Interior(testBore)
	for name, l := range map[string][2]orb.Point{
		"through the roof's setback": {{2, 11.5}, {10, 11.5}},
		"through the keep-out":       {{0.5, 26}, {6, 26}},
		"through the root plate":     {{2, 6}, {6, 6.5}},
		"over the side lot line":     {{1, 10}, {-1, 10}},
		"along the rear lot line":    {{6, 29.8}, {9, 29.8}},
		"past the curb":              {{10, -2.5}, {10, -3.5}},
		"beside the lot's frontage":  {{1, -1}, {-1, -2}},
	} {
		if _, _, ok := line(nil, l[0], l[1]); ok {
			t.Errorf("%s: admitted", name)
		}
	}
	for name, l := range map[string][2]orb.Point{
		"over the front lot line":    {{10, 1}, {10, -2}},
		"along the setback's edge":   {{4, 11.4}, {16, 11.4}},
		"in the frontage by its end": {{0.1, -1}, {0.1, -2}},
	} {
		if _, _, ok := line(nil, l[0], l[1]); !ok {
			t.Errorf("%s: refused", name)
		}
	}
}

func TestExit(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	x := w.ExitAt(orb.Point{5, 16}, "roof")
	if math.Abs(x.Length-(0.6+ExitBeyond)) > 1e-3 {
		t.Fatalf("exit %v, want setback + %v", x.Length, ExitBeyond)
	}
	leave := w.Leave(testBore, x)
	if _, _, ok := leave(nil, orb.Point{5, 16}, orb.Point{3, 16}); !ok {
		t.Error("the straight way out is refused")
	}
	if _, _, ok := leave(nil, orb.Point{5, 16}, orb.Point{4.9, 12}); ok {
		t.Error("a way along the wall is admitted")
	}
	if _, _, ok := leave(nil, orb.Point{5, 16}, orb.Point{7, 16}); ok {
		t.Error("a way under the roof is admitted")
	}
	if x := w.ExitAt(orb.Point{10, 5}, ""); x.Length != 0 {
		t.Errorf("a point on open lawn has an exit: %v", x)
	}
}

func TestOutletPipe(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	points, why := w.CurbPoints(0.25)
	if len(points) == 0 {
		t.Fatal(why)
	}
	for _, p := range points {
		if p.At[0] < 1.5-1e-9 || p.At[0] > 15.5-0.9+1e-9 && p.At[0] < 19.9-1e-9 {
			t.Errorf("outlet at %v: outside the frontage's margin or by the driveway", p.At)
		}
		// The gutter is the lowest ground between 0.3 and 1.0 m on the street side.
		low := math.Inf(1)
		for d := 0.3; d <= 1.0001; d += 0.01 {
			low = math.Min(low, w.Ground.Ground(p.At[0], p.At[1]-d))
		}
		if math.Abs(low-p.Gutter) > 1e-4 {
			t.Errorf("gutter %v, sampled %v", p.Gutter, low)
		}
	}
	p := points[len(points)/2]
	enter := w.EnterCurb(testBore.Outlet, p)
	square := func(angle, l float64) bool {
		_, _, ok := enter(nil, orb.Point{p.At[0] + l*math.Sin(angle), p.At[1] + l*math.Cos(angle)}, p.At)
		return ok
	}
	if !square(0, 7.4) || !square(math.Pi/6-0.001, 3) || square(0, 7.6) || square(math.Pi/6+0.001, 3) {
		t.Error("outlet pipe: longest 7.5 m, within 30 degrees of square")
	}
	st, _, ok := enter(nil, orb.Point{p.At[0], p.At[1] + 4}, p.At)
	last := st[len(st)-1]
	ground := math.Max(w.Ground.Ground(p.At[0], p.At[1]), p.Gutter+0.15)
	if want := ground - 0.025 - testBore.Outlet.Rise(); !ok || math.Abs(last.Ceiling-want) > 1e-3 {
		t.Errorf("at the curb the ceiling is %.4f, the higher of ground and top of curb less cover and pipe %.4f", last.Ceiling, want)
	}
}

// No station of a pipe lies outside the span of its place, and some lie at the
// end of it.
func TestSpan(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	line := w.Interior(testBore)
	rng := rand.New(rand.NewPCG(17, 19))
	const rounding = 1e-9
	open, high, low := 0, 0, 0
	for range 3000 {
		a := orb.Point{20 * rng.Float64(), -3 + 33*rng.Float64()}
		b := orb.Point{a[0] + rng.NormFloat64(), a[1] + rng.NormFloat64()}
		st, _, ok := line(nil, a, b)
		if !ok {
			continue
		}
		open++
		for _, s := range st {
			least, most := w.Span(testBore, along(a, b, s.S/planar.Distance(a, b)))
			if s.Ceiling > most+rounding || s.Floor < least-rounding {
				t.Fatalf("%v to %v at %v: %v to %v passes the span of %v to %v", a, b, s.S, s.Floor, s.Ceiling, least, most)
			}
			if s.Ceiling > most-rounding {
				high++
			}
			if s.Floor < least+rounding {
				low++
			}
		}
	}
	if open < 500 || high == 0 || low == 0 {
		t.Errorf("%d lines open, %d stations at the top of the span, %d at the bottom", open, high, low)
	}
}

// A pipe laid to its cover is not called short of it for what laying leaves.
func TestShortCover(t *testing.T) {
	w := NewLaw(testGround(), testSite(), 0, testLimits())
	w.Limits.CoverPreferred = 2 * w.Limits.CoverMin
	p := Laid{From: orb.Point{10, 8}, To: orb.Point{10, 6}, Size: testBore.Lawn}
	deep := w.Section(p).CoverMin // at inverts of 0
	for lacking, short := range map[float64]bool{-0.001: false, 0.0003: false, 0.001: true} {
		p.InvertUp = deep - w.Limits.CoverMin + lacking
		p.InvertDown = p.InvertUp
		s := w.Section(p)
		if len(s.Shallow) != 1 || s.Shallow[0].Short != short {
			t.Errorf("%.4f m less cover than asked: %+v, want short %v", lacking, s.Shallow, short)
		}
	}
}
