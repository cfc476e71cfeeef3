package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// openField answers for pipes among rectangles, with no limit on inverts.
func openField(boxes []orb.Ring) constraint.Line {
	return func(st []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
		for _, r := range boxes {
			if from, to := inside(r, a, b); to-from > 1e-9 {
				return st, 0, false
			}
		}
		l := planar.Distance(a, b)
		return append(st, constraint.Free(0, 100, -100), constraint.Free(l, 100, -100)), l, true
	}
}

func plainRules(line constraint.Line) Rules {
	return Rules{
		Start:  func(int) float64 { return 50 },
		Line:   func(int, int, float64) (constraint.Line, float64) { return line, 0.01 },
		Outlet: func(int, float64) (orb.Point, float64, bool) { return orb.Point{}, 0, true },
		Turn:   func(_, _, _ orb.Point, _ bool) float64 { return 0 },
		Split:  math.Inf(1),
		Apart:  0.1,
	}
}

func point(x, y float64, next, source, outlet int) Point {
	return Point{Vertex{orb.Point{x, y}, next, source, outlet}, math.NaN()}
}

// A way pressed round two rectangles comes to the shortest one through their
// corners, however it is laid at first.
func TestRefineComesToTheCorners(t *testing.T) {
	boxes := []orb.Ring{
		closedRing([][2]float64{{4, -5}, {6, -5}, {6, 3}, {4, 3}}),
		closedRing([][2]float64{{10, -1}, {12, -1}, {12, 8}, {10, 8}}),
	}
	shortest := math.Hypot(4, 3) + 2 + math.Hypot(4, 4) + 2 + math.Hypot(4, 1)
	rules := plainRules(openField(boxes))
	rules.Split = 1.5
	rng := rand.New(rand.NewPCG(4, 4))
	for range 50 {
		j := func(v float64) float64 { return v + 0.9*rng.Float64() }
		plan := Plan{point(0, 0, 1, 0, -1), point(3-rng.Float64(), j(3.1), 2, -1, -1), point(j(6.1), j(3.1), 3, -1, -1),
			point(9-rng.Float64(), -1.1-rng.Float64(), 4, -1, -1), point(j(12.1), -1.1-rng.Float64(), 5, -1, -1), point(16, 0, -1, -1, 0)}
		refined, cost := Refine(context.Background(), plan, rules, 0.5)
		if cost > shortest*1.001 || cost < shortest*(1-1e-9) {
			t.Errorf("%v of %.4f m, the shortest way is %.4f m", refined, cost, shortest)
		}
	}
}

// Three arms of a tree in the open: the join moves to where they meet at equal
// angles.
func TestRefineFindsTheJoin(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 4))
	side := 20.0
	for range 20 {
		plan := Plan{point(0, 0, 2, 0, -1), point(side, 0, 2, 1, -1), point(6+8*rng.Float64(), 2+8*rng.Float64(), 3, -1, -1),
			point(side/2, side*math.Sqrt(3)/2, -1, -1, 0)}
		if _, cost := Refine(context.Background(), plan, plainRules(openField(nil)), 0.5); math.Abs(cost-side*math.Sqrt(3)) > 1e-3 {
			t.Errorf("a tree of %.5f m, the shortest is %.5f m", cost, side*math.Sqrt(3))
		}
	}
}

// Where large turns are dear, joins and bends are led into small ones, and no
// pipes cross for it.
func TestRefineRoundsTurns(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 4))
	most := math.Pi/4 + 1e-9
	rules := plainRules(openField(nil))
	rules.Most = func(bool) float64 { return most }
	rules.Short = 0.2
	rules.TooShort = 3
	turn := func(a, b, c orb.Point) float64 {
		ux, uy, vx, vy := b[0]-a[0], b[1]-a[1], c[0]-b[0], c[1]-b[1]
		return math.Abs(math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy))
	}
	rules.Turn = func(a, b, c orb.Point, _ bool) float64 {
		if turn(a, b, c) > most {
			return 3
		}
		return 0.1
	}
	for k := range 60 {
		plan := Plan{point(0, 0, 1, 0, -1), point(8, 4*rng.NormFloat64(), 2, -1, -1), point(14, 3*rng.NormFloat64(), 3, -1, -1), point(25, 0, -1, -1, 0),
			point(8+rng.NormFloat64(), 8+4*rng.Float64(), 1, 1, -1), point(14+rng.NormFloat64(), -8-4*rng.Float64(), 2, 2, -1)}
		if plan.tangled(0.1) {
			continue
		}
		refined, _ := Refine(context.Background(), plan, rules, 1)
		if refined.tangled(toldApart) {
			t.Fatalf("plan %d: pipes cross: %v", k, refined)
		}
		for u := range refined {
			if v := refined[u].Next; v >= 0 && refined[v].Next >= 0 {
				if a := turn(refined[u].At, refined[v].At, refined[refined[v].Next].At); a > most {
					t.Errorf("plan %d: a turn of %.1f degrees", k, a*180/math.Pi)
				}
			}
		}
	}
}

// Two systems side by side share no point and no pipe of either meets the
// other's.
func TestAmong(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 4))
	found := 0
	for range 40 {
		line := openField(nil)
		p := Problem{Lattice: Lattice{Step: 1, Cols: 14, Rows: 10, Usable: make([]bool, 140)}, Reach: 3, SlopeMin: 0.01, Interior: line}
		for i := range p.Usable {
			p.Usable[i] = true
		}
		for range 4 {
			p.Sources = append(p.Sources, Source{At: orb.Point{13 * rng.Float64(), 2 + 7*rng.Float64()}, Start: 50, Leave: line, Reach: 2})
		}
		for x := range 13 {
			p.Outlets = append(p.Outlets, Outlet{At: orb.Point{float64(x) + 0.5, -1}, Enter: line, Slope: 0.01, Reach: 2.5})
		}
		g := New(p)
		var all Plan
		var laid []Vertex
		for _, part := range [][]int{{0, 1}, {2, 3}} {
			g.Among(part, laid)
			j, err := g.Join(context.Background(), 2)
			if err != nil {
				t.Fatal(err)
			}
			for s, v := range j.Verdicts {
				if v.Served && s != part[0] && s != part[1] {
					t.Fatalf("source %d is taken in unasked", s)
				}
			}
			first := len(laid)
			for _, v := range j.Vertices {
				if v.Next >= 0 {
					v.Next += first
				}
				laid = append(laid, v)
				all = append(all, Point{v, math.NaN()})
			}
			if len(j.Vertices) > 0 {
				found++
			}
		}
		for u := range all {
			for v := range u {
				if all[u].At == all[v].At && all[u].Outlet < 0 {
					t.Fatalf("two systems share %v", all[u].At)
				}
			}
		}
		for u, p := range all {
			for _, q := range all[:u] {
				if p.Next >= 0 && q.Next >= 0 && meets(p.At, all[p.Next].At, q.At, all[q.Next].At) {
					t.Fatal("two systems cross")
				}
			}
		}
	}
	if found < 70 {
		t.Errorf("%d of 80 systems found their way", found)
	}
}

// What a plan costs as it is, summed down its tree, is what the choice of places
// comes to where each point has one; where that finds none, height is missing or
// a pipe is barred.
func TestCostAsDrawn(t *testing.T) {
	rng := rand.New(rand.NewPCG(131, 137))
	admitted, refused := 0, 0
	for range 2000 {
		law, _ := randomPlane(rng, 0.4)
		r := Rules{
			Start: func(int) float64 { return 20 },
			Line:  func(int, int, float64) (constraint.Line, float64) { return law.Interior, law.SlopeMin },
			Outlet: func(int, float64) (orb.Point, float64, bool) {
				return orb.Point{}, law.Outlets[0].MinInvert - 0.5, true
			},
			Turn: func(a, b, c orb.Point, joined bool) float64 { return a[0]*0.1 + c[1]*0.01 + float64(b2i(joined)) },
		}
		// Each point runs to one nearer the outlet.
		plan := Plan{point(5, 0, -1, -1, 0)}
		for v := 1; v < 7; v++ {
			n := rng.IntN(v)
			plan = append(plan, point(10*rng.Float64(), plan[n].At[1]+0.3+2*rng.Float64(), n, v, -1))
		}
		p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
		p.take(plan)
		short, ok := p.lacks()
		cost := 0.0
		if ok {
			cost = p.cost()
		}
		p.stay()
		want, chosen := p.cheapest()
		if ok != (chosen != nil) || ok && math.Abs(cost-want) > 1e-9 || !ok && short <= 0 {
			t.Fatalf("%v: %v, %v short, admitted %v; by choice %v, %v", plan, cost, short, ok, want, chosen != nil)
		}
		admitted += b2i(ok)
		refused += b2i(!ok)
	}
	if admitted < 100 || refused < 100 {
		t.Errorf("%d plans admitted, %d refused: too few to tell", admitted, refused)
	}
}
