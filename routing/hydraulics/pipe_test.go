package hydraulics

import (
	"math"
	"testing"
)

// Rows of partial_flow_geometry.csv (computed there from the exact segment
// equations by another program): y/D, A/Af, R/Rf, V/Vf, Q/Qf, T/D.
var segmentTable = [][6]float64{
	{0.050, 0.0187, 0.1302, 0.2569, 0.0048, 0.4359},
	{0.100, 0.0520, 0.2541, 0.4012, 0.0209, 0.6000},
	{0.150, 0.0941, 0.3715, 0.5168, 0.0486, 0.7141},
	{0.200, 0.1424, 0.4824, 0.6151, 0.0876, 0.8000},
	{0.250, 0.1955, 0.5865, 0.7007, 0.1370, 0.8660},
	{0.300, 0.2523, 0.6838, 0.7761, 0.1958, 0.9165},
	{0.350, 0.3119, 0.7740, 0.8430, 0.2629, 0.9539},
	{0.400, 0.3735, 0.8569, 0.9022, 0.3370, 0.9798},
	{0.450, 0.4364, 0.9323, 0.9544, 0.4165, 0.9950},
	{0.500, 0.5000, 1.0000, 1.0000, 0.5000, 1.0000},
	{0.550, 0.5636, 1.0595, 1.0393, 0.5857, 0.9950},
	{0.600, 0.6265, 1.1106, 1.0724, 0.6718, 0.9798},
	{0.650, 0.6881, 1.1526, 1.0993, 0.7564, 0.9539},
	{0.700, 0.7477, 1.1849, 1.1198, 0.8372, 0.9165},
	{0.750, 0.8045, 1.2067, 1.1335, 0.9119, 0.8660},
	{0.800, 0.8576, 1.2168, 1.1397, 0.9775, 0.8000},
	{0.813, 0.8707, 1.2172, 1.1400, 0.9926, 0.7798},
	{0.820, 0.8776, 1.2171, 1.1399, 1.0004, 0.7684},
	{0.850, 0.9059, 1.2131, 1.1374, 1.0304, 0.7141},
	{0.900, 0.9480, 1.1921, 1.1243, 1.0658, 0.6000},
	{0.938, 0.9743, 1.1601, 1.1041, 1.0757, 0.4823},
	{0.950, 0.9813, 1.1458, 1.0950, 1.0745, 0.4359},
	{1.000, 1.0000, 1.0000, 1.0000, 1.0000, 0.0000},
}

// fourDecimals is half the last printed digit of the table.
const fourDecimals = 0.5e-4

func TestSegmentTable(t *testing.T) {
	const d, n, s = 0.1, 0.012, 0.01
	full := SegmentAt(d, d)
	qf, vf := FullCapacity(d, n, s), FullVelocity(d, n, s)
	for _, row := range segmentTable {
		g := SegmentAt(d, row[0]*d)
		q, v := FlowAtDepth(d, n, s, row[0]*d)
		got := [6]float64{row[0], g.Area / full.Area, g.HydraulicRadius / full.HydraulicRadius, v / vf, q / qf, g.TopWidth / d}
		for i := range row {
			if math.Abs(got[i]-row[i]) > fourDecimals*1.01 {
				t.Errorf("y/D %.3f column %d: %.5f, table %.4f", row[0], i, got[i], row[i])
			}
		}
	}
}

// Rows of full_flow_capacity.csv (computed there): inside diameter in inches, n,
// slope, cfs, ft/s. k = 1.486 is printed for 1.4859, hence 1e-4 beside rounding.
func TestFullCapacity(t *testing.T) {
	for _, row := range [][5]float64{
		{3, 0.010, 0.020, 0.1625, 3.310},
		{4, 0.012, 0.010, 0.2062, 2.363},
		{6, 0.013, 0.010, 0.5611, 2.858},
		{8, 0.024, 0.005, 0.4628, 1.326},
		{12, 0.013, 0.010, 3.5628, 4.536},
		{24, 0.009, 0.040, 65.3536, 20.803},
	} {
		q := FullCapacity(row[0]*inch, row[1], row[2]) / (foot * foot * foot)
		v := FullVelocity(row[0]*inch, row[1], row[2]) / foot
		if math.Abs(q-row[3]) > 0.5e-4+1e-4*row[3] || math.Abs(v-row[4]) > 0.5e-3+1e-4*row[4] {
			t.Errorf("%g in, n %g, slope %g: %.4f cfs and %.3f ft/s, table %.4f and %.3f", row[0], row[1], row[2], q, v, row[3], row[4])
		}
	}
}

// FHWA HEC-22 3rd ed. Eq. 7-1: KQ = 0.312, read-quoted as 0.3117 in SI; three
// digits of it. KV = 0.397 is from memory and only follows from it.
func TestHandbookConstantsSI(t *testing.T) {
	if kq := FullCapacity(1, 1, 1); math.Abs(kq-0.3117) > 0.5e-4 {
		t.Errorf("KQ = %.5f, handbook 0.3117", kq)
	}
}

// Landmarks of the circle at constant n (computed; the peak near 0.94 and
// Q/Qf = 1 at 0.82 also read-quoted): greatest V/Vf 1.140 at 0.813, greatest
// Q/Qf 1.0757 at 0.938.
func TestLandmarks(t *testing.T) {
	const d, n, s = 0.3, 0.013, 0.02
	const steps = 10000
	var topV, atV, topQ, atQ, atFull float64
	for i := 1; i <= steps; i++ {
		r := float64(i) / steps
		q, v := FlowAtDepth(d, n, s, r*d)
		q, v = q/FullCapacity(d, n, s), v/FullVelocity(d, n, s)
		if v > topV {
			topV, atV = v, r
		}
		if q > topQ {
			topQ, atQ = q, r
		}
		if atFull == 0 && q >= 1 {
			atFull = r
		}
	}
	for _, l := range []struct {
		what           string
		got, want, tol float64
	}{
		{"greatest V/Vf", topV, 1.140, 0.5e-3},
		{"its depth", atV, 0.813, 0.5e-3},
		{"greatest Q/Qf", topQ, 1.0757, 0.5e-4},
		{"its depth", atQ, 0.938, 0.5e-3},
		{"depth of Q/Qf = 1", atFull, 0.82, 0.5e-2},
	} {
		if math.Abs(l.got-l.want) > l.tol {
			t.Errorf("%s is %.5f, want %g", l.what, l.got, l.want)
		}
	}
}

// Laws of the normal depth: it carries its flow, rises with it, and the pipe is
// full from just above the full capacity on, not before.
func TestNormalDepthLaws(t *testing.T) {
	for _, d := range []float64{0.078, 0.101, 0.15, 0.6} {
		for _, s := range []float64{0.001, 0.01, 0.2} {
			const n = 0.012
			full := FullCapacity(d, n, s)
			last := 0.0
			for i := 1; i <= 400; i++ {
				q := full * float64(i) / 400
				p := NormalDepth(q, d, n, s)
				back, _ := FlowAtDepth(d, n, s, p.Depth)
				if p.FlowsFull || p.DepthRatio <= last || math.Abs(back-q) > 1e-12*full {
					t.Fatalf("D %g S %g Q/Qf %g: %+v carries %g", d, s, q/full, p, back)
				}
				last = p.DepthRatio
			}
			if last > fullDepthRatio-0.01 {
				t.Errorf("full capacity at ratio %g, too near the end of the bracket", last)
			}
			if p := NormalDepth(full*(1+1e-9), d, n, s); !p.FlowsFull || p.DepthRatio != 1 {
				t.Errorf("D %g S %g: just above the full capacity: %+v", d, s, p)
			}
		}
	}
	if p := NormalDepth(0, 0.1, 0.012, 0.01); p != (Partial{}) {
		t.Errorf("no flow: %+v", p)
	}
	if p := NormalDepth(1e-3, 0.1, 0.012, 0); !p.FlowsFull {
		t.Errorf("flow on no slope: %+v", p)
	}
}

// The inverse functions undo what they invert, and the critical depth is where
// the Froude number is one.
func TestInverses(t *testing.T) {
	const q, d, n, s = 0.004, 0.101, 0.012, 0.013
	const tol = 1e-12
	if got := FullCapacity(d, n, SlopeForFlow(q, d, n)); math.Abs(got-q) > tol*q {
		t.Errorf("capacity on SlopeForFlow is %g, want %g", got, q)
	}
	if got := FullCapacity(SizeForFlow(q, n, s), n, s); math.Abs(got-q) > tol*q {
		t.Errorf("capacity at SizeForFlow is %g, want %g", got, q)
	}
	if got := FullVelocity(d, n, SlopeForVelocity(0.6, d, n)); math.Abs(got-0.6) > tol {
		t.Errorf("velocity on SlopeForVelocity is %g, want 0.6", got)
	}
	p := NormalDepth(q, d, n, s)
	if got := FrictionSlope(q, d, n, p.Depth); math.Abs(got-s) > 1e-9*s {
		t.Errorf("friction slope at normal depth is %g, want %g", got, s)
	}
	g := SegmentAt(d, CriticalDepth(q, d))
	if froude := q / g.Area / math.Sqrt(Gravity*g.Area/g.TopWidth); math.Abs(froude-1) > 1e-9 {
		t.Errorf("Froude number at critical depth is %g", froude)
	}
}

func TestArgumentsPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"diameter 0":    func() { FullCapacity(0, 0.012, 0.01) },
		"roughness 0":   func() { NormalDepth(1, 0.1, 0, 0.01) },
		"slope below 0": func() { FullVelocity(0.1, 0.012, -0.01) },
		"flow NaN":      func() { NormalDepth(math.NaN(), 0.1, 0.012, 0.01) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}

func BenchmarkNormalDepth(b *testing.B) {
	full := FullCapacity(0.101, 0.012, 0.01)
	sum := 0.0
	for i := range b.N {
		sum += NormalDepth(full*float64(i%1000+1)/1000, 0.101, 0.012, 0.01).Depth
	}
	if sum == 0 {
		b.Fatal("no depth")
	}
}
