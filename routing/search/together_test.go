package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// The most that one outlet takes in is what the sweep back from some one last pipe
// reaches, and where pipes may pass each other a design takes in all of those. Where
// they may not, hardly any is lost: each passes those before it or joins them.
func TestTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(101, 103))
	parted, barred := 0, 0
	const networks = 60
	for n := range networks {
		c := wideNetwork(rng, 12, 14, 3+n%5)
		c.reach, c.SMin = 1+n%4, 0.06 // who lies far off lacks height
		g, targets := c.posed()
		for k, x := range targets { // where one of the sources, or none, just comes in
			x.min = 0
			c.Targets[k].MinInvert = g.margin(g.attained(rng.IntN(len(g.Sources))), &x) + 1e-3*float64(rng.IntN(5)-3)
		}
		for _, mayCross := range []bool{true, false} {
			g, targets := c.posed()
			c.poseOutlets(g, targets, 1)
			g.MayCross = mayCross
			most, able := 0, 0
			all := g.targets(-1)
			for s := range g.Sources {
				able += b2i(g.feasible(s, g.reverse(all, g.highestStart())))
			}
			for k := range all {
				reached, back := 0, g.reverse(all[k:k+1], g.highestStart())
				for s := range g.Sources {
					reached += b2i(g.feasible(s, back))
				}
				most = max(most, reached)
			}
			j, err := g.Join(context.Background(), 1)
			if err != nil {
				t.Fatal(err)
			}
			if j.Most != most {
				t.Errorf("network %d: at most %d together, want %d", n, j.Most, most)
			}
			switch served := j.Served(); {
			case mayCross && served != most:
				t.Errorf("network %d: %d of %d taken in", n, served, most)
			case !mayCross && served < most:
				barred++
			}
			parted += b2i(most < able)
		}
	}
	t.Logf("%d of %d networks are too many for one outlet, on %d pipes bar some", parted/2, networks, barred)
	if parted < 10 || barred > networks/50 {
		t.Errorf("%d too many for one outlet, %d barred", parted, barred)
	}
}

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
			if err != nil || math.Abs(alone.Price-d.Out[s]) > 1e-9 || math.Abs(d.Tree([]int{s})-d.Out[s]) > 1e-9 {
				t.Errorf("network %d: %v out of %d and a tree of %v, want %v", n, d.Out[s], s, d.Tree([]int{s}), alone.Price)
			}
			for r := range all {
				if math.Abs(d.Between[s][r]-d.Between[r][s]) > 1e-9 || d.Out[s] > d.Between[s][r]+d.Out[r]+1e-9 {
					t.Errorf("network %d: %v from %d to %d, %v back", n, d.Between[s][r], s, r, d.Between[r][s])
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
