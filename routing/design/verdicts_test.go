package design

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// latticesApart is the missing height up to which a lattice of any other spacing
// may find a way where ours finds none, m: it happens in 3 of 120 lots, by 1.4 mm
// at most.
const latticesApart = 0.002

// On random lots whose fall hardly does, no inflow that is called infeasible is
// routed on a lattice half as coarse, nor on one that lies otherwise but where
// next to nothing is missing. -v tries ten times as many.
func TestLatticesAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 5))
	lots := 12
	if testing.Verbose() {
		lots = 120
	}
	infeasible, asked, closest := 0, 0, math.Inf(-1)
	for n := range lots {
		ground, site := testLot(0.012 + 0.02*rng.Float64())
		var humps [6][4]float64
		for k := range humps {
			humps[k] = [4]float64{20 * rng.Float64(), 2 + 26*rng.Float64(), 0.16 * (rng.Float64() - 0.5), 2 + 3*rng.Float64()}
		}
		for i := range ground.Z {
			c, r := ground.Cell(i)
			x, y := ground.ToSite(float64(c), float64(r))
			for _, h := range humps {
				if y > -2 {
					ground.Z[i] += float32(h[2] * math.Exp(-((x-h[0])*(x-h[0])+(y-h[1])*(y-h[1]))/(h[3]*h[3])))
				}
			}
		}
		nan := math.NaN()
		for k := range 4 {
			site.Inlets = append(site.Inlets, constraint.Inlet{ID: fmt.Sprint("ad", k), At: orb.Point{2 + 16*rng.Float64(), 2 + 26*rng.Float64()}, Rim: nan, GrateOpenArea: nan, GratePerimeter: nan})
		}
		site.KeepOuts = append(site.KeepOuts, constraint.KeepOut{ID: "shed", Area: rectangle(3+4*rng.Float64(), 5, 9, 8)})
		c := testCriteria()
		c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
		d := &job{law: constraint.NewLaw(ground, site, 0, c.Limits), site: site, criteria: c,
			water: Water{Runoff: func(orb.Point) (float64, float64) { return 1, 1 }}}
		d.in = d.inflows()
		d.out, _ = d.discharges()
		for _, in := range d.in {
			d.exits = append(d.exits, d.law.ExitAt(in.At, in.Roof))
		}
		own, err := d.verdicts(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		for _, step := range []float64{fine, 0.31} {
			other, err := d.search(d.leastHeight(step)).Verdicts(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			for i := range own {
				asked++
				if own[i].Feasible {
					continue
				}
				infeasible++
				closest = math.Max(closest, other[i].Margin)
				if other[i].Feasible && (step == fine || own[i].Margin < -latticesApart) {
					t.Errorf("lot %d: %s misses by %.1f mm, but has %.1f mm to spare on a lattice of %.2f m", n, d.in[i].ID, -1000*own[i].Margin, 1000*other[i].Margin, step)
				}
			}
		}
	}
	t.Logf("%d verdicts, %d infeasible; the closest of these misses by %.2f mm on another lattice", asked, infeasible, -1000*closest)
	if infeasible < asked/10 || infeasible > asked*9/10 { // else they try nothing
		t.Errorf("%d of %d verdicts are infeasible", infeasible, asked)
	}
}
