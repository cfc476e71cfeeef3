package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// randomPlane poses sources and outlets on wavy ground with a utility and a
// round obstacle, which the law looks at so often along a line, m; highest is the
// ceiling at a point.
func randomPlane(rng *rand.Rand, every float64) (p Problem, highest func(orb.Point) float64) {
	kx, ky, high := rng.NormFloat64()*0.5, rng.NormFloat64()*0.5, 0.3*rng.Float64()
	rise := 0.01 + 0.05*rng.Float64()
	highest = func(q orb.Point) float64 { return 10 + rise*q[1] + high*math.Sin(kx*q[0]+ky*q[1]) }
	obstacle := orb.Point{10 * rng.Float64(), 10 * rng.Float64()}
	deep := 0.2 + rng.Float64()
	buried := 2 + 5*rng.Float64() // a utility along y there
	line := func(st []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		n := math.Ceil(length / every)
		for k := 0.0; k <= n; k++ {
			t := k / n
			q := orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
			if math.Hypot(q[0]-obstacle[0], q[1]-obstacle[1]) < 1.5 || math.Max(math.Abs(q[0]-5), math.Abs(q[1]-4.5)) > 5.5 {
				return st, 0, false
			}
			s := constraint.Free(length*t, highest(q), highest(q)-deep)
			if math.Abs(q[1]-buried) < 0.3 {
				s.Low, s.High = s.Ceiling-0.6*deep, s.Ceiling-0.4*deep
			}
			st = append(st, s)
		}
		return st, length, true
	}
	p = Problem{Lattice: Lattice{Step: 1, Cols: 11, Rows: 11, Usable: make([]bool, 121)}, SlopeMin: 0.005 + 0.02*rng.Float64(), Interior: line}
	for k := range p.Usable {
		p.Usable[k] = rng.IntN(15) > 0
	}
	for range 3 {
		p.Sources = append(p.Sources, Source{At: orb.Point{10 * rng.Float64(), 4 + 6*rng.Float64()}, Start: math.Inf(1), Leave: line, Reach: 1.8})
	}
	for range 4 {
		o := Outlet{At: orb.Point{10 * rng.Float64(), -0.5}, MinInvert: 9.7 + 0.3*rng.Float64(), Enter: line, Slope: p.SlopeMin * (1 + rng.Float64()), Reach: 3}
		if rng.IntN(2) == 0 {
			o.LeaveFrom = func(int) constraint.Line { return line }
		}
		p.Outlets = append(p.Outlets, o)
	}
	return p, highest
}

// A sweep of one source comes to the margin the sweep of all finds, whatever
// least margin it may stop at, and its way attains it.
func TestSweepsAgree(t *testing.T) {
	const rounding = 20 * constraint.Tolerance // it may pass over as much at each node
	rng := rand.New(rand.NewPCG(41, 43))
	open, shut := 0, 0
	for n := range 300 {
		p, highest := randomPlane(rng, 0.4)
		want, err := New(p).Verdicts(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		arcs := NewArcs(p)
		for s, v := range want {
			for _, least := range []float64{math.Inf(-1), v.Margin - 0.05, v.Margin - 1e-6, v.Margin + 1e-6} {
				w, ok := NewSweeps(arcs, p.Sources, p.Outlets, highest).Best(s, least)
				if ok != (!math.IsInf(v.Margin, -1) && least <= v.Margin) {
					t.Fatalf("problem %d, source %d, least %v: found %v, the margin is %v", n, s, least, ok, v.Margin)
				}
				if !ok {
					shut++
					continue
				}
				open++
				if math.Abs(w.Margin-v.Margin) > rounding {
					t.Fatalf("problem %d, source %d, least %v: margin %v, want %v", n, s, least, w.Margin, v.Margin)
				}
				if m := p.Attains(s, w); math.Abs(m-w.Margin) > rounding {
					t.Fatalf("problem %d, source %d: its way attains %v, not %v", n, s, m, w.Margin)
				}
			}
		}
	}
	if open < 500 || shut < 100 {
		t.Errorf("%d ways found, %d not: too few to tell", open, shut)
	}
}
