package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// rulesOf are a random plane's for ways off its lattice.
func rulesOf(p *Problem) Rules {
	return Rules{
		Start: func(s int) float64 { return p.Sources[s].Start },
		Line: func(_, o int, _ float64) (constraint.Line, float64) {
			if o < 0 {
				return p.Interior, p.SlopeMin
			}
			return p.Outlets[o].Enter, p.Outlets[o].Slope
		},
		Outlet: func(o int, _ float64) (orb.Point, float64, bool) {
			return p.Outlets[o].At, p.Outlets[o].MinInvert, true
		},
		Split: 4,
	}
}

// planOf is a way of source s as a plan.
func planOf(p *Problem, s int, w Way) Plan {
	plan := Plan{{Vertex{p.Sources[s].At, 1, s, -1}, math.NaN()}}
	for _, q := range w.Points {
		plan = append(plan, Point{Vertex{q, len(plan) + 1, -1, -1}, math.NaN()})
	}
	return append(plan, Point{Vertex{p.Outlets[w.Outlet].At, -1, -1, w.Outlet}, math.NaN()})
}

// wayOf is the way of a plan of one source.
func wayOf(plan Plan) (w Way) {
	v := plan[0].Next
	for ; plan[v].Outlet < 0; v = plan[v].Next {
		w.Points = append(w.Points, plan[v].At)
	}
	w.Outlet = plan[v].Outlet
	return w
}

// A way raised in the plane attains what it is said to, never less than on the
// lattice, and seldom less than the best way to its outlet on a lattice four times
// as fine. A lattice bent to it has it, but where a utility is passed so closely
// that it matters at which points of a line this law looks.
func TestRaise(t *testing.T) {
	const (
		rounding = 20 * constraint.Tolerance
		told     = 0.001 // m
	)
	rng := rand.New(rand.NewPCG(43, 47))
	ways, higher, behind, lacking := 0, 0, 0, 0
	for n := range 60 {
		p, highest := randomPlane(rng, 0.05)
		for k := range p.Outlets {
			p.Outlets[k].Reach = 30 // else a finer lattice has shorter ends
			p.Outlets[k].LeaveFrom = func(int) constraint.Line { return p.Interior }
		}
		for s := range p.Sources {
			p.Sources[s].Reach = 30
			w, ok := NewSweeps(NewArcs(p), p.Sources, p.Outlets, highest).Best(s, math.Inf(-1))
			if !ok {
				continue
			}
			ways++
			raised, margin := Raise(context.Background(), planOf(&p, s, w), rulesOf(&p), 1, math.Inf(1), math.Inf(-1))
			if margin < w.Margin-rounding {
				t.Fatalf("plane %d, source %d: raised from %v to %v", n, s, w.Margin, margin)
			}
			if margin > w.Margin+told {
				higher++
			}
			r := wayOf(raised)
			if m := p.Attains(s, r); math.Abs(m-margin) > told {
				t.Errorf("plane %d, source %d: attains %v, not %v", n, s, m, margin)
			}
			only := p
			only.Outlets = p.Outlets[w.Outlet : w.Outlet+1]
			if f, ok := NewSweeps(NewArcs(finer(only)), p.Sources, only.Outlets, highest).Best(s, margin+told); ok {
				behind++
				t.Logf("plane %d, source %d: %.4f on the lattice, %.4f raised, %.4f on a finer lattice", n, s, w.Margin, margin, f.Margin)
			}
			bent := p
			bent.Usable = append([]bool(nil), p.Usable...)
			bent.Bend(r.Points)
			if _, ok := NewSweeps(NewArcs(bent), p.Sources, p.Outlets, highest).Best(s, margin-told); !ok {
				lacking++
				t.Logf("plane %d, source %d: the lattice bent to a way of margin %.4f lacks it", n, s, margin)
			}
		}
	}
	t.Logf("%d ways, %d raised by %v m and more, %d so much below a finer lattice, %d lacking on the lattice bent to them", ways, higher, told, behind, lacking)
	if higher < ways/4 || behind > ways/20 || lacking > ways/50 {
		t.Errorf("of %d ways %d are raised, %d below a finer lattice, %d lacking on the bent one", ways, higher, behind, lacking)
	}
}

// finer is a problem on a lattice of a quarter of the spacing over the same nodes.
func finer(p Problem) Problem {
	l := Lattice{Origin: p.Origin, Step: p.Step / 4, Cols: 4*p.Cols - 3, Rows: 4*p.Rows - 3}
	l.Usable = make([]bool, l.Cols*l.Rows)
	for i := range l.Usable {
		l.Usable[i] = true
	}
	p.Lattice = l
	return p
}
