package design

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

const gradeTolerance = 1e-4 // m; the arithmetic below is written to four decimals

// sized is a pipe by inside diameter, roughness 0.012.
func sized(inside float64) constraint.Size { return constraint.Size{Inside: inside, Roughness: 0.012} }

// openInlet and closed are nodes of hand-made networks.
func openInlet(id string, at orb.Point, rim float64, out int) network.Node {
	return network.Node{ID: id, Kind: network.Inlet, At: at, Ground: rim, Rim: rim, Out: out}
}

func closed(id string, kind network.NodeKind, at orb.Point, ground float64, out int) network.Node {
	return network.Node{ID: id, Kind: kind, At: at, Ground: ground, Rim: math.NaN(), Out: out}
}

// throttled is an inlet, 10 m of 0.15 m pipe to a bend of 45 degrees that is a
// reducer too, and 5 m of 0.1 m pipe to a curb face, at 8 L/s.
func throttled() *network.Network {
	end := network.Node{ID: "out", Kind: network.OutletNode, At: orb.Point{10 + 5*math.Sqrt2/2, 5 * math.Sqrt2 / 2}, Rim: math.NaN(), OutletType: constraint.CurbFace, Gutter: 9.88, Out: -1}
	return &network.Network{
		Nodes: []network.Node{openInlet("in", orb.Point{0, 0}, 10.6, 0), closed("red", network.Reducer, orb.Point{10, 0}, 10.5, 1), end},
		Pipes: []network.Pipe{
			{ID: "p1", From: 0, To: 1, Length: 10, Size: sized(0.15), InvertUp: 10.1, InvertDown: 10, Flow: 0.008},
			{ID: "p2", From: 1, To: 2, Length: 5, Size: sized(0.1), InvertUp: 10, InvertDown: 9.9, Flow: 0.008},
		},
	}
}

// levelled is a network with its grade line in.
func levelled(t *testing.T, n *network.Network, w Tailwater) (*pipework, []hydraulics.Reach, []hydraulics.Grade) {
	t.Helper()
	p := pipeworkOf(n, w)
	reaches := p.reaches()
	grades, err := hydraulics.GradeLine(reaches)
	if err != nil {
		t.Fatal(err)
	}
	p.set(reaches, grades)
	return p, reaches, grades
}

var nothingGiven = Tailwater{CurbFace: math.NaN(), Emitter: math.NaN(), Daylight: math.Inf(-1), StormInlet: math.NaN()}

// By hand, with the curb hole drowned to its top.
//
//	outlet  tailwater = 9.9 + 0.1                           = 10.0000
//	p2      full: V = 0.008 / (pi 0.1^2 / 4) = 1.018592 m/s, V^2/2g = 0.052899
//	        Sf = (V n / (D/4)^(2/3))^2 = (1.018592 x 0.012 / 0.085499)^2
//	           = 0.020438, x 5 m = 0.102190                 = 10.1022
//	red     entry 0.5 (1 - (0.1/0.15)^2) = 0.277778, x 0.052899 = 0.014694
//	                                                        = 10.1169
//	p1      arrives 0.1169 deep: y/D = 0.77923, angle 2 acos(1 - 2 y/D) = 4.32659,
//	        A = (4.32659 + 0.92656) 0.15^2 / 8 = 0.014775 m2, V = 0.54146 m/s,
//	        V^2/2g = 0.014948, less than what leaves has by 0.037951
//	                                                        = 10.1548
//	        full there: V = 0.452707, V^2/2g = 0.010449, bend 0.0033 x 45 = 0.1485,
//	        x 0.010449 = 0.001552                           = 10.1564
//
// The crown of p1 is at 10.15 below and climbs 0.01 a metre, the pressure in the
// full pipe by Sf = (0.452707 x 0.012 / 0.112035)^2 = 0.002351: full for
// 0.0064 / 0.00765 = 0.84 m, to the level 10.1584. From there one step of 9.16 m to
// a depth of 0.0822 at the upper end, where V = 0.8050, V^2/2g = 0.03304 and
// Sf = (0.8050 x 0.012 / 0.03971^(2/3))^2 = 0.00689:
//
//	energy  10.1584 + 0.01045 + 9.16 (0.002351 + 0.00689) / 2 = 10.2112
//
// so coarse a step is good to a few millimetres: the friction does not climb
// evenly.
func TestGradeLineByHand(t *testing.T) {
	n := throttled()
	_, _, grades := levelled(t, n, nothingGiven)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"outlet", n.Nodes[2].HGL, 10.0000},
		{"upper end of p2", grades[1].Up, 10.1022},
		{"reducer", n.Nodes[1].HGL, 10.1169},
		{"lower end of p1", grades[0].Down, 10.1564},
	} {
		if math.Abs(c.got-c.want) > gradeTolerance {
			t.Errorf("%s: %.5f, want %.4f", c.what, c.got, c.want)
		}
	}
	in := &n.Nodes[0]
	// Water at rest in the inlet: one velocity head to set it going, half for the edge.
	head := grades[0].VelocityUp * grades[0].VelocityUp / (2 * 9.80665)
	if math.Abs(in.HGL-(grades[0].Up+1.5*head)) > 1e-12 {
		t.Errorf("inlet %.4f", in.HGL)
	}
	if got := grades[0].Up + head; math.Abs(got-10.2112) > 0.005 {
		t.Errorf("energy at the upper end of p1 %.4f", got)
	}
	if math.Abs(in.Freeboard-(10.6-in.HGL)) > 1e-12 || !math.IsNaN(n.Nodes[1].Freeboard) || !math.IsNaN(n.Nodes[2].Freeboard) {
		t.Errorf("freeboard %v %v %v", in.Freeboard, n.Nodes[1].Freeboard, n.Nodes[2].Freeboard)
	}
}

// An emitter with its lid above every crown: all is full, so every level is
// arithmetic.
//
//	seat    (0.004 / (1.66 pi 0.1))^(2/3) = (0.0076702)^(2/3) = 0.038894
//	lid     10.3 + 0.0389                                   = 10.3389
//	elbow   V = 0.509296, V^2/2g = 0.013225, x 0.0033 x 90 = 0.003928 = 10.3428
//	        Sf = 0.020438 / 4 = 0.0051095, x 20 m = 0.102190 = 10.4450
//	inlet   (1 + 0.5) x 0.013225 = 0.019837                 = 10.4648
//
// Its rim at 10.45 is 0.0148 below: water comes out there.
func TestGradeLineEmitterByHand(t *testing.T) {
	n := &network.Network{
		Nodes: []network.Node{
			openInlet("in", orb.Point{0, 0}, 10.45, 0),
			{ID: "em", Kind: network.OutletNode, At: orb.Point{20, 0}, Ground: 10.3, Rim: math.NaN(), OutletType: constraint.Emitter, Lid: 10.3, Out: -1},
		},
		Pipes: []network.Pipe{{ID: "p1", From: 0, To: 1, Length: 20, Size: sized(0.1), InvertUp: 10.2, InvertDown: 10, Flow: 0.004}},
	}
	w, reaches, _ := levelled(t, n, nothingGiven)
	if got := n.Nodes[1].HGL; math.Abs(got-10.3389) > gradeTolerance {
		t.Errorf("emitter %.5f", got)
	}
	if got := n.Nodes[0]; math.Abs(got.HGL-10.4648) > gradeTolerance || math.Abs(got.Freeboard+0.0148) > gradeTolerance {
		t.Errorf("inlet %.5f, freeboard %.5f", got.HGL, got.Freeboard)
	}
	spills, err := w.spills(reaches)
	if err != nil || len(spills) != 1 || spills[0].Node != "in" || spills[0].Level != 10.45 {
		t.Fatalf("%v %v", spills, err)
	}
	// All is full at that share too: lid + 0.038894 s^(2/3) + 0.125955 s^2 = 10.45
	// at s = 0.949: 0.037560 + 0.113435 = 0.150995; at 0.945: 0.037454 + 0.112481.
	if s := spills[0].Share; s < 0.94 || s > 0.95 {
		t.Errorf("spills from %.4f of the storm", s)
	}
}

// notesOf runs the stage on a network alone.
func notesOf(t *testing.T, n *network.Network, c Criteria) (*layer, *Result) {
	t.Helper()
	ground, site := testLot(0.01)
	l := &layer{job: &job{criteria: c, law: constraint.NewLaw(ground, site, 0, c.Limits)}, net: *n}
	r := &Result{Network: *n}
	if err := l.waterLevels(r); err != nil {
		t.Fatal(err)
	}
	return l, r
}

// What is noted: the rim under water with its share, water standing below the
// lid; and nothing for a network with height to spare.
func TestWaterLevelNotes(t *testing.T) {
	c := testCriteria()
	c.Tailwater = nothingGiven
	c.Limits.FreeboardMin, c.Limits.StandingWaterMax = 0.03, 3600
	c.Base = EmitterBase{Weep: 0.0127, BedArea: 0.37, BedDepth: 0.3, Porosity: 0.4, SoilRate: 1.8e-6}
	n := &network.Network{
		Nodes: []network.Node{
			openInlet("in", orb.Point{0, 0}, 10.45, 0),
			{ID: "em", Kind: network.OutletNode, At: orb.Point{20, 0}, Ground: 10.3, Invert: 10, Rim: math.NaN(), OutletType: constraint.Emitter, Lid: 10.3, Out: -1},
		},
		Pipes: []network.Pipe{{ID: "p1", From: 0, To: 1, Length: 20, Size: sized(0.1), InvertUp: 10.2, InvertDown: 10, Flow: 0.004, Velocity: 0.9}},
	}
	l, r := notesOf(t, n, c)
	// 20 m of full pipe hold 0.1571 m3, of which the stone takes 0.0444 at once and
	// the soil 1.8e-6 x 0.37 m3/s of the rest: (0.1571 - 0.0444) / 6.66e-7 s = 47.0 h,
	// after 0.07 h for the first through the weep: 0.0444 m3 at 0.67 x 0.000127 m2 x
	// (2g 0.25 m)^0.5 = 0.000188 m3/s.
	// In an hour: the weep takes about 1,400 s for all of it; a bed of A m2 holds 0.12 A
	// and its soil takes 1.8e-6 A (3600 - 1400) = 0.004 A meanwhile: A = 0.1571 / 0.124
	// = 1.27 m2.
	for _, want := range []string{
		"in: in the design storm the hydraulic grade line stands 0.015 m above its rim at 10.450 m, from 95 % of its flow on: water comes out there",
		"the first place to overflow is in, at 95 % of the design storm's flow",
		"water backs up to under 0.60 m/s at design flow, where silt stays, from in to em (20.0 m)",
		"em: 20.0 m of pipe stand with 0.157 m3 of water below the lid after each storm; through the weep and a peastone bed of 0.37 m2, 0.30 m deep, it is gone in 47.1 h, the soil taking 6.5 mm/h or 0.26 in/h (outlet.emitter.soil_rate)",
		"em: water stands longer than 1 h, standing_water_hours_max: mosquitoes, ice; a peastone bed of 1.3 m2, 0.30 m deep, drains it in time",
	} {
		if !has(l.notes, want) {
			t.Errorf("%q is not among %q", want, l.notes)
		}
	}
	if len(r.Spills) != 1 {
		t.Errorf("spills %v", r.Spills)
	}
	n.Nodes[0].Rim = n.Nodes[0].HGL + 0.02
	if l, _ := notesOf(t, n, c); !has(l.notes, "in: in the design storm the hydraulic grade line stands 0.020 m below its rim, less than freeboard_min 0.030 m") {
		t.Errorf("%q", l.notes)
	}
	free := throttled()
	c.Tailwater.CurbFace = 0
	if l, r := notesOf(t, free, c); len(r.Spills) > 0 && r.Spills[0].Share < 1 || len(l.assumed) > 0 {
		t.Errorf("%v %q", r.Spills, l.assumed)
	}
	c.Tailwater.CurbFace = math.NaN()
	if l, _ := notesOf(t, free, c); !has(l.assumed, "out: the street's water stands at the top of the curb hole, 10.000 m, in the design storm (outlet.tailwater.curb_face)") {
		t.Errorf("%q", l.assumed)
	}
}

func has(list []string, want string) bool {
	for _, s := range list {
		if s == want {
			return true
		}
	}
	return false
}

// randomNetwork is a tree of pipes to a curb face whose flows fill at most
// filling of each pipe's capacity; every node but the outlet an inflow or bend.
func randomNetwork(r *rand.Rand, filling float64) *network.Network {
	count := 2 + r.IntN(7)
	n := &network.Network{Nodes: []network.Node{{ID: "out", Kind: network.OutletNode, Rim: math.NaN(), OutletType: constraint.CurbFace, Gutter: 9.9, Out: -1}}}
	invert := []float64{10}
	for i := 1; i <= count; i++ {
		to := r.IntN(i)
		length, slope := 1+10*r.Float64(), 0.005+0.03*r.Float64()
		turn := r.Float64() * math.Pi
		at := orb.Point{n.Nodes[to].At[0] + length*math.Cos(turn), n.Nodes[to].At[1] + length*math.Sin(turn)}
		drop := 0.0
		if r.IntN(3) == 0 {
			drop = 0.2 * r.Float64()
		}
		if to == 0 {
			drop = 0
		}
		down := invert[to] + drop
		invert = append(invert, down+slope*length)
		node := closed("n", network.Bend, at, invert[i]+0.5, i-1)
		if r.IntN(2) == 0 {
			node = openInlet("in", at, invert[i]+0.5, i-1)
		}
		n.Nodes = append(n.Nodes, node)
		p := network.Pipe{From: i, To: to, Length: length, Size: sized(0.1), InvertUp: invert[i], InvertDown: down}
		p.Capacity = hydraulics.FullCapacity(0.1, 0.012, slope)
		n.Pipes = append(n.Pipes, p)
	}
	// Flows by arriving; then all scaled so that the fullest pipe is as full as asked.
	for k := count - 1; k >= 0; k-- {
		n.Pipes[k].Flow += 0.001 * (0.1 + r.Float64())
		if next := n.Nodes[n.Pipes[k].To].Out; next >= 0 {
			n.Pipes[next].Flow += n.Pipes[k].Flow
		}
	}
	fullest := 0.0
	for k := range n.Pipes {
		fullest = math.Max(fullest, n.Pipes[k].Flow/n.Pipes[k].Capacity)
	}
	for k := range n.Pipes {
		n.Pipes[k].Flow *= filling / fullest
	}
	return n
}

// lossDip is how far a level may fall while the water below rises, m. An entry
// loss is a share of the velocity head, which shrinks as the mouth of a pipe
// fills: y + 1.5 V^2/2g, with the edge's half, is least not at critical depth but
// 14 % above it, and lower there by 3.3 % of critical depth (rectangle; a circle
// is alike), which is under 0.1 m here. Above that it rises.
const lossDip = 0.0033

// Energy falls downstream, and so does the water's level in every pipe the water
// below does not slow (one that is slowed may give up velocity head for level); no
// level is below its invert; more tailwater lowers no level anywhere.
func TestGradeLineProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 17))
	for range 300 {
		filling := 0.2 + 1.3*r.Float64()
		n := randomNetwork(r, filling)
		free := nothingGiven
		free.CurbFace = math.Inf(-1)
		var before []float64
		for _, tail := range []float64{math.Inf(-1), 0.05, 0.1, 0.2, 0.4, 1} {
			w := free
			w.CurbFace = tail
			_, reaches, grades := levelled(t, n, w)
			for i := range n.Nodes {
				v := &n.Nodes[i]
				if v.Out >= 0 && v.HGL < n.Pipes[v.Out].InvertUp {
					t.Fatalf("node %d: level %.4f below its invert %.4f", i, v.HGL, n.Pipes[v.Out].InvertUp)
				}
				if before != nil && v.HGL < before[i]-lossDip {
					t.Fatalf("node %d falls from %.6f to %.6f with the tailwater raised to %.2f", i, before[i], v.HGL, tail)
				}
			}
			for k := range n.Pipes {
				p := &n.Pipes[k]
				head := grades[k].VelocityUp * grades[k].VelocityUp / (2 * hydraulics.Gravity)
				up, down := n.Nodes[p.From].HGL, grades[k].Down // two pipes may end at the outlet, each at its own level
				if next := reaches[k].Next; next >= 0 {
					down = n.Nodes[p.To].HGL
				}
				if up+head < down-1e-9 {
					t.Fatalf("pipe %d: energy %.5f above, level %.5f below", k, up+head, down)
				}
				uniform := hydraulics.NormalDepth(p.Flow, p.Size.Inside, p.Size.Roughness, p.Slope())
				if !uniform.FlowsFull && grades[k].VelocityDown >= uniform.Velocity-1e-9 && up < down {
					t.Fatalf("pipe %d, free: level %.5f above, %.5f below", k, up, down)
				}
				if reaches[k].Flow != p.Flow {
					t.Fatalf("pipe %d: flow %g became %g", k, p.Flow, reaches[k].Flow)
				}
			}
			before = before[:0]
			for i := range n.Nodes {
				before = append(before, n.Nodes[i].HGL)
			}
		}
	}
}

// A whole lot: every node has a level at or above its invert, the outlet's is
// the top of the hole, and plan and verdict are those without it.
func TestLotGradeLine(t *testing.T) {
	r := designTestLot(t, 0.05)
	for _, v := range r.Network.Nodes {
		if !(v.HGL >= v.Invert) {
			t.Errorf("%s: level %v, invert %v", v.ID, v.HGL, v.Invert)
		}
		if math.IsNaN(v.Rim) != math.IsNaN(v.Freeboard) || !math.IsNaN(v.Rim) && math.Abs(v.Freeboard-(v.Rim-v.HGL)) > 1e-12 {
			t.Errorf("%s: freeboard %v, rim %v, level %v", v.ID, v.Freeboard, v.Rim, v.HGL)
		}
	}
}
