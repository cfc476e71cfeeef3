package hydraulics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// marched integrates dy/dx = (S - Sf) / (1 - Fr^2) upstream by Runge and Kutta
// in steps of 1 mm: the equation of gradually varied flow, not the energy
// equation the package steps.
func marched(r Reach, depth float64) float64 {
	const dx = 1e-3
	rate := func(y float64) float64 {
		s := SegmentAt(r.Diameter, y)
		v := r.Flow / s.Area
		friction := square(v*r.Roughness) / math.Pow(s.HydraulicRadius, 4.0/3)
		return -(r.slope() - friction) / (1 - v*v/(Gravity*s.Area/s.TopWidth))
	}
	for range int(math.Round(r.Length / dx)) {
		a := rate(depth)
		b := rate(depth + dx/2*a)
		c := rate(depth + dx/2*b)
		d := rate(depth + dx*c)
		depth += dx / 6 * (a + 2*b + 2*c + d)
	}
	return depth
}

// A mild pipe, 1.5 L/s in 0.1 m at 0.2 %: backed up behind a tailwater deeper
// than uniform flow, and drawn down towards a free outlet; short, so that neither
// has settled at its upper end.
func TestBackwaterAgainstMarching(t *testing.T) {
	for _, length := range []float64{2, 6, 15} {
		r := Reach{Next: -1, Length: length, Diameter: 0.1, Roughness: 0.012, InvertUp: 10 + 0.002*length, InvertDown: 10, Flow: 0.0015, Rim: closed}
		uniform := NormalDepth(r.Flow, r.Diameter, r.Roughness, 0.002).Depth
		critical := CriticalDepth(r.Flow, r.Diameter)
		if critical > 0.9*uniform {
			t.Fatalf("not mild: critical %g, uniform %g", critical, uniform)
		}
		// 1 % above critical, where the marched equation starts to be finite; the
		// package's own 0.3 mm of stepping is what the two may differ by.
		for _, start := range []float64{0.075, critical * 1.01} {
			r.Tailwater = 10 + start
			got := mustGrade(t, []Reach{r})[0].Up - r.InvertUp
			if want := marched(r, start); math.Abs(got-want) > 3e-4 {
				t.Errorf("%g m up from %.4f m: depth %.5f, marched %.5f (uniform %.5f)", length, start, got, want, uniform)
			}
		}
	}
}

// Laws on random trees: more tailwater, more flow or more loss never lowers a
// level; a level is never under the one it drains to but for a drop in the pipe;
// where uniform flow fits and nothing holds it, a pipe is not full.
func TestGradeLineLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for n := range 300 {
		var reaches []Reach
		for k := range 1 + rng.IntN(7) {
			r := Reach{Next: -1, Length: 1 + 20*rng.Float64(), Diameter: 0.15, Roughness: 0.012, InvertDown: 10, Tailwater: 10 + 0.4*rng.Float64(),
				Flow: 0.01 * rng.Float64(), Entry: rng.Float64(), Join: rng.Float64(), AtRest: rng.IntN(2) == 0, Rim: closed}
			if k > 0 {
				r.Next = rng.IntN(k)
				r.InvertDown = reaches[r.Next].InvertUp
			}
			r.InvertUp = r.InvertDown + r.Length*(0.002+0.03*rng.Float64())
			reaches = append(reaches, r)
		}
		base := mustGrade(t, reaches)
		for k, g := range base {
			if g.Up < reaches[k].InvertUp || g.Node < g.Up || g.Down < reaches[k].InvertDown {
				t.Fatalf("tree %d reach %d: %+v", n, k, g)
			}
		}
		for what, raise := range map[string]func(r *Reach){
			"tailwater": func(r *Reach) { r.Tailwater += 0.05 },
			"roughness": func(r *Reach) { r.Roughness *= 1.1 },
			"entry":     func(r *Reach) { r.Entry += 0.2 },
		} {
			more := append([]Reach(nil), reaches...)
			for k := range more {
				raise(&more[k])
			}
			for k, g := range mustGrade(t, more) {
				// A deeper end is slower and so loses less: bends may give back a
				// little of what is raised, never more.
				if g.Node < base[k].Node-0.02 {
					t.Errorf("tree %d reach %d: more %s lowers the node from %.4f to %.4f", n, k, what, base[k].Node, g.Node)
				}
			}
		}
	}
}

// Halving the steps moves a level by less than is said.
func TestStepsAreFineEnough(t *testing.T) {
	for _, q := range []float64{0.0008, 0.0015, 0.0024} {
		for _, start := range []float64{0, 0.06, 0.12} {
			w := water{Reach: &Reach{Length: 12, Diameter: 0.1, Roughness: 0.012, InvertUp: 0.024, Flow: q}, critical: CriticalDepth(q, 0.1), full: SlopeForFlow(q, 0.1, 0.012)}
			end := func(steps int) float64 {
				y := math.Max(start, w.critical)
				for range steps {
					y = w.next(y, w.Length/float64(steps))
				}
				return y
			}
			if coarse, fine := end(24), end(480); math.Abs(coarse-fine) > 3e-4 {
				t.Errorf("%g m3/s from %g m: %.5f in steps of 0.5 m, %.5f in steps of 25 mm", q, start, coarse, fine)
			}
		}
	}
}

func BenchmarkGradeLine(b *testing.B) {
	var reaches []Reach
	for k := range 30 {
		reaches = append(reaches, Reach{Next: k - 1, Length: 8, Diameter: 0.15, Roughness: 0.012, InvertUp: 10.08 + 0.08*float64(k), InvertDown: 10 + 0.08*float64(k), Flow: 0.008, Tailwater: 10.1, Rim: 10.6 + 0.08*float64(k)})
	}
	for b.Loop() {
		if _, err := GradeLine(reaches); err != nil {
			b.Fatal(err)
		}
	}
}
