package search

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// fittingRules price bends and forbid turns of more than 45 degrees but for
// basins, in a field with boxes; the outlet lies fast.
func fittingRules(boxes []orb.Ring, outlet orb.Point) Rules {
	r := plainRules(openField(boxes))
	const most = math.Pi/4 + 1e-9
	r.Most = func(bool) float64 { return most }
	r.Turn = func(a, b, c orb.Point, joined bool) float64 {
		switch t := turnOf(unit(a, b), unit(b, c)); {
		case t > most:
			return 3
		case joined || t < math.Pi/180:
			return 0
		}
		return bendPriced
	}
	r.Short, r.TooShort = 0.2, 3
	r.Outlet = func(int, float64) (orb.Point, float64, bool) { return outlet, 0, true }
	return r
}

const bendPriced = 0.3

// onFittings tells whether bends and wyes that are sold make every turn of a
// plan but at inflows, judged from its points alone.
func onFittings(t *testing.T, plan Plan) {
	t.Helper()
	degrees := func(u, v int) float64 {
		a, b, c := plan[u].At, plan[v].At, plan[plan[v].Next].At
		in, out := math.Atan2(b[1]-a[1], b[0]-a[0]), math.Atan2(c[1]-b[1], c[0]-b[0])
		return math.Abs(math.Remainder(out-in, 2*math.Pi)) * 180 / math.Pi
	}
	for v := range plan {
		var turns []float64
		for u := range plan {
			if plan[u].Next == v && plan[v].Next >= 0 && plan[v].Source < 0 {
				turns = append(turns, degrees(u, v))
			}
		}
		slices.Sort(turns)
		for k, x := range turns {
			near := 22.5 * math.Round(x/22.5)
			if math.Abs(x-near) > 0.02 || near > 45 || len(turns) > 1 && (k == 0) != (near == 0) || len(turns) > 1 && k > 0 && near != 45 {
				t.Errorf("water turns by %.3f degrees at %v", turns, plan[v].At)
			}
		}
	}
}

// One way round the corner of a box: its bends are 22.5 and 45 degrees, and it
// is no longer than the best way with up to two of them there is.
func TestFitRoundsACorner(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 4))
	worst := 0.0
	for range 60 {
		x, y := 6+8*rng.Float64(), 2+4*rng.Float64()
		box := closedRing([][2]float64{{x - 1, -9}, {x + 1, -9}, {x + 1, y}, {x - 1, y}})
		end := orb.Point{20, 0}
		r := fittingRules([]orb.Ring{box}, end)
		free, cost := Refine(context.Background(), Plan{point(0, 0, 1, 0, -1), point(x-1.2, y+0.6, 2, -1, -1), point(x+1.2, y+0.6, 3, -1, -1), point(20, 0, -1, -1, 0)}, r, 0.5)
		if math.IsInf(cost, 1) {
			t.Fatal("no way to begin with")
		}
		plan, unfit := Fit(context.Background(), free, r)
		if unfit > 0 {
			t.Errorf("box to (%.2f, %.2f): no fittings for %v", x, y, free)
			continue
		}
		onFittings(t, plan)
		got, best := 0.0, bestRound(box, end)
		p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
		got, ok := p.try(plan)
		if !ok {
			t.Errorf("%v is not admissible", plan)
		}
		worst = math.Max(worst, got/best-1)
	}
	t.Logf("at most %.2f %% dearer than the best of three straight pipes", 100*worst)
	if worst > 0.01 {
		t.Errorf("%.2f %% dearer than the best of three straight pipes", 100*worst)
	}
}

// bestRound is the least price of ways from the origin to end past a box with
// one or two bends of 22.5 or 45 degrees, over a fine sweep of the direction they
// start in.
func bestRound(box orb.Ring, end orb.Point) float64 {
	best := math.Inf(1)
	clear := func(a, b orb.Point) bool {
		from, to := inside(box, a, b)
		return to-from <= 1e-9
	}
	for start := 0.0; start < math.Pi/2; start += 0.002 {
		for _, turns := range [][]float64{{1}, {2}, {1, 1}, {1, 2}, {2, 1}, {2, 2}} {
			// The last pipe's line goes back from the end; the first one's is cut there,
			// or, with two bends, wherever the middle one starts.
			sum := 0.0
			for _, x := range turns {
				sum += x
			}
			last := start - sum*math.Pi/8
			u, w := orb.Point{math.Cos(start), math.Sin(start)}, orb.Point{math.Cos(last), math.Sin(last)}
			if len(turns) == 1 {
				d := u[0]*w[1] - u[1]*w[0]
				l := (end[0]*w[1] - end[1]*w[0]) / d
				corner := orb.Point{l * u[0], l * u[1]}
				if l > 0.2 && planar.Distance(corner, end) > 0.2 && (end[0]-corner[0])*w[0]+(end[1]-corner[1])*w[1] > 0 && clear(orb.Point{}, corner) && clear(corner, end) {
					best = math.Min(best, l+planar.Distance(corner, end)+bendPriced)
				}
				continue
			}
			mid := start - turns[0]*math.Pi/8
			m := orb.Point{math.Cos(mid), math.Sin(mid)}
			for l := 0.2; l < 22; l += 0.05 {
				a := orb.Point{l * u[0], l * u[1]}
				d := m[0]*w[1] - m[1]*w[0]
				k := ((end[0]-a[0])*w[1] - (end[1]-a[1])*w[0]) / d
				b := orb.Point{a[0] + k*m[0], a[1] + k*m[1]}
				if k > 0.2 && (end[0]-b[0])*w[0]+(end[1]-b[1])*w[1] > 0.2 && clear(orb.Point{}, a) && clear(a, b) && clear(b, end) {
					best = math.Min(best, l+k+planar.Distance(b, end)+2*bendPriced)
				}
			}
		}
	}
	return best
}

// Trees of several inflows in the open are joined by wyes of 45 degrees, for a
// bend or two more than where water turned freely, and pipe up to 2 % longer.
func TestFitJoinsByWyes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 4))
	fitted, free, none := 0.0, 0.0, 0
	for range 60 {
		end := orb.Point{25, 0}
		r := fittingRules(nil, end)
		j := func(v, by float64) float64 { return v + by*(rng.Float64()-0.5) }
		plan := Plan{
			point(0, j(0, 2), 3, 0, -1), point(j(4, 2), j(6, 2), 3, 1, -1), point(j(12, 2), j(-5, 2), 4, 2, -1),
			point(j(9, 2), j(1, 1), 4, -1, -1), point(j(17, 2), j(0, 1), 5, -1, -1), point(25, 0, -1, -1, 0),
		}
		refined, cost := Refine(context.Background(), plan, r, 0.5)
		q, unfit := Fit(context.Background(), refined, r)
		if none += unfit; unfit > 0 {
			continue
		}
		onFittings(t, q)
		p := &planner{Rules: r, arcs: map[arcKey]*slopedArc{}}
		c, ok := p.try(q)
		if !ok || q.tangled(r.Apart) {
			t.Errorf("%v is not admissible", q)
		}
		fitted, free = fitted+c, free+cost
	}
	t.Logf("%.2f %% dearer than turned freely; no fittings for %d of 60", 100*(fitted/free-1), none)
	if fitted/free > 1.04 || none > 0 {
		t.Errorf("%.2f %% dearer than turned freely; no fittings for %d of 60", 100*(fitted/free-1), none)
	}
}
