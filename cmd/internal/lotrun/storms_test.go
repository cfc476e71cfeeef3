package lotrun

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/network"
	"curbfall/terrain/grid"
)

// flowTolerance is the share of a lot's flow that may be lost to rounding.
const flowTolerance = 1e-6

// yard is noisy ground falling east with a hollow, a lot on it, a house, and a
// design: an area drain in the hollow, one on the slope, a downspout.
func yard(rng *rand.Rand) (*water, *constraint.Site, design.Storm, *design.Result) {
	g := grid.New(grid.NewFrame(0.5, 39.5, 1, 1), 60, 40)
	for i := range g.Z {
		c, r := g.Cell(i)
		d := math.Hypot(float64(c)-35, float64(r)-22)
		g.Z[i] = float32(10 - 0.02*float64(c) + 0.01*rng.NormFloat64() - 0.4*math.Exp(-d*d/30))
	}
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
	}
	site := &constraint.Site{
		Lots:  []constraint.Lot{{ID: "a", Area: rect(12, 5, 47, 33)}},
		Roofs: []constraint.Roof{{ID: "house", Outline: rect(20, 20, 30, 30), RunoffCoeff: math.NaN(), FinishedFloor: math.NaN()}},
	}
	s := design.Storm{Intensity: 0.1 / 3600, Lawn: 0.35, Roof: 0.95, Walk: 0.9, Driveway: 0.9, Patio: 0.85}
	inflow := func(kind network.NodeKind, x, y, flow float64) design.Inflow {
		return design.Inflow{ID: fmt.Sprint(kind, x), Kind: kind, At: orb.Point{x, y}, Flow: flow, Status: design.Served}
	}
	d := &design.Result{Inflows: []design.Inflow{
		inflow(network.Inlet, 35.5, 17.5, 0.002), inflow(network.Inlet, 42.5, 10.5, 0.0001), inflow(network.Downspout, 30.5, 25.5, 100*0.95*s.Intensity),
	}}
	d.Inflows[2].Roof, d.Inflows[2].Area = "house", 100
	return standing(g, site), site, s, d
}

// What leaves a lot is what starts on it; with the drains in, less what they
// take: nothing else changes.
func TestBoundaryBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for range 30 {
		w, site, s, d := yard(rng)
		d.Leftover = 0.001 * float64(rng.IntN(2))
		r := w.rainOn(site, s, d)
		start, drains := 0.0, 0.0
		w.eachWithin(site.Lots[0].Area, func(i int) { start += r.sources(w, false)[i] })
		for _, f := range r.drains {
			drains += f.taken()
		}
		// By hand: 35 x 28 m of lot, of which 100 m2 are roof.
		if want := s.Intensity * (880*0.35 + 100*0.95); math.Abs(start-want) > flowTolerance*want {
			t.Fatalf("%v m3/s start on the lot, by hand %v", start, want)
		}
		before, after := 0.0, 0.0
		for _, side := range w.boundaryFlows(site, r, true) {
			before += side.Before
			after += side.After
		}
		piped := r.downspouts[0].taken()
		if math.Abs(before-start) > flowTolerance*start {
			t.Errorf("%v m3/s start on the lot, %v leave it", start, before)
		}
		if took := before - after - piped; took < 0 || took > drains+flowTolerance*start || d.Leftover == 0 && took < 0.0005 {
			t.Errorf("%v before, %v after: the drains took %v of at most %v", before, after, took, drains)
		}
	}
}

// The storm balances, the drain takes the hollow's water, and a drain that
// carries nothing changes nothing.
func TestStormWithDrains(t *testing.T) {
	w, site, s, d := yard(rand.New(rand.NewPCG(23, 24)))
	r := w.rainOn(site, s, d)
	before, err := w.asIs(r)
	if err != nil {
		t.Fatal(err)
	}
	after, err := w.withDrains(r)
	if err != nil {
		t.Fatal(err)
	}
	if before.Ponded < 1.2*after.Ponded || after.Drained[0] <= 0 {
		t.Errorf("%v m3 stand before, %v after, drains took %v", before.Ponded, after.Ponded, after.Drained)
	}
	for _, in := range []struct{ all, rest float64 }{
		{before.In, before.Ponded + before.Lost},
		{after.In, after.Ponded + after.Lost + after.Drained[0] + after.Drained[1]},
		{before.In - r.downspouts[0].taken()*stormDuration, after.In},
	} {
		if math.Abs(in.all-in.rest) > flowTolerance*in.all {
			t.Errorf("%v m3, of which %v are found again", in.all, in.rest)
		}
	}
	for k := range d.Inflows {
		d.Inflows[k].Status = design.Infeasible
	}
	clogged, err := w.withDrains(w.rainOn(site, s, d))
	if err != nil {
		t.Fatal(err)
	}
	for i := range clogged.Depth {
		if math.Abs(float64(clogged.Depth[i]-before.Depth[i])) > flowTolerance {
			t.Fatalf("cell %d stands %v deep with drains that carry nothing, %v without", i, clogged.Depth[i], before.Depth[i])
		}
	}
}

// Each low spot's overflow starts at its spill level and never climbs.
func TestOverflows(t *testing.T) {
	w, site, s, _ := yard(rand.New(rand.NewPCG(25, 26)))
	r, err := w.asIs(w.rainOn(site, s, nil))
	if err != nil {
		t.Fatal(err)
	}
	paths := w.overflows(r)
	if len(paths) == 0 {
		t.Fatal("no overflow path")
	}
	for _, p := range paths {
		last := p.SpillElevation
		for k, at := range p.Line {
			i, _ := w.cellAt(at)
			z := w.filled.Elevation(i)
			if k == 0 && w.surface.Elevation(i) != p.SpillElevation || z > last {
				t.Errorf("%s spills at %v; at point %d the way lies at %v", p.LowSpot, p.SpillElevation, k, z)
			}
			last = z
		}
	}
}

// With its drain clogged the hollow fills as it did before there was one; an
// opening is told from the level at which that spills, and one far off is not
// spoken of.
func TestClogged(t *testing.T) {
	w, site, s, d := yard(rand.New(rand.NewPCG(27, 28)))
	before, err := w.asIs(w.rainOn(site, s, nil))
	if err != nil {
		t.Fatal(err)
	}
	hollow, _ := w.cellAt(d.Inflows[0].At)
	spill := w.spots[w.at[hollow]].SpillElevation
	site.Openings = []constraint.Opening{
		{ID: "low", At: d.Inflows[0].At, Elevation: spill - 0.25, Height: math.NaN()},
		{ID: "high", At: d.Inflows[0].At, Elevation: spill + 0.125, Height: math.NaN()},
		{ID: "sill", At: d.Inflows[0].At, Elevation: math.NaN(), Height: 1 + spill - w.surface.Ground(35.5, 17.5)},
		{ID: "far", At: orb.Point{15, 30}, Elevation: spill - 1, Height: math.NaN()},
	}
	d.Inflows[2].Status = design.Infeasible // the roof's water comes down as before, at its downspout
	says, err := w.clogged(w.surface, site, s, d)
	if err != nil {
		t.Fatal(err)
	}
	if len(says) != 4 {
		t.Fatalf("%q", says)
	}
	stands := regexp.MustCompile(`water stands ([0-9.]+) m deep over it`).FindStringSubmatch(says[0])
	if stands == nil || !strings.Contains(says[0], fmt.Sprintf("spills at %.2f m", spill)) {
		t.Fatalf("%q", says[0])
	}
	if deep, _ := strconv.ParseFloat(stands[1], 64); deep < float64(before.Depth[hollow])-0.05 {
		t.Errorf("%v m deep with the drain clogged, %v m without one", deep, before.Depth[hollow])
	}
	for k, want := range []string{"opening low lies 0.25 m below", "opening high lies 0.12 m above", "opening sill lies 1.00 m above"} {
		if !strings.Contains(says[k+1], want) {
			t.Errorf("%q, want %q", says[k+1], want)
		}
	}
}
