package design

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

func rectangle(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

func testCriteria() Criteria {
	in := 0.0254
	size := func(family, material, nominal string, od, id, d float64) constraint.Size {
		return constraint.Size{Family: family, Material: material, Nominal: nominal, Diameter: d * in, Inside: id * in, Outside: od * in, Roughness: 0.012}
	}
	bore := func(nominal string, d float64, lawn, hard constraint.Size) constraint.Bore {
		return constraint.Bore{Nominal: nominal, Diameter: d * in, Lawn: lawn, Hard: hard, Outlet: hard}
	}
	s4, h4 := size("pvc_sdr35", "SDR 35", "4 in", 4.215, 3.975, 4), size("pvc_sch40", "Schedule 40", "4 in", 4.5, 4.026, 4)
	s6, h6 := size("pvc_sdr35", "SDR 35", "6 in", 6.275, 5.915, 6), size("pvc_sch40", "Schedule 40", "6 in", 6.625, 6.065, 6)
	return Criteria{
		Limits: constraint.Limits{
			SlopeMin: 0.01, SlopeMinLarge: 0.005, CoverMin: 6 * in, CoverMinWalk: 6 * in, CoverMinDriveway: 12 * in, CoverPreferred: 12 * in, DepthMax: 42 * in,
			OutletCover: in, OutletZone: 7.62, OutletAboveGutter: in / 2, OutletSizeMax: 4 * in, OutletsMax: 2, BendMax: math.Pi / 4, CurbHeight: 6 * in, CurbRaiseWidth: math.NaN(),
			DaylightZone: 3, RoofSetback: 0.61, LotLineSetback: 0.305, FrontageMargin: 1.524, CurbClearanceDriveway: 0.914,
			WallStrip: 1.524, WallStripRule: constraint.Price, RootZoneFactor: 12, RootZoneRadiusFloor: 1.83, RootZoneRule: constraint.Price,
			RootPlateFactor: 5, UtilityClearance: 0.305, WalkFactor: 1.5, DrivewayFactor: 2, RootZonePrice: 1.5, WallStripFactor: 1.2,
			VelocityMin: 0.6, VelocityMax: 3, OutletVelocityMax: 1.8, DepthRatioMax: 0.8, DownspoutRoofArea: 74, DownspoutSnap: 0.9,
			InletDepth: 0.076, InletContributingArea: 46, EmitterRiseMax: 14 * in, EmitterSetbackBuilding: 3.048, EmitterSetbackLotLine: 3.048, EmitterSetbackStreet: 3.048, CleanoutSpacing: 15.24, SumpDepth: 6 * in,
		},
		Catalogue: constraint.Catalogue{Bores: []constraint.Bore{bore("4 in", 4, s4, h4), bore("6 in", 6, s6, h6)}, MainMin: 4 * in},
		Storm:     Storm{Intensity: 4 * in / 3600, Lawn: 0.35, Roof: 0.95, Walk: 0.9, Driveway: 0.9, Patio: 0.85},
		Outlet:    constraint.CurbFace, InvertStep: 0.001,
	}
}

// testLot is a lot of 20 x 30 m over a street to the south that rises at the
// given slope from the top of curb, at cells of 0.25 m.
func testLot(rise float64) (*grid.Grid, *constraint.Site) {
	g := grid.New(grid.NewFrame(-12, 34, 0.25, 0.25), 180, 180)
	for i := range g.Z {
		c, r := g.Cell(i)
		_, y := g.ToSite(float64(c), float64(r))
		z := 10 + rise*(y+3)
		if y < -3 {
			z = 9.8476 + 0.02*(-3-y)
		}
		g.Z[i] = float32(z)
	}
	nan := math.NaN()
	return g, &constraint.Site{
		Lots:  []constraint.Lot{{ID: "lot", Area: rectangle(0, 0, 20, 30)}},
		Roofs: []constraint.Roof{{ID: "roof", Outline: rectangle(5, 12, 15, 20), RunoffCoeff: nan, FinishedFloor: nan}},
		Curbs: []constraint.Curb{{ID: "curb", Line: orb.LineString{{-10, -3}, {30, -3}}, Type: constraint.VerticalCurb, Height: nan}},
		Paved: []constraint.Paved{{ID: "walk", Kind: constraint.Walk, Area: rectangle(-5, -2, 25, -1), CoverMin: nan}},
	}
}

func designTestLot(t *testing.T, rise float64) *Result {
	t.Helper()
	ground, site := testLot(rise)
	c := testCriteria()
	law := constraint.NewLaw(ground, site, 0, c.Limits)
	water := Water{Runoff: func(orb.Point) (float64, float64) { return 0, 0 }}
	r, err := Lot(context.Background(), law, site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestLotFeasible(t *testing.T) {
	r := designTestLot(t, 0.05)
	t.Log(r.Verdict)
	for _, n := range r.Network.Nodes {
		t.Logf("%-10s %-12s (%.2f %.2f) inv %.3f depth %.3f sta %.2f", n.ID, n.Kind, n.At[0], n.At[1], n.Invert, n.InvertDepth, n.Station)
	}
	for _, p := range r.Network.Pipes {
		t.Logf("%s %s %s %s len %.2f slope %.4f inv %.3f..%.3f cover %.3f depth %.3f q %.2f cap %.2f", p.ID, p.Role, p.Size.Nominal, p.Size.Material, p.Length, p.Slope(), p.InvertUp, p.InvertDown, p.CoverMin, p.DepthMax, p.Flow*1000, p.Capacity*1000)
	}
	t.Log(r.Notes, r.Assumed)
	if r.Status != Feasible {
		t.Fatal(r.Verdict)
	}
}

func TestLotInfeasible(t *testing.T) {
	r := designTestLot(t, 0.005)
	if r.Status != Infeasible {
		t.Fatal(r.Verdict)
	}
	for _, in := range r.Inflows {
		t.Log(in.ID, in.ShortBy, in.Sealed, in.Remedies)
	}
}
