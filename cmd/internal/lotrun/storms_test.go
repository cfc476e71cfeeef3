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

	"curbfall/io/criteria"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
	"curbfall/terrain/grid"
)

// flowTolerance is the share of a lot's flow that may be lost to rounding.
const flowTolerance = 1e-6

// hollowYard is noisy ground falling east with a hollow, a lot on it, a house,
// and a design: an area drain in the hollow, one on the slope, a downspout, each
// with a pipe of its own, so wide inside, that falls free at the lot's east end.
func hollowYard(rng *rand.Rand, inside float64) (*yard, *design.Result) {
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
	c := criteria.Default()
	c.Storm.Intensity = 0.1 / 3600
	d := &design.Result{Storm: c.Storm}
	inflow := func(kind network.NodeKind, x, y, flow float64) {
		ground := g.Ground(x, y)
		in := design.Inflow{ID: fmt.Sprint(kind, x), Kind: kind, At: orb.Point{x, y}, Flow: flow, Area: 50, Status: design.Served, Rim: math.NaN()}
		if kind == network.Inlet {
			in.Rim, in.Grate = ground, hydraulics.Grate{OpenArea: c.Grates.OpenArea, Perimeter: c.Grates.Perimeter, Clogged: c.Grates.Clogged}
		}
		d.Inflows = append(d.Inflows, in)
		n := &d.Network
		n.Nodes = append(n.Nodes,
			network.Node{ID: in.ID, Kind: kind, At: in.At, Ground: ground, Rim: in.Rim, Out: len(n.Pipes)},
			network.Node{ID: "out" + in.ID, Kind: network.OutletNode, At: orb.Point{47, y}, OutletType: constraint.StormInlet, Out: -1})
		n.Pipes = append(n.Pipes, network.Pipe{From: len(n.Nodes) - 2, To: len(n.Nodes) - 1, Length: 47 - x, Flow: flow,
			Size: constraint.Size{Inside: inside, Roughness: 0.012}, InvertUp: ground - 0.5, InvertDown: ground - 0.5 - 0.01*(47-x)})
	}
	c.Tailwater.StormInlet = math.Inf(-1)
	inflow(network.Inlet, 35.5, 17.5, 0.002)
	inflow(network.Inlet, 42.5, 10.5, 0.0001)
	inflow(network.Downspout, 30.5, 25.5, 100*0.95*c.Storm.Intensity)
	d.Inflows[2].Roof, d.Inflows[2].Area = "house", 100
	return &yard{water: standing(g, site), ground: g, site: site, criteria: c}, d
}

// pipes the tests' yards are drained by, m inside: one carries all, one is
// throttled by friction.
const (
	widePipe   = 0.2
	narrowPipe = 0.03
)

// rained is the design storm on a yard with its design's drains in.
func rained(t *testing.T, y *yard, d *design.Result) (*rain, *drainage, *downpour) {
	t.Helper()
	r := y.rainOn(y.site, y.criteria.Storm, d)
	drains := y.drain(y.site, y.criteria, d)
	p, err := drains.pour(r, len(d.Inflows))
	if err != nil {
		t.Fatal(err)
	}
	return r, drains, p
}

// What leaves a lot is what starts on it; with the drains in, less what they
// take: nothing else changes.
func TestBoundaryBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for k := range 30 {
		y, d := hollowYard(rng, []float64{widePipe, narrowPipe}[k%2])
		r, drains, _ := rained(t, y, d)
		taken, err := drains.steady(r, len(d.Inflows))
		if err != nil {
			t.Fatal(err)
		}
		if short := taken[0] < 0.9*d.Inflows[0].Flow; short != (k%2 == 1) {
			t.Fatalf("the drain takes %v of %v", taken[0], d.Inflows[0].Flow)
		}
		start := 0.0
		y.eachWithin(y.site.Lots[0].Area, func(i int) { start += r.sources()[i] })
		// By hand: 35 x 28 m of lot, of which 100 m2 are roof.
		if want := y.criteria.Storm.Intensity * (880*0.35 + 100*0.95); math.Abs(start-want) > flowTolerance*want {
			t.Fatalf("%v m3/s start on the lot, by hand %v", start, want)
		}
		before, after := 0.0, 0.0
		y.site.Lots = append(y.site.Lots, constraint.Lot{ID: "cut", Area: orb.Polygon{{{50, 5}, {80, 5}, {80, 33}, {50, 33}, {50, 5}}}})
		for _, side := range y.boundaryFlows(y.site, r, drains, taken) {
			if side.Lot == "cut" {
				t.Fatal("flow over the lines of a lot that reaches beyond the ground")
			}
			before += side.Before.Net
			after += side.After.Net
		}
		if math.Abs(before-start) > flowTolerance*start {
			t.Errorf("%v m3/s start on the lot, %v leave it", start, before)
		}
		// The drain in the hollow gets all it can take; that on the slope may not.
		least, most := taken[0]+taken[2], taken[0]+taken[1]+taken[2]
		if took := before - after; took < least-flowTolerance*start || took > most+flowTolerance*start {
			t.Errorf("%v before, %v after: the drains took %v, not %v to %v", before, after, took, least, most)
		}
	}
}

// The layers of a day: both storms, before and after, the harder one a fifth
// more water; without a design neither has an after. An outlet in the yard is
// said with where its water runs.
func TestWeather(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(31, 32)), widePipe)
	y.harder = []harderStorm{{"with 20 % more rain (storm.increase)", y.criteria.Storm.Times(1.2)}}
	last := &d.Network.Nodes[len(d.Network.Nodes)-1]
	last.OutletType = constraint.Daylight
	for _, design := range []*design.Result{nil, d} {
		first, err := y.storm(design, y.criteria.Storm)
		if err != nil {
			t.Fatal(err)
		}
		harder, err := y.storm(design, y.criteria.Storm.Times(1.2))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(harder.before.In-1.2*first.before.In) > flowTolerance*first.before.In || harder.before.Ponded <= first.before.Ponded {
			t.Errorf("%v m3 and %v m3 come down, %v and %v stand", first.before.In, harder.before.In, first.before.Ponded, harder.before.Ponded)
		}
		v, err := y.weather(design)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(first.ponds) + len(harder.ponds); len(v.pondings.Features) != n || len(v.ponding.Features) != len(first.ponds) || n == 0 {
			t.Errorf("%d ponds drawn of %d, %d of the design storm's %d", len(v.pondings.Features), n, len(v.ponding.Features), len(first.ponds))
		}
		says := strings.Join(v.says, "\n")
		for _, want := range []string{"with 20 % more rain (storm.increase)", last.ID + " lets 2.64 L/s out on the ground: ", "takes its design flow of 2.00 L/s with "} {
			if strings.Contains(says, want) != (design != nil) {
				t.Errorf("design %v, %q in %q", design != nil, want, says)
			}
		}
	}
}

// Each low spot's overflow starts at its spill level and never climbs.
func TestOverflows(t *testing.T) {
	w, _ := hollowYard(rand.New(rand.NewPCG(25, 26)), widePipe)
	r, err := w.asIs(w.rainOn(w.site, w.criteria.Storm, nil))
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
// spoken of. The drain on the slope is spoken of too.
func TestClogged(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(27, 28)), widePipe)
	before, err := y.asIs(y.rainOn(y.site, y.criteria.Storm, nil))
	if err != nil {
		t.Fatal(err)
	}
	hollow, _ := y.cellAt(d.Inflows[0].At)
	spill := y.spots[y.at[hollow]].SpillElevation
	y.site.Openings = []constraint.Opening{
		{ID: "low", At: d.Inflows[0].At, Elevation: spill - 0.25, Height: math.NaN()},
		{ID: "high", At: d.Inflows[0].At, Elevation: spill + 0.125, Height: math.NaN()},
		{ID: "sill", At: d.Inflows[0].At, Elevation: math.NaN(), Height: 1 + spill - y.surface.Ground(35.5, 17.5)},
		{ID: "far", At: orb.Point{15, 30}, Elevation: spill - 1, Height: math.NaN()},
	}
	d.Inflows[2].Status = design.Infeasible // the roof's water comes down as before, at its downspout
	_, _, p := rained(t, y, d)
	says, err := y.clogged(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(says) != 5 {
		t.Fatalf("%q", says)
	}
	stands := regexp.MustCompile(`water stands ([0-9.]+) m deep over it`).FindStringSubmatch(says[0])
	if stands == nil || !strings.Contains(says[0], fmt.Sprintf("spills at %.2f m", spill)) || !strings.Contains(says[0], ": it leaves the lot over its ") {
		t.Fatalf("%q", says[0])
	}
	if deep, _ := strconv.ParseFloat(stands[1], 64); deep < float64(before.Depth[hollow])-0.05 {
		t.Errorf("%v m deep with the drain clogged, %v m without one", deep, before.Depth[hollow])
	}
	for k, want := range []string{"opening low lies 0.25 m below", "spills, less than building_freeboard_min 0.15 m", "opening sill lies 1.00 m above", "inlet42.5 clogged: it lies on a slope, so its water runs on: it leaves the lot over its east side (side 2)"} {
		if !strings.Contains(says[k+1], want) {
			t.Errorf("%q, want %q", says[k+1], want)
		}
	}
}

// A drain in one of two hollows within a larger one, clogged: its own hollow is
// said to fill first, to the bank between the two by hand, then the larger one.
func TestCloggedNested(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(33, 34)), widePipe)
	for i := range y.ground.Z {
		c, r := y.ground.Cell(i)
		z := 10 - 0.02*float64(c)
		if c >= 20 && c <= 40 && r >= 14 && r <= 24 {
			z = 9 // the larger hollow, spilling at 9.18 over its east side
			if c == 30 {
				z = 9.05 // the bank
			} else if c > 21 && c < 39 && r > 15 && r < 23 {
				z = 8.8
			}
		}
		y.ground.Z[i] = float32(z)
	}
	y.site.Roofs = nil
	y.water = standing(y.ground, y.site)
	d.Inflows, d.Network.Nodes, d.Network.Pipes = d.Inflows[:1], d.Network.Nodes[:2], d.Network.Pipes[:1]
	_, _, p := rained(t, y, d)
	says, err := y.clogged(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(says) != 1 || !strings.Contains(says[0], "low spot ls1.1 fills first, to 9.05 m; low spot ls1 spills at 9.18 m") {
		t.Errorf("%q", says)
	}
}

// Sills against the water of a storm, by hand from where it stands in the hollow:
// 0.10 m over it is too little, 0.05 m under it lets water in, 0.30 m is enough; a
// roof's floor likewise, where the water comes near the roof; one of unknown level
// and one far off are not spoken of.
func TestThreatened(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(35, 36)), widePipe)
	r, err := y.asIs(y.rainOn(y.site, y.criteria.Storm, nil))
	if err != nil {
		t.Fatal(err)
	}
	at := d.Inflows[0].At
	hollow, _ := y.cellAt(at)
	level := y.surface.Elevation(hollow) + float64(r.Depth[hollow])
	if r.Depth[hollow] < 0.05 {
		t.Fatalf("%v m in the hollow", r.Depth[hollow])
	}
	opening := func(id string, p orb.Point, over float64) constraint.Opening {
		return constraint.Opening{ID: id, At: p, Elevation: level + over, Height: math.NaN()}
	}
	y.site.Openings = []constraint.Opening{opening("door", at, 0.10), opening("window", at, -0.05), opening("high", at, 0.30), opening("far", orb.Point{3, 3}, -1)}
	shed := constraint.Roof{ID: "shed", Outline: orb.Polygon{{{at[0] - 3, at[1] - 1}, {at[0] - 1, at[1] - 1}, {at[0] - 1, at[1] + 1}, {at[0] - 3, at[1] + 1}, {at[0] - 3, at[1] - 1}}}, RunoffCoeff: math.NaN(), FinishedFloor: level + 0.02}
	y.site.Roofs = append(y.site.Roofs, shed)
	says := y.threatened("then", r)
	if len(says) != 3 {
		t.Fatalf("%q", says)
	}
	for k, want := range []string{"near opening door, 0.10 m below it, less than building_freeboard_min 0.15 m", "near opening window, 0.05 m above it: it can enter", "near the floor under roof shed, 0.02 m below it, less than"} {
		if !strings.Contains(says[k], want) {
			t.Errorf("%q, want %q", says[k], want)
		}
	}
}
