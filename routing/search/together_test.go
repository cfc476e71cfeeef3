package search

import (
	"context"
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
			all := g.targets()
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
