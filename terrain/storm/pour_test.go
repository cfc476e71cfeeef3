package storm_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// By hand, on the trench 20 1 3 2 5 0 with 2.5 m3 in its first pit, which holds
// 2: the drain in the second takes what spills as far as it can, and the level
// over it is its ground's where that is all. Joined at 3 the two and the saddle
// between them hold 3 L - 6: 4 m3 stand at 10/3, 8 at 14/3.
func TestLevelsByHand(t *testing.T) {
	g := trench(20, 1, 3, 2, 5, 0)
	a, b := g.Index(1, 1), g.Index(3, 1)
	p, err := storm.Pour(depression.Build(g, []int{b}), storm.Water{Runoff: dry, Deliveries: []storm.Delivery{{a, 2.5}}, Drains: []storm.Drain{{b, math.NaN()}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ capacity, more, level, drained float64 }{
		{0, 0, 2.5, 0}, {0.25, 0, 2.25, 0.25}, {0.5, 0, 2, 0.5}, {9, 0, 2, 0.5}, {0, 0.5, 3, 0}, {0, 1.5, 10.0 / 3, 0}, {1, 6.5, 14.0 / 3, 1}, {1, 9, 5, 1},
	} {
		levels, drained, err := p.Levels([]float64{tt.capacity}, []storm.Delivery{{a, tt.more}})
		if err != nil || math.Abs(levels[0]-tt.level) > 1e-12 || drained[0] != tt.drained {
			t.Errorf("%+v: level %v, drained %v, %v", tt, levels, drained, err)
		}
	}
}

// On noisy ground, with drains anywhere: a pouring settled again is the storm
// run anew, and the levels are the ground and what stands on it.
func TestSettleAgain(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 50 {
		g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), 14, 11)
		for i := range g.Z {
			g.Z[i] = float32(300 + rng.Float64())
		}
		cells := []int{g.Index(4, 4), g.Index(9, 6), g.Index(6, 8)}
		tree := depression.Build(g, cells)
		w := storm.Water{Runoff: func(i int) float64 { return 0.02 * float64(i%3) }}
		for _, i := range cells {
			w.Drains = append(w.Drains, storm.Drain{Cell: i})
		}
		p, err := storm.Pour(tree, w)
		if err != nil {
			t.Fatal(err)
		}
		for range 5 {
			more := []storm.Delivery{{g.Index(7, 5), rng.Float64()}}
			capacity := make([]float64, len(cells))
			anew := w
			anew.Deliveries = more
			for k := range capacity {
				capacity[k] = 0.3 * rng.Float64()
				anew.Drains[k].Capacity = capacity[k]
			}
			again, err := p.Settle(capacity, more)
			if err != nil {
				t.Fatal(err)
			}
			run, err := storm.Run(tree, anew)
			if err != nil {
				t.Fatal(err)
			}
			balance(t, again)
			if math.Abs(again.Ponded-run.Ponded) > massTolerance*run.In || math.Abs(again.Lost-run.Lost) > massTolerance*run.In {
				t.Errorf("again %v ponded, %v lost; anew %v and %v", again.Ponded, again.Lost, run.Ponded, run.Lost)
			}
			levels, drained, err := p.Levels(capacity, more)
			if err != nil {
				t.Fatal(err)
			}
			anew.Runoff = func(i int) float64 { return 0.25 * 0.02 * float64(i%3) }
			quarter, err := p.Share(0.25).Settle(capacity, more)
			if err != nil {
				t.Fatal(err)
			}
			alone, err := storm.Run(tree, anew)
			if err != nil {
				t.Fatal(err)
			}
			balance(t, quarter)
			if math.Abs(quarter.Ponded-alone.Ponded) > massTolerance*run.In || math.Abs(quarter.In-alone.In) > massTolerance*run.In {
				t.Errorf("a quarter: %v of %v ponded; anew %v of %v", quarter.Ponded, quarter.In, alone.Ponded, alone.In)
			}
			for k, i := range cells {
				if want := g.Elevation(i) + float64(run.Depth[i]); math.Abs(levels[k]-want) > 1e-6 || drained[k] != again.Drained[k] {
					t.Errorf("drain %d: level %v, want %v; took %v and %v", k, levels[k], want, drained[k], again.Drained[k])
				}
			}
		}
	}
}

func TestBadCapacity(t *testing.T) {
	g := trench(20, 1, 3, 2, 5, 0)
	p, err := storm.Pour(depression.Build(g, []int{g.Index(3, 1)}), storm.Water{Runoff: dry, Drains: []storm.Drain{{Cell: g.Index(3, 1)}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Levels([]float64{math.NaN()}, nil); err == nil {
		t.Error("a drain of unknown capacity is taken")
	}
	if _, err := p.Settle([]float64{1}, []storm.Delivery{{Cell: g.Index(1, 1), Volume: -1}}); err == nil {
		t.Error("water below nothing is let out")
	}
}
