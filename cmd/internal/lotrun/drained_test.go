package lotrun

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// The storm balances with drains wide, narrow and clogged: what comes down
// stands, runs off, is in the drains, or goes down the leaders; and no drain
// passes what its grate and the water over it let through.
func TestStormWithDrains(t *testing.T) {
	for _, inside := range []float64{widePipe, narrowPipe} {
		y, d := hollowYard(rand.New(rand.NewPCG(23, 24)), inside)
		r, drains, p := rained(t, y, d)
		before, err := y.asIs(r)
		if err != nil {
			t.Fatal(err)
		}
		var ponded []float64
		for clogged := noneClogged; clogged < len(p.drains); clogged++ {
			s, err := p.settle(clogged)
			if err != nil {
				t.Fatal(err)
			}
			leader := s.taken[2] * r.duration
			out := s.Ponded + s.Lost + leader
			for k, v := range s.Drained {
				out += v
				f := &p.drains[k]
				if k == clogged && v != 0 {
					t.Errorf("clogged, it took %v m3", v)
				}
				if rate, lets := v/r.duration, drains.intake.Lets(f.place, math.Max(s.over[k], f.Rim+p.dish)); rate > lets*(1+1e-3) {
					t.Errorf("%s took %v m3/s with water at %v, which lets in %v", f.ID, rate, s.over[k], lets)
				}
			}
			if math.Abs(out-before.In) > flowTolerance*before.In {
				t.Errorf("%v m3, of which %v are found again", before.In, out)
			}
			ponded = append(ponded, s.Ponded)
		}
		if narrow := inside == narrowPipe; ponded[0] > ponded[1] || before.Ponded < 1.2*ponded[0] != narrow {
			t.Errorf("pipes of %v m: %v m3 stand before, %v after, %v with the hollow's drain clogged", inside, before.Ponded, ponded[0], ponded[1])
		}
	}
}

// The hollow by hand: what its drain does not take in the storm stands over it,
// at the level that lets the rest in.
func TestDrainAndPond(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(23, 24)), widePipe)
	_, _, p := rained(t, y, d)
	s, err := p.settle(noneClogged)
	if err != nil {
		t.Fatal(err)
	}
	over := s.over[0] - d.Inflows[0].Rim
	// Half of 36 in is a weir of 0.4572 m, 1.66 x 0.4572 x h^1.5; half of 27 in2 an
	// orifice of 0.0087097 m2, 0.67 x 0.0087097 x (2 x 9.80665 x h)^0.5: the most that
	// is taken, in the end. Of a water that rises evenly the orifice takes two thirds
	// of that on the mean.
	most := math.Min(1.66*0.4572*math.Pow(over, 1.5), 0.67*0.0087097*math.Sqrt(2*9.80665*over))
	if over <= 0 || s.taken[0] > most || s.taken[0] < 2.0/3*most {
		t.Errorf("%v m over the grate, %v m3/s taken of %v", over, s.taken[0], most)
	}
	fine, err := p.march(noneClogged, 60)
	if err != nil {
		t.Fatal(err)
	}
	if want := fine.over[0] - d.Inflows[0].Rim; math.Abs(over-want) > 0.06*want {
		t.Errorf("%v m over the grate, %v m in 60 steps", over, want)
	}
}

// A design that carries nothing changes nothing.
func TestNothingServed(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(23, 24)), widePipe)
	for k := range d.Inflows {
		d.Inflows[k].Status = design.Infeasible
	}
	r, _, p := rained(t, y, d)
	nothing, err := p.settle(noneClogged)
	if err != nil {
		t.Fatal(err)
	}
	before, err := y.asIs(r)
	if err != nil {
		t.Fatal(err)
	}
	for i := range before.Depth {
		if math.Abs(float64(nothing.Depth[i]-before.Depth[i])) > flowTolerance {
			t.Fatalf("cell %d stands %v deep with a design that carries nothing, %v without", i, nothing.Depth[i], before.Depth[i])
		}
	}
	s, err := y.storm(d, y.criteria.Storm)
	if err != nil {
		t.Fatal(err)
	}
	if says := strings.Join(y.stands("now", s), "\n"); !strings.Contains(says, "m3 of water stand on the lot as it is") || strings.Contains(says, "drains in") {
		t.Errorf("%q", says)
	}
}

// An outlet in the yard gives the water back to the ground: none is lost.
func TestDaylightReturns(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(23, 24)), widePipe)
	for v := range d.Network.Nodes {
		if n := &d.Network.Nodes[v]; n.Out < 0 {
			n.OutletType = constraint.Daylight
		}
	}
	r, _, p := rained(t, y, d)
	s, err := p.settle(noneClogged)
	if err != nil {
		t.Fatal(err)
	}
	before, err := y.asIs(r)
	if err != nil {
		t.Fatal(err)
	}
	if out := s.Ponded + s.Lost; math.Abs(out-before.In) > 1e-3*before.In || s.taken[0] <= 0 {
		t.Errorf("%v m3 come down, %v stand or run off", before.In, out)
	}
}

// A channel drain across the yard, by hand: the plane falls east, so all that
// lies west of its line runs over it, rows 5 to 34 and 45 cells each of ground; a
// driveway it crosses counts whole down to the line's lowest place. What it has,
// it takes: nothing runs on, and the storm and the lot's sides balance.
func TestChannelDrain(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(29, 30)), widePipe)
	for i := range y.ground.Z {
		c, _ := y.ground.Cell(i)
		y.ground.Z[i] = float32(10 - 0.02*float64(c))
	}
	y.site.Roofs = nil
	y.water = standing(y.ground, y.site)
	line := orb.LineString{{45.5, 5.5}, {45.5, 34.5}}
	on, has := y.onGround(line), y.intercepted(line, y.site)
	if len(on) != 30 || len(has) != 30*45 { // column 0 drains out of the ground known
		t.Fatalf("%d cells under the line, %d cells' water over it", len(on), len(has))
	}
	y.site.Paved = []constraint.Paved{{ID: "drive", Kind: constraint.Driveway, Area: orb.Polygon{{{40, 2}, {50, 2}, {50, 8}, {40, 8}, {40, 2}}}}}
	if n := len(y.intercepted(line, y.site)); n != 30*45+3*6 {
		t.Errorf("%d cells with the drive, by hand its 3 rows south of the line, of 6 cells each, more", n)
	}
	y.site.Paved = nil
	flow := y.criteria.Storm.Intensity * 0.35 * 30 * 45
	v := &d.Network.Nodes[0]
	v.Kind, v.Rim, v.Ground = network.ChannelDrain, y.ground.Ground(45.5, 5.5), y.ground.Ground(45.5, 5.5)
	d.Inflows[0] = design.Inflow{ID: v.ID, Kind: v.Kind, At: orb.Point{45.5, 5.5}, Line: line, Rim: v.Rim, Flow: flow, Area: 1350, Status: design.Served,
		Grate: hydraulics.Grate{Perimeter: 29, OpenArea: 29 * y.criteria.Grates.ChannelOpening, Clogged: 0.5}}
	d.Inflows, d.Network.Nodes, d.Network.Pipes = d.Inflows[:1], d.Network.Nodes[:2], d.Network.Pipes[:1]
	r, drains, p := rained(t, y, d)
	s, err := p.settle(noneClogged)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.taken[0]-flow) > 1e-3*flow || math.Abs(s.Drained[0]-flow*r.duration) > 1e-3*flow*r.duration {
		t.Errorf("%v m3/s taken of %v", s.taken[0], flow)
	}
	if out := s.Ponded + s.Lost + s.Drained[0]; math.Abs(out-s.In) > flowTolerance*s.In {
		t.Errorf("%v m3, of which %v are found again", s.In, out)
	}
	before, after := 0.0, 0.0
	for _, side := range y.boundaryFlows(y.site, r, drains, s.taken) {
		before += side.Before.Net
		after += side.After.Net
	}
	if took := before - after; math.Abs(took-flow) > 1e-3*flow {
		t.Errorf("%v m3/s leave the lot before, %v after, the channel takes %v", before, after, flow)
	}
	says := strings.Join(drains.intakeWords(r, s.taken), "\n")
	for _, want := range []string{"takes its design flow of 13.1", "has the water of 1350 m2 along its 29.0 m; full to its grate, its outlet lets "} {
		if !strings.Contains(says, want) {
			t.Errorf("%q, want %q", says, want)
		}
	}
}

// A grate that lets too little in is told how large one would do, with the water
// that stands over it before that runs past.
func TestLargerGrate(t *testing.T) {
	y, d := hollowYard(rand.New(rand.NewPCG(23, 24)), widePipe)
	d.Inflows[0].Grate.OpenArea, d.Inflows[0].Grate.Perimeter = 1e-4, 0.04
	r, drains, _ := rained(t, y, d)
	taken, err := drains.steady(r, len(d.Inflows))
	if err != nil {
		t.Fatal(err)
	}
	says := drains.intakeWords(r, taken)[0]
	over := drains.brim(&r.inflows[0]) - d.Inflows[0].Rim
	need := d.Inflows[0].Grate.Needed(d.Inflows[0].Flow, over)
	if took := need.Capacity(over); math.Abs(took-d.Inflows[0].Flow) > 1e-9 {
		t.Errorf("such a grate takes %v of %v", took, d.Inflows[0].Flow)
	}
	said := need
	_, asks, _ := strings.Cut(says, "or a larger grate would: ")
	if _, err := fmt.Sscanf(asks, "at least %f m of perimeter and at least %f m2 of opening", &said.Perimeter, &said.OpenArea); err != nil {
		t.Fatalf("%q: %v", says, err)
	}
	if said.Capacity(over) < d.Inflows[0].Flow || said.Perimeter > need.Perimeter+0.001 || said.OpenArea > need.OpenArea+0.0001 {
		t.Errorf("%q, %+v is needed", says, need)
	}
}
