package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// A search's only source gets out where the sweep says so, by a way as cheap as the
// sweeps lead to.
func TestDirectly(t *testing.T) {
	rng := rand.New(rand.NewPCG(113, 127))
	out, barred := 0, 0
	for n := range 400 {
		c := wideNetwork(rng, 12, 14, 1)
		c.reach = 1 + n%4
		g, targets := c.posed()
		for k, x := range targets { // a little higher or lower than it comes in
			x.min = 0
			c.Targets[k].MinInvert = g.margin(g.attained(0), &x) + 2e-3*float64(rng.IntN(5)) - 1e-3
		}
		g, targets = c.posed()
		c.poseOutlets(g, targets, 1)
		g.Alike = 0
		all := g.targets()
		_, _, cost, ok := g.cheapest(0, all, g.reverse(all, g.highestStart()))
		j, err := g.Join(context.Background(), 1)
		if err != nil || j.Served() != b2i(ok) || ok && math.Abs(j.Price-cost) > 1e-9 {
			t.Errorf("network %d: %d for %v, by sweeps %v for %v (%v)", n, j.Served(), j.Price, ok, cost, err)
		}
		out, barred = out+j.Served(), barred+1-j.Served()
	}
	if out < 100 || barred < 10 {
		t.Errorf("%d get out, %d do not: too few to tell", out, barred)
	}
}
