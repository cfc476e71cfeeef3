package hydraulics

import (
	"math"
	"testing"
)

// A raised emitter keeps the main full: lid 12 in over the invert on 1 % backs
// water 100 ft up (30.48 m). Closed form: the line is full where the crown is
// below the lid, 0.3048 - 0.1 = 0.2048 m: 20.48 m x 0.00785398 = 0.160850 m3; then
// the hoof to the point 10 m farther: by symmetry of a circle its mean area is
// half the full one: 10 x 0.00392699 = 0.039270. Together 0.200120 m3.
func TestStandingWaterByHand(t *testing.T) {
	main := Reach{Next: -1, Length: 40, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.4, InvertDown: 10}
	s := StandingWater([]Reach{main}, 10.3048)
	near(t, "length", s.Length, 30.48, 1e-9)
	near(t, "volume", s.Volume, 0.200120, 1e-6)
	// A branch that leaves the main 20 m up, invert 10.20, at 2 %: 0.1048 m of lid
	// over it stands 5.24 m up; its hoof 5 m x 0.00392699 and 0.24 m full.
	branch := Reach{Next: 0, Length: 8, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.36, InvertDown: 10.2}
	s = StandingWater([]Reach{main, branch}, 10.3048)
	near(t, "length with branch", s.Length, 35.72, 1e-9)
	near(t, "volume with branch", s.Volume, 0.200120+0.019635+0.001885, 1e-6)
	// A level reach, half full; nothing above the level.
	level := Reach{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10, InvertDown: 10}
	near(t, "level pipe", StandingWater([]Reach{level}, 10.05).Volume, 0.0392699, 1e-7)
	if s := StandingWater([]Reach{main}, 9.9); s != (Standing{}) {
		t.Errorf("below the invert: %+v", s)
	}
}

// The hoof against summed slices.
func TestHoofAgainstSlices(t *testing.T) {
	const slices = 20000
	for _, depth := range []float64{0.01, 0.05, 0.08, 0.1, 0.17} {
		sum := 0.0
		for k := range slices {
			sum += SegmentAt(0.1, depth*(float64(k)+0.5)/slices).Area * depth / slices
		}
		if got := hoof(0.1, depth); math.Abs(got-sum) > 1e-6*sum {
			t.Errorf("depth %g: %.9f, slices %.9f", depth, got, sum)
		}
	}
}

// Weep alone. A full level pipe of length L empties through a hole at its invert:
// its surface is 2 (y (D-y))^0.5 L, so t = L/(Co a (2g)^0.5) x integral of
// 2 (D-y)^0.5 = 4/3 D^1.5 L / (Co a (2g)^0.5). L 10 m, D 0.1 m, a 1e-4 m2: 0.421637 /
// (0.67e-4 x 4.428690) = 1421 s.
func TestDrainThroughWeepByHand(t *testing.T) {
	pipe := []Reach{{Next: -1, Length: 10, Diameter: 0.1, Roughness: 0.012, InvertUp: 10, InvertDown: 10}}
	want := 4.0 / 3 * math.Pow(0.1, 1.5) * 10 / (OrificeCoeff * 1e-4 * math.Sqrt(2*Gravity))
	got, left := DrainTime(pipe, 10.1, Weep{1e-4, 10}, StoneBed{Area: 1, Depth: 1, Porosity: 0.4}, 0)
	if math.Abs(got-want) > 2e-3*want || math.Abs(got-1421) > 5 || left != 0 {
		t.Errorf("%.1f s and %g m3 left, by hand %.1f s", got, left, want)
	}
}

// Soil alone. 0.200120 m3 behind a lid 0.3048 m over a wide weep; bed 1 m2 x 0.3 m
// at 0.4 holds 0.12 at once; the other 0.080120 m3 sink at 10 mm/h under 1 m2: 8.012
// h. The bed for 4 h: 0.200120 / (0.12 + 0.04) = 1.25075 m2, and it takes 4 h.
func TestDrainThroughSoilByHand(t *testing.T) {
	main := []Reach{{Next: -1, Length: 40, Diameter: 0.1, Roughness: 0.012, InvertUp: 10.4, InvertDown: 10}}
	const rate = 0.010 / hour
	weep := Weep{Area: 1, Elevation: 10}
	got, _ := DrainTime(main, 10.3048, weep, StoneBed{1, 0.3, 0.4}, rate)
	near(t, "hours", got/hour, 8.012, 0.001)
	area := StoneBedArea(0.200120, 4*hour, 0.3, 0.4, rate)
	near(t, "bed", area, 1.25075, 1e-5)
	got, _ = DrainTime(main, 10.3048, weep, StoneBed{area, 0.3, 0.4}, rate)
	near(t, "hours of that bed", got/hour, 4, 0.001)
	// No soil takes it: never. No lid over the weep: at once, and it stays.
	if got, _ := DrainTime(main, 10.3048, weep, StoneBed{1, 0.3, 0.4}, 0); !math.IsInf(got, 1) {
		t.Errorf("no soil: %g s", got)
	}
	if got, left := DrainTime(main, 10.02, Weep{1, 10.05}, StoneBed{1, 0.3, 0.4}, rate); got != 0 || left != StandingWater(main, 10.02).Volume {
		t.Errorf("weep over the water: %g s, %g m3 left", got, left)
	}
	// A weep 0.05 m over the invert leaves a hoof of half height to 5 m up.
	_, left := DrainTime(main, 10.3048, Weep{1, 10.05}, StoneBed{1, 0.3, 0.4}, rate)
	near(t, "left", left, 100*hoof(0.1, 0.05), 1e-12)
}

// 3 in at 2 % and n 0.011 carries 66 gpm full (full_flow_capacity by Manning:
// 3^(8/3) in feet; trade figure), and 2,000 ft2 of roof at 6 in/h shed 0.0103896 x 6
// x 2000 = 124.7 gpm: two outlets.
func TestTwoOutletsNeeded(t *testing.T) {
	hole := FullCapacity(3*inch, 0.011, 0.02)
	near(t, "3 in hole, gpm", hole/gallon*minute, 66.3, 0.1)
	roof := RationalFlow(1, 6*inch/hour, 2000*foot*foot)
	near(t, "roof, gpm", roof/gallon*minute, 124.7, 0.1)
	for flow, want := range map[float64]int{0: 1, hole: 1, 1.01 * hole: 2, roof: 2, 3 * hole: 3} {
		if got := OutletsNeeded(flow, hole); got != want {
			t.Errorf("%g of %g m3/s: %d outlets, want %d", flow, hole, got, want)
		}
	}
}

// Curb hole 3 m of 0.078 m (A 0.00477836) from 10.06 to 10.00.
// Steep and free: 1 m at 10 % from 10.10, headwater 10.40: 0.261 over the centre of
// 10.139: 0.67 x 0.00477836 x (2 x 9.80665 x 0.261)^0.5 = 0.00320150 x 2.262544 =
// 7.2436 L/s; the pipe itself lets 8.1 go: entrance. A low headwater: critical
// depth is 0.039 for Q = 0.00238918 x (9.80665 x 0.0306305)^0.5 = 1.30944 L/s, with
// V^2/2g = 0.0153153: it asks 0.039 + 1.5 x 0.0153153 = 0.061973 over the invert.
// Flat against a tailwater of 10.078, headwater 10.20: 0.122 m for friction and
// 1.5 heads: V^2/2g = Q^2/(19.6133 A^2) = 2233.04 Q^2, friction 3 Q^2/0.028849^2 =
// 3604.6 Q^2: 0.122 = (3604.6 + 1.5 x 2233.04) Q^2: Q = 4.1882 L/s; the mouth would
// let in 0.0032015 x (19.6133 x 0.101)^0.5 = 4.506: pipe.
func TestHoleCapacityByHand(t *testing.T) {
	steep := Reach{Length: 1, Diameter: 0.078, Roughness: 0.012, InvertUp: 10.1, InvertDown: 10, Tailwater: math.Inf(-1), Entry: 0.5}
	q, control := HoleCapacity(steep, 10.40)
	near(t, "steep, L/s", 1000*q, 7.2436, 1e-3)
	if control != EntranceControl {
		t.Errorf("steep: %s controls", control)
	}
	q, control = HoleCapacity(steep, 10.161973)
	near(t, "low, L/s", 1000*q, 1.30944, 1e-3)
	if control != EntranceControl {
		t.Errorf("low: %s controls", control)
	}
	flat := Reach{Length: 3, Diameter: 0.078, Roughness: 0.012, InvertUp: 10.06, InvertDown: 10, Tailwater: 10.078, Entry: 0.5}
	q, control = HoleCapacity(flat, 10.20)
	near(t, "flat, L/s", 1000*q, 4.1882, 1e-3)
	if control != PipeControl {
		t.Errorf("flat: %s controls", control)
	}
	// More head, more flow; at the tailwater's own level, none.
	last := -1.0
	for h := 10.08; h < 10.6; h += 0.01 {
		q, _ := HoleCapacity(flat, h)
		if q < last {
			t.Errorf("headwater %.2f: %g m3/s after %g", h, q, last)
		}
		last = q
	}
	if q, _ := HoleCapacity(flat, 10.05); q != 0 {
		t.Errorf("headwater under the tailwater: %g m3/s", q)
	}
}

// 5 L/s over a lid 0.15 m across: perimeter 0.471239, (0.005 / (1.66 x
// 0.471239))^(2/3) = 0.0063917^(2/3) = 0.034443 m over the lid.
func TestEmitterTailwaterByHand(t *testing.T) {
	near(t, "level", EmitterTailwater(10.3, 0.15*math.Pi, 0.005), 10.334443, byHand)
	if EmitterTailwater(10.3, 0.5, 0) != 10.3 {
		t.Error("no flow stands over the lid")
	}
}
