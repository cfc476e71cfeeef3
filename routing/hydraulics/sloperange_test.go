package hydraulics

import (
	"math"
	"testing"
)

// Within the range every limit is kept by the uniform flow itself, and just
// outside one is not.
func TestSlopeRange(t *testing.T) {
	const n = 0.013
	const nudge = 1e-6 // relative: far above the last bit of a bisection
	keeps := func(q, d, s float64, l FlowLimits) bool {
		p := NormalDepth(q, d, n, s)
		return s >= l.SlopeMin && s <= l.SlopeMax && !p.FlowsFull &&
			(p.DepthRatio <= l.FillingMax || l.FillingMax > fullDepthRatio) &&
			p.Velocity >= l.VelocityMin && p.Velocity <= l.VelocityMax
	}
	ranges, none := 0, 0
	for _, d := range []float64{0.1, 0.3, 1} {
		for _, q := range []float64{1e-4, 3e-3, 0.05, 0.8} {
			for _, filling := range []float64{0.5, 0.75, 0.82, 1} {
				for _, v := range [][2]float64{{0, math.Inf(1)}, {0.6, 3}, {0.9, 1.2}} {
					l := FlowLimits{SlopeMin: 0.002, SlopeMax: 0.4, FillingMax: filling, VelocityMin: v[0], VelocityMax: v[1]}
					lo, hi, ok := SlopeRange(q, d, n, l)
					if !ok {
						none++
						for s := 0.002; s <= 0.4; s *= 1.05 {
							if keeps(q, d, s, l) {
								t.Fatalf("D %g Q %g %+v: no range, but slope %g keeps it", d, q, l, s)
							}
						}
						continue
					}
					ranges++
					for _, s := range []float64{lo * (1 + nudge), hi * (1 - nudge), math.Sqrt(lo * hi)} {
						if hi > lo*(1+3*nudge) && !keeps(q, d, s, l) {
							t.Errorf("D %g Q %g %+v: slope %g within [%g, %g] does not keep it", d, q, l, s, lo, hi)
						}
					}
					for _, s := range []float64{lo * (1 - nudge), hi * (1 + nudge)} {
						if keeps(q, d, s, l) {
							t.Errorf("D %g Q %g %+v: slope %g outside [%g, %g] keeps it", d, q, l, s, lo, hi)
						}
					}
				}
			}
		}
	}
	if ranges < 30 || none < 30 {
		t.Errorf("%d ranges and %d without: the cases have become one-sided", ranges, none)
	}
	if lo, hi, ok := SlopeRange(0, 0.1, n, FlowLimits{SlopeMin: 0.01, SlopeMax: 0.2, FillingMax: 1, VelocityMin: 1, VelocityMax: 2}); lo != 0.01 || hi != 0.2 || !ok {
		t.Errorf("no flow: [%g, %g] %v", lo, hi, ok)
	}
}
