package design

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// largeLot is a lot of some 3e4 lattice points over a street to the south: a house
// far back with one downspout, sheds, trees, a driveway, and ground that rolls.
func largeLot(rng *rand.Rand) (*grid.Grid, *constraint.Site) {
	const wide, deep = 84.0, 88.0
	between := func(low, high float64) float64 { return low + (high-low)*rng.Float64() }
	g := grid.New(grid.NewFrame(-12, deep+12, 0.5, 0.5), 2*int(wide+24), 2*int(deep+24))
	var waves [4][4]float64 // height, along x, along y, phase
	for k := range waves {
		waves[k] = [4]float64{between(0.02, 0.1), between(0.05, 0.4), between(0.05, 0.4), between(0, 2*math.Pi)}
	}
	rise := between(0.012, 0.03)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := g.ToSite(float64(c), float64(r))
		z := 10.2 + rise*(y+3)
		for _, w := range waves {
			z += w[0] * math.Sin(w[1]*x+w[2]*y+w[3])
		}
		if y < -3 {
			z = 9.8476 + 0.02*(-3-y)
		}
		g.Z[i] = float32(z + 0.004*rng.NormFloat64())
	}
	nan := math.NaN()
	x, y := between(20, 50), between(45, 65)
	site := &constraint.Site{
		Lots:       []constraint.Lot{{ID: "lot", Area: rectangle(0, 0, wide, deep)}},
		Roofs:      []constraint.Roof{{ID: "house", Outline: rectangle(x, y, x+14, y+10), RunoffCoeff: nan, FinishedFloor: nan}},
		Curbs:      []constraint.Curb{{ID: "curb", Line: orb.LineString{{-10, -3}, {wide + 10, -3}}, Type: constraint.VerticalCurb, Height: nan}},
		Paved:      []constraint.Paved{{ID: "walk", Kind: constraint.Walk, Area: rectangle(-5, -2, wide+5, -1), CoverMin: nan}, {ID: "drive", Kind: constraint.Driveway, Area: rectangle(x-6, -3, x-2, y), CoverMin: nan}},
		Downspouts: []constraint.Downspout{{ID: "ds", At: orb.Point{x + between(2, 12), y + 10}, Roof: "house", Share: nan}},
	}
	for k := range 6 {
		u, v := between(2, wide-14), between(4, y-8)
		site.KeepOuts = append(site.KeepOuts, constraint.KeepOut{ID: fmt.Sprint("shed", k), Area: rectangle(u, v, u+between(3, 12), v+between(2, 5))})
		site.Trees = append(site.Trees, constraint.Tree{ID: fmt.Sprint("tree", k), At: orb.Point{between(2, wide-2), between(2, deep-2)}, TrunkDiameter: between(0.1, 0.4)})
	}
	return g, site
}

// routed finds and lays the one route of a lot, from the law to grades in numbers
// a crew can set.
func routed(law *constraint.Law, site *constraint.Site, c Criteria) error {
	d := &job{law: law, site: site, criteria: c}
	d.in = d.inflows()
	d.out, _ = d.discharges()
	for _, in := range d.in {
		d.exits = append(d.exits, law.ExitAt(in.At, in.Roof))
	}
	p, err := d.firstPlan(context.Background(), coarse, len(d.in), 0)
	if err != nil || p == nil {
		return cmp.Or(err, errors.New("no way"))
	}
	_, err = d.laidBelowRims(context.Background(), p)
	return err
}

// wholly is the whole of a lot, with the bound on its length.
func wholly(law *constraint.Law, site *constraint.Site, c Criteria) error {
	_, err := Lot(context.Background(), law, site, Water{Runoff: func(orb.Point) (float64, float64) { return 0, 0 }}, c)
	return err
}

// bench3e4 does lots of 3e4 lattice points with one inflow on one core, and
// reports the median and the longest time.
func bench3e4(b *testing.B, do func(*constraint.Law, *constraint.Site, Criteria) error) {
	const lots = 20
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	c := testCriteria()
	var times []float64
	for b.Loop() {
		rng := rand.New(rand.NewPCG(113, 127))
		for range lots {
			ground, site := largeLot(rng)
			law := constraint.NewLaw(ground, site, 0, c.Limits)
			if n := len((&job{law: law}).lattice(coarse).Usable); n < 29000 || n > 32000 {
				b.Fatal(n, " points")
			}
			start := time.Now()
			if err := do(law, site, c); err != nil {
				b.Fatal(err)
			}
			times = append(times, time.Since(start).Seconds())
		}
	}
	slices.Sort(times)
	b.ReportMetric(times[len(times)/2], "s/median")
	b.ReportMetric(times[len(times)-1], "s/worst")
}

func BenchmarkRoute3e4(b *testing.B) { bench3e4(b, routed) }
func BenchmarkLot3e4(b *testing.B)   { bench3e4(b, wholly) }
