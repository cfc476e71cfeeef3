package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// A tree told of in plan alone is never shorter than the shortest, and seldom much
// longer; ways from place to place and out are the shortest.
func TestDistances(t *testing.T) {
	rng := rand.New(rand.NewPCG(107, 109))
	sum, most := 0.0, 0.0
	const networks = 60
	for n := range networks {
		c := wideNetwork(rng, 12, 14, 4)
		c.reach = 1 + n%4
		for k := range c.Targets {
			c.Targets[k].MinInvert = -100 // heights do not matter
		}
		c.DMax = 1000
		g, targets := c.posed()
		c.poseOutlets(g, targets, 1)
		d := g.Distances()
		j, err := g.Join(context.Background(), 4)
		if err != nil || j.Served() < 4 {
			t.Fatal(j.Served(), err)
		}
		all := []int{0, 1, 2, 3}
		tree := d.Tree(all)
		if tree < j.Price-1e-9 {
			t.Errorf("network %d: a tree of %v, where the shortest is %v", n, tree, j.Price)
		}
		sum, most = sum+tree/j.Price-1, math.Max(most, tree/j.Price-1)
		for s := range all {
			g.Among([]int{s}, nil)
			alone, err := g.Join(context.Background(), 1)
			if err != nil || math.Abs(alone.Price-d.out[s]) > 1e-9 || math.Abs(d.Tree([]int{s})-d.out[s]) > 1e-9 {
				t.Errorf("network %d: %v out of %d and a tree of %v, want %v", n, d.out[s], s, d.Tree([]int{s}), alone.Price)
			}
			for r := range all {
				if math.Abs(d.between[s][r]-d.between[r][s]) > 1e-9 || d.out[s] > d.between[s][r]+d.out[r]+1e-9 {
					t.Errorf("network %d: %v from %d to %d, %v back", n, d.between[s][r], s, r, d.between[r][s])
				}
			}
		}
		g.Among(nil, nil)
	}
	t.Logf("trees %.2f %% longer than the shortest on the mean, %.2f %% at worst", 100*sum/networks, 100*most)
	if sum/networks > 0.02 {
		t.Errorf("trees %.2f %% longer than the shortest on the mean", 100*sum/networks)
	}
}
