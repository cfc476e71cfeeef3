package search

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// relaxed is a sweep in its own words: every arc is tried until none betters
// anything. from starts it, over is what comes by an arc.
func (g *Search) relaxed(from []float64, over func(i, j int, y float64) (float64, bool)) []float64 {
	for changed := true; changed; {
		changed = false
		for i, y := range from {
			if math.IsInf(y, 0) {
				continue
			}
			g.each(i, func(j int, _ *step) {
				if x, ok := over(i, j, y); ok && x < from[j] {
					from[j], changed = x, true
				}
			})
		}
	}
	return from
}

// plainNeeds is what reverse settles.
func (g *Search) plainNeeds(targets []target) []float64 {
	need := fill(len(g.Usable), math.Inf(1))
	for k := range targets {
		x := &targets[k]
		if r, ok := x.need(g.Outlets[x.outlet].Slope); ok {
			need[x.node] = math.Min(need[x.node], r)
		}
	}
	return g.relaxed(need, func(i, j int, r float64) (float64, bool) {
		return g.spanning(g.At(j), g.At(i)).up(r, g.SlopeMin)
	})
}

// plainPrices is what prices settles.
func (g *Search) plainPrices(targets []target, need []float64) []float64 {
	price := fill(len(g.Usable), math.Inf(1))
	for k := range targets {
		if n := targets[k].node; !math.IsInf(need[n], 1) {
			price[n] = math.Min(price[n], targets[k].arc.priced)
		}
	}
	return g.relaxed(price, func(i, j int, c float64) (float64, bool) {
		a := g.spanning(g.At(j), g.At(i))
		return c + a.priced, a.ok && !math.IsInf(need[j], 1)
	})
}

// plainMargin is the margin forward comes to.
func (g *Search) plainMargin(s int, targets []target) float64 {
	low := fill(len(g.Usable), math.Inf(1)) // inverts, turned round
	for _, k := range g.links[s] {
		if k.node >= 0 {
			if y, ok := k.down(g.Sources[s].Start, g.SlopeMin); ok {
				low[k.node] = math.Min(low[k.node], -y)
			}
		}
	}
	g.relaxed(low, func(i, j int, y float64) (float64, bool) {
		y, ok := g.spanning(g.At(i), g.At(j)).down(-y, g.SlopeMin)
		return -y, ok
	})
	margin := math.Inf(-1)
	for k := range targets {
		x := &targets[k]
		if y, ok := x.arc.down(-low[x.node], g.Outlets[x.outlet].Slope); ok && !math.IsInf(low[x.node], 1) {
			margin = math.Max(margin, y-x.min)
		}
	}
	return margin
}

// sameTo tells whether two lists agree to the rounding in a sum.
func sameTo(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return x == y || math.Abs(x-y) < 1e-9 })
}

// Sweeps that ask the law where the answer could matter, told of each point's
// span or not, keeping arcs or not, settle what trying every arc does.
func TestSweepsPlain(t *testing.T) {
	rng := rand.New(rand.NewPCG(89, 97))
	settled, told := 0, 0
	for n := range 60 {
		p, highest := randomPlane(rng, 0.4)
		p.Reach, p.Forget = 1+n%4, n%3 == 0
		if n%2 == 0 {
			p.Span = func(q orb.Point) (float64, float64) { return math.Inf(-1), highest(q) }
			told++
		}
		g := New(p)
		targets := g.targets()
		need := g.plainNeeds(targets)
		price := g.plainPrices(targets, need)
		got := g.reverse(targets, math.Inf(1))
		if !sameTo(got.need, need) || !sameTo(got.price, price) {
			t.Fatalf("problem %d: needs or prices differ", n)
		}
		for s := range g.Sources {
			m, _ := g.forward(s, targets)
			if want := g.plainMargin(s, targets); !sameTo([]float64{m}, []float64{want}) {
				t.Fatalf("problem %d, source %d: margin %v, of every arc %v", n, s, m, want)
			}
		}
		for _, r := range need {
			settled += b2i(!math.IsInf(r, 1))
		}
	}
	if settled < 2000 || told < 20 {
		t.Errorf("%d nodes settled, %d problems told of spans: too few to tell", settled, told)
	}
}

// Networks come out the same to the last digit whether arcs are kept or asked for
// anew.
func TestForgetting(t *testing.T) {
	rng := rand.New(rand.NewPCG(101, 103))
	for n := range 12 {
		c := wideNetwork(rng, 16, 18, 1+n%5)
		c.reach = 1 + n%4
		join := func(forget bool) (list []Vertex) {
			c.forget = forget
			g, targets := c.posed()
			c.poseOutlets(g, targets, 1+n%3)
			g.MayCross = n%2 == 0
			j, err := g.Join(context.Background(), 1)
			if err != nil {
				t.Fatal(err)
			}
			return j.Vertices
		}
		if kept := join(false); !reflect.DeepEqual(kept, join(true)) || len(kept) == 0 {
			t.Errorf("network %d differs", n)
		}
	}
}

// Arcs asked for all at once are those asked for one by one.
func TestAskAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(127, 131))
	arcs, ways := 0, 0
	for n := range 20 {
		p, _ := randomPlane(rng, 0.4)
		p.Reach = 1 + n%4
		one := New(p)
		p.Another = func() constraint.Line { return p.Interior }
		all := New(p)
		if err := all.askAll(context.Background()); err != nil {
			t.Fatal(err)
		}
		for i := range p.Usable {
			if !p.Usable[i] {
				continue
			}
			one.each(i, func(_ int, s *step) {
				if s.back {
					return
				}
				k, arc := s.offset, one.pair(i, s.offset)
				if got := all.arcs[i]; got == nil || !reflect.DeepEqual(*arc, got[k]) {
					t.Fatalf("problem %d: arc %d of node %d differs", n, k, i)
				}
				arcs++
			})
		}
		ways += len(one.stations)
		if !reflect.DeepEqual(one.stations, all.stations) {
			t.Errorf("problem %d: stations differ", n)
		}
	}
	if arcs < 2000 || ways < 100 {
		t.Errorf("%d arcs, %d of them with stations: too few to tell", arcs, ways)
	}
}

// The queue gives what was put into it lowest first, of equals the lower node.
func TestQueue(t *testing.T) {
	rng := rand.New(rand.NewPCG(107, 109))
	for range 100 {
		var q queue
		var plain []queued
		for range 300 {
			if rng.IntN(3) > 0 || q.len() == 0 {
				x := queued{float64(rng.IntN(20)), int32(rng.IntN(50))}
				q.push(x.v, int(x.n))
				plain = append(plain, x)
				continue
			}
			slices.SortFunc(plain, func(a, b queued) int { return cmp.Or(cmp.Compare(a.v, b.v), cmp.Compare(a.n, b.n)) })
			if v, n := q.pop(); (queued{v, int32(n)}) != plain[0] {
				t.Fatalf("%v at %v, not %v", v, n, plain[0])
			}
			plain = plain[1:]
		}
	}
}
