package design

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
	"curbfall/routing/synth"
)

// houseLot is the house lot of a seed, posed.
func houseLot(t *testing.T, seed uint64) *job {
	t.Helper()
	l := synth.House(seed)
	site, c := l.Site(), testCriteria()
	c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
	d, _, err := pose(constraint.NewLaw(l.Ground(), site, 0, c.Limits), site, Water{Runoff: func(orb.Point) (float64, float64) { return 1, 1 }}, c)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// withoutInverts is a lot that any pipe finds height on.
func (d *job) withoutInverts() *job {
	c := d.criteria
	c.Limits.OutletAboveGutter -= 100
	c.Limits.DepthMax = noDepth
	return d.under(c)
}

// shortest is the length of inflow i's cheapest way on the coarse lattice, m; +Inf
// where it has none there.
func (d *job) shortest(t *testing.T, i int) float64 {
	t.Helper()
	a := d.leastHeight(coarse, smallest)
	x, err := d.joined(t.Context(), a, []int{i}, &planned{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if x.Served() == 0 {
		return math.Inf(1)
	}
	p := &planned{}
	p.add(x, a)
	return p.length
}

// longerWay is the share by which inverts must make a way longer to bind: 3 cm in
// 30 m, more than a way is wide.
const longerWay = 0.001

// Shares of the house lots: where inverts bind though all inflows get out, and where
// some inflow does not.
const (
	bindingShare    = 0.40
	infeasibleShare = 0.15
)

// On as many house lots as are meant to be inverts make some inflow's way longer, and
// as many leave one without; none that is called infeasible is routed on another
// lattice. CURBFALL_LOTS tries as many lots, and 20 and more are held to the shares.
func TestHouseLots(t *testing.T) {
	n, binding, infeasible, asked := lotsWanted(t, 3), 0, 0, 0
	closest := math.Inf(1)
	for k := range n {
		d := houseLot(t, uint64(k+1))
		own, err := d.verdicts(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		var lacking []int
		free, longer := d.withoutInverts(), 0.0
		for i := range d.in {
			if own[i].able() {
				longer = math.Max(longer, d.shortest(t, i)/free.shortest(t, i)-1)
			} else {
				lacking = append(lacking, i)
			}
		}
		switch {
		case len(lacking) > 0:
			infeasible++
		case longer > longerWay:
			binding++
		}
		t.Logf("lot %d: %d inflows, %d infeasible, ways longer by up to %.2f %%", k+1, len(d.in), len(lacking), 100*longer)
		if len(d.in) < 3 {
			t.Errorf("lot %d: %d inflows, want 3 and more", k+1, len(d.in))
		}
		asked += len(lacking)
		closest = math.Min(closest, d.nowhereElse(t, lacking, own))
	}
	t.Logf("%d lots: %.0f %% of them infeasible; on %.0f %% inverts bind; %d inflows called infeasible, of which the closest misses by %.2f mm on the best of the other lattices",
		n, 100*float64(infeasible)/float64(n), 100*float64(binding)/float64(n), asked, 1000*closest)
	for _, x := range []struct {
		what  string
		share float64
		found int
	}{{"inverts bind", bindingShare, binding}, {"an inflow is infeasible", infeasibleShare, infeasible}} {
		// Three standard deviations of the share in a sample.
		if off := float64(x.found)/float64(n) - x.share; n >= 20 && math.Abs(off) > 3*math.Sqrt(x.share*(1-x.share)/float64(n)) {
			t.Errorf("%s on %d of %d lots, want %.0f %%", x.what, x.found, n, 100*x.share)
		}
	}
}

// nowhereElse holds inflows called infeasible against other lattices; it returns by how
// little the closest misses there, m.
func (d *job) nowhereElse(t *testing.T, lacking []int, own []verdict) (closest float64) {
	t.Helper()
	closest = math.Inf(1)
	if len(lacking) == 0 {
		return closest
	}
	for _, wide := range d.mains() {
		for _, o := range otherLattices {
			sweeps := d.lyingAt(o.step, o.shift, wide)
			for _, i := range lacking {
				w, ok := sweeps.Best(i, math.Inf(-1))
				if !ok {
					continue
				}
				closest = math.Min(closest, -w.Margin)
				if search.Enough(w.Margin) {
					t.Errorf("%s misses by %.2f mm, but has %.2f mm to spare on a lattice of %.2f m", d.in[i].ID, -1000*own[i].margin(), 1000*w.Margin, o.step)
				}
			}
		}
	}
	return closest
}
