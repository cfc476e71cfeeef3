package hydraulics

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// The hand-worked cases share two pipes of n 0.012 and g = 9.80665.
//
//	D 0.100 m: A = 0.00785398 m2, Q = 0.31169 D^(8/3)/n S^0.5 = 0.055959 S^0.5
//	D 0.150 m: A = 0.0176715 m2,  Q = 0.164990 S^0.5
//
// Full at 8 L/s, 0.100 m: V = 1.01859 m/s, V^2/2g = 0.052898 m, Sf =
// (0.008/0.055959)^2 = 0.020438. At 3 L/s: 0.381972, 0.0074388, 0.0028741. At
// 4 L/s: 0.509296, 0.0132245, 0.0051095. At 5 L/s: 0.636620, 0.0206639, 0.0079836.
var closed = math.NaN() // no rim

// byHand is how far five or six figures of hand work may be off, m.
const byHand = 2e-5

func mustGrade(t *testing.T, reaches []Reach) []Grade {
	t.Helper()
	g, err := GradeLine(reaches)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.6f, by hand %.6f", what, got, want)
	}
}

// 1. A full pipe with tailwater. 20 m of 0.100 m from 10.20 to 10.00, 8 L/s,
// tailwater 10.50 over the crown of 10.10. Friction 20 x 0.020438 = 0.40876: the
// upper end is at 10.90876, over its crown. Set going from rest with a square
// edge: 1.5 x 0.052898 = 0.079347: the box stands at 10.98811; rim 11.10 is
// 0.11189 above.
func TestHandFullPipeWithTailwater(t *testing.T) {
	g := mustGrade(t, []Reach{{Next: -1, Length: 20, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.2, InvertDown: 10,
		Flow: 0.008, Tailwater: 10.5, Entry: EntrySquareEdge, AtRest: true, Rim: 11.10}})[0]
	near(t, "lower end", g.Down, 10.50, byHand)
	near(t, "upper end", g.Up, 10.90876, byHand)
	near(t, "box", g.Node, 10.98811, byHand)
	near(t, "freeboard", g.Freeboard, 0.11189, byHand)
	near(t, "velocity", g.Slowest(), 1.01859, byHand)
	if g.Regime != Pressurised {
		t.Errorf("regime %s", g.Regime)
	}
}

// 2a. Part full on a mild slope. Half full, a pipe carries half its capacity:
// 0.055959 x 0.002^0.5 / 2 = 1.25129 L/s on 0.2 %, V = 0.00125129/0.00392699 =
// 0.318638. Froude 0.318638/(9.80665 x 0.0392699)^0.5 = 0.5135: mild. The tailwater
// stands at that very depth, 0.05 m: flow is uniform over the 60 m, the upper end
// 10.12 + 0.05, the node 1.5 x 0.318638^2/19.6133 = 0.0077649 over that.
func TestHandPartFullUniform(t *testing.T) {
	g := mustGrade(t, []Reach{{Next: -1, Length: 60, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.12, InvertDown: 10,
		Flow: 0.00125129, Tailwater: 10.05, Entry: EntrySquareEdge, AtRest: true, Rim: closed}})[0]
	near(t, "lower end", g.Down, 10.05, byHand)
	near(t, "upper end", g.Up, 10.17, byHand)
	near(t, "node", g.Node, 10.177765, byHand)
	if g.Regime != FreeSurface || !math.IsNaN(g.Freeboard) {
		t.Errorf("%+v", g)
	}
}

// 2b. Part full on a steep slope, free outlet. Q^2 T = g A^3 at half depth: Q = A
// (g A/T)^0.5 = 0.00392699 x 0.620573 = 2.43698 L/s has critical depth 0.05 m. On
// 5 % the pipe carries 6.26 L/s half full, so flow is shallower than critical and
// the upper end stands at critical depth: 10 m at 5 %: 10.50 + 0.05. The box is
// 1.5 x 0.620573^2/19.6133 = 1.5 x 0.0196350 = 0.0294525 above: 10.57945. The lower
// end runs at uniform depth: Q/Qf = 2.43698/12.5128 = 0.19476, by the partial-flow
// table (0.30: 0.1958; 0.25: 0.1370) y/D = 0.2991.
func TestHandPartFullSteep(t *testing.T) {
	g := mustGrade(t, []Reach{{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.5, InvertDown: 10,
		Flow: 0.00243698, Tailwater: math.Inf(-1), Entry: EntrySquareEdge, Rim: closed}})[0]
	near(t, "upper end", g.Up, 10.55, byHand)
	near(t, "node", g.Node, 10.57945, byHand)
	near(t, "lower end", g.Down, 10.02991, 1e-4) // read between rows of a table
	if g.Regime != FreeSurface {
		t.Errorf("regime %s", g.Regime)
	}
}

// 3. Emitter above the crown. 40 m of 0.100 m at 1 % from 10.40 to 10.00, 3 L/s,
// lid 10.30, elbow 0.9 at its foot: 10.30 + 0.9 x 0.0074388 = 10.306695. The line
// rises 0.0028741 a metre, the crown 0.01: they meet (10.306695 - 10.10) /
// 0.0071259 = 29.0 m up; the pipe is partly full. Critical depth of 3 L/s: at y/D
// 0.56 A = 0.0045264, T = 0.099277: Q = (9.80665 x A^3/T)^0.5 = 3.0266; at 0.555
// A = 0.0044767, T = 0.099394, Q = 2.9752; between: 0.55741. Uniform depth: Q/Qf =
// 3/5.5959 = 0.5361, by the table y/D 0.521: less, so the slope is steep and the
// upper end at critical depth, 10.40 + 0.055741.
func TestHandEmitterAboveCrown(t *testing.T) {
	r := Reach{Next: -1, Length: 40, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.4, InvertDown: 10,
		Flow: 0.003, Tailwater: 10.30, Join: 0.9, Rim: closed}
	g := mustGrade(t, []Reach{r})[0]
	near(t, "lower end", g.Down, 10.306695, byHand)
	near(t, "upper end", g.Up, 10.455741, byHand)
	if g.Regime != PartlyFull {
		t.Errorf("regime %s", g.Regime)
	}
	// The first 28 m alone are full: 10.306695 + 28 x 0.0028741.
	r.Length, r.InvertUp = 28, 10.28
	g = mustGrade(t, []Reach{r})[0]
	near(t, "28 m up", g.Up, 10.387170, byHand)
	if g.Regime != Pressurised {
		t.Errorf("28 m up: regime %s", g.Regime)
	}
}

// 4. Two branches. Main 15 m of 0.150 m from 10.15 to 10.00, 12 L/s, tailwater
// 10.40: V = 0.012/0.0176715 = 0.679061, V^2/2g = 0.023511, Sf = (0.012/0.164990)^2 =
// 0.0052900, upper end 10.40 + 0.07935 = 10.47935.
// What arrives brings (8 x 0.052898 + 4 x 0.0132245) / 12 = 0.039674 of velocity
// head, more than leaves: nothing is given back, both meet 10.47935.
// Straight branch, 8 L/s, 10 m of 0.100 m from 10.40 to 10.20: 10.47935 + 10 x
// 0.020438 = 10.68373; head from rest 10.68373 + 0.079347 = 10.76308.
// Wye at 45 degrees (0.47), 4 L/s, 10 m of 0.100 m from 10.40 to 10.20: loss 0.47 x
// 0.0132245 = 0.0062155: 10.485566; friction 0.051095: 10.536661, over its crown of
// 10.50; from rest 1.5 x 0.0132245 = 0.0198368: 10.556497.
// With 2 L/s (V^2/2g 0.0033061) in each and 12 in the main, the rest entering at
// the node: they bring 4 x 0.0033061 / 12 = 0.0011020, so that both meet 10.47935 +
// 0.023511 - 0.001102 = 10.501759, and the wye 0.47 x 0.0033061 more: 10.503313.
func TestHandTwoBranches(t *testing.T) {
	branch := Reach{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.4, InvertDown: 10.2, Entry: EntrySquareEdge, Rim: closed}
	straight, wye := branch, branch
	straight.Flow = 0.008
	wye.Flow, wye.Join = 0.004, WyeLoss(math.Pi/4)
	main := Reach{Next: -1, Length: 15, Diameter: 0.15, Roughness: 0.012, InvertUp: 10.15, InvertDown: 10, Flow: 0.012, Tailwater: 10.4, Rim: closed}
	g := mustGrade(t, []Reach{main, straight, wye})
	near(t, "wye", g[0].Node, 10.47935, byHand)
	near(t, "straight branch, lower end", g[1].Down, 10.47935, byHand)
	near(t, "straight branch, head", g[1].Node, 10.76308, byHand)
	near(t, "branch at 45 degrees, lower end", g[2].Down, 10.485566, byHand)
	near(t, "branch at 45 degrees, upper end", g[2].Up, 10.536661, byHand)
	near(t, "branch at 45 degrees, head", g[2].Node, 10.556497, byHand)
	straight.Flow, wye.Flow = 0.002, 0.002
	g = mustGrade(t, []Reach{main, straight, wye})
	near(t, "slow straight branch, lower end", g[1].Down, 10.501759, byHand)
	near(t, "slow branch at 45 degrees, lower end", g[2].Down, 10.503313, byHand)
}

// 5. Throttled last reach. 3 m of 0.078 m (Q = 0.31169 x 0.078^(8/3)/0.012 S^0.5 =
// 0.028849 S^0.5; A = 0.00477836) from 10.06 to 10.00, 5 L/s, tailwater the top of
// the hole, 10.078: Sf = (0.005/0.028849)^2 = 0.030038; upper end 10.078 + 0.090114 =
// 10.168114, over its crown of 10.138. V = 1.046384, V^2/2g = 0.055826; reducer 0.5:
// 10.168114 + 0.027913 = 10.196027; head gained 0.055826 - 0.0206639 = 0.0351621: the
// main meets 10.231189. 10 m of 0.100 m at 1 %, which alone would run part full:
// friction 0.079836: 10.311025, over its crown of 10.26; from rest 1.5 x 0.0206639:
// 10.342021.
func TestHandThrottledLastReach(t *testing.T) {
	main := Reach{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.16, InvertDown: 10.06, Flow: 0.005, Entry: EntrySquareEdge, Rim: closed}
	g := mustGrade(t, []Reach{{Next: -1, Length: 3, Diameter: 0.078, Roughness: 0.012, InvertUp: 10.06, InvertDown: 10,
		Flow: 0.005, Tailwater: 10.078, Entry: 0.5, Rim: closed}, main})
	near(t, "reducer", g[0].Node, 10.196027, byHand)
	near(t, "main, lower end", g[1].Down, 10.231189, byHand)
	near(t, "main, upper end", g[1].Up, 10.311025, byHand)
	near(t, "head", g[1].Node, 10.342021, byHand)
	if g[0].Regime != Pressurised || g[1].Regime != Pressurised {
		t.Errorf("regimes %s and %s", g[0].Regime, g[1].Regime)
	}
	main.Next, main.Tailwater = -1, math.Inf(-1)
	if g := mustGrade(t, []Reach{main})[0]; g.Regime != FreeSurface {
		t.Errorf("without the throttle: regime %s", g.Regime)
	}
}

// 6. Drowned inlet. Below it 10 m of 0.100 m from 10.10 to 10.00, 8 L/s, tailwater
// 10.20: upper end 10.20 + 0.20438 = 10.40438, box 10.40438 + 0.079347 = 10.483727;
// its rim of 10.45 is 0.033727 under water. Above it 3 L/s in 10 m of 0.100 m from
// 10.25 to 10.15, coming to rest in the box: 10.483727 + 10 x 0.0028741 = 10.512468.
// All flows times s raise the box to 10.20 + 0.283727 s^2: at the rim for s =
// (0.25/0.283727)^0.5 = 0.93868.
func TestHandDrownedInlet(t *testing.T) {
	reaches := []Reach{
		{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.1, InvertDown: 10, Flow: 0.008, Tailwater: 10.2, Entry: EntrySquareEdge, AtRest: true, Rim: 10.45},
		{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.25, InvertDown: 10.15, Flow: 0.003, Rim: 10.9},
	}
	g := mustGrade(t, reaches)
	near(t, "box", g[0].Node, 10.483727, byHand)
	near(t, "freeboard", g[0].Freeboard, -0.033727, byHand)
	near(t, "upper end above the box", g[1].Up, 10.512468, byHand)
	spills, err := SpillOrder(reaches, 1, nil)
	if err != nil || len(spills) != 1 || spills[0].Reach != 0 {
		t.Fatalf("spills %+v, %v", spills, err)
	}
	near(t, "scale at which it spills", spills[0].Scale, 0.93868, scaleSlack)
	if got := SlowReaches(reaches, g, 0.6); len(got) != 1 || got[0] != 1 {
		t.Errorf("slower than 0.6 m/s: %v, by hand the upper one at 0.38 m/s", got)
	}
}

// Without flow water stands level where the tailwater reaches: up a pipe from
// 10.00 to 10.40 to a lid of 10.30, and not in the branch at 10.40; and a pipe
// without flow into one with it takes that one's level, no loss.
func TestStillWater(t *testing.T) {
	reaches := []Reach{
		{Next: -1, Length: 40, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.4, InvertDown: 10, Tailwater: 10.3, Entry: 0.5, Join: 0.9, Rim: 10.2},
		{Next: 0, Length: 5, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.5, InvertDown: 10.4, Join: 0.5, Rim: 11},
	}
	g := mustGrade(t, reaches)
	if g[0].Down != 10.3 || g[0].Node != 10.4 || g[0].Regime != PartlyFull || g[1].Node != 10.5 || g[1].Regime != FreeSurface || g[0].Slowest() != 0 {
		t.Errorf("%+v", g)
	}
	reaches[0].Tailwater = 10.8
	g = mustGrade(t, reaches)
	if g[0].Node != 10.8 || g[0].Regime != Pressurised || g[1].Node != 10.8 || g[1].Regime != Pressurised {
		t.Errorf("deep under: %+v", g)
	}
	reaches[0].Flow = 0.004
	if g := mustGrade(t, reaches); g[1].Down < g[0].Node || g[1].Up != g[1].Down || SlowReaches(reaches, g, 9)[0] != 0 || len(SlowReaches(reaches, g, 9)) != 1 {
		t.Errorf("branch without flow: %+v", g)
	}
}

// Rims in the order they spill: one below the emitter's lid at rest, then one
// that the flow raises, and none for a third. With a tailwater that rises with
// the storm the same rim goes sooner.
func TestSpillOrder(t *testing.T) {
	reaches := []Reach{
		{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.1, InvertDown: 10, Flow: 0.006, Tailwater: 10.3, Rim: closed},
		{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.2, InvertDown: 10.1, Flow: 0.003, Rim: 10.60},
		{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.15, InvertDown: 10.1, Flow: 0.003, Rim: 10.25},
		{Next: 1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.3, InvertDown: 10.2, Flow: 0.001, Rim: 12},
	}
	fixed, err := SpillOrder(reaches, 2, nil)
	if err != nil || len(fixed) != 2 || fixed[0] != (Spill{2, 0}) || fixed[1].Reach != 1 {
		t.Fatalf("%+v, %v", fixed, err)
	}
	for _, side := range []float64{-1, 1} {
		at := append([]Reach(nil), reaches...)
		for k := range at {
			at[k].Flow *= fixed[1].Scale + side*2*scaleSlack
		}
		if g := mustGrade(t, at); (g[1].Freeboard < 0) != (side > 0) {
			t.Errorf("just beside scale %g: freeboard %g", fixed[1].Scale, g[1].Freeboard)
		}
	}
	rising, err := SpillOrder(reaches, 2, func(reach int, scale float64) float64 { return 10.3 + 0.1*scale })
	if err != nil || len(rising) != 2 || !(rising[1].Scale < fixed[1].Scale) {
		t.Errorf("rising tailwater: %+v, %v", rising, err)
	}
}

func TestReachErrors(t *testing.T) {
	good := func() []Reach {
		return []Reach{
			{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.1, InvertDown: 10, Flow: 0.006, Tailwater: 10.3},
			{Next: 0, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.2, InvertDown: 10.1, Flow: 0.003},
			{Next: 1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.3, InvertDown: 10.2, Flow: 0.003},
		}
	}
	for _, tt := range []struct {
		says  string
		spoil func(r []Reach)
	}{
		{"drains to reach 3, which is not there", func(r []Reach) { r[1].Next = 3 }},
		{"drains into a ring", func(r []Reach) { r[1].Next = 2 }},
		{"must be above zero, got 10 m, 0.1 m and 0", func(r []Reach) { r[1].Roughness = 0 }},
		{"must not be negative, got -0.003", func(r []Reach) { r[1].Flow = -0.003 }},
		{"a drain falls", func(r []Reach) { r[1].InvertUp = 10.05 }},
		{"tailwater NaN m", func(r []Reach) { r[0].Tailwater = math.NaN() }},
	} {
		r := good()
		tt.spoil(r)
		_, err := GradeLine(r)
		var bad *ReachError
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("want %q, got %v", tt.says, err)
		}
		if _, err := SpillOrder(r, 1, nil); !errors.As(err, &bad) {
			t.Errorf("SpillOrder: want %q, got %v", tt.says, err)
		}
	}
	if _, err := GradeLine(good()); err != nil {
		t.Error(err)
	}
}
