package design

import (
	"context"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/search"
)

// hardlyFalling is a random lot whose fall hardly does, its ground rough where
// noise is not 0, m.
func hardlyFalling(rng *rand.Rand, noise float64) *job {
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
		ground.Z[i] += float32(noise * rng.NormFloat64())
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
	return d
}

// otherLattices are lattices the search does not ask: their spacing and where they
// lie, in steps.
var otherLattices = []struct {
	step  float64
	shift orb.Point
}{
	{0.25, orb.Point{}}, {0.31, orb.Point{}}, {0.4, orb.Point{}},
	{0.5, orb.Point{0.5, 0.5}}, {0.5, orb.Point{0.3, 0.8}}, {0.25, orb.Point{0.5, 0.5}}, {0.25, orb.Point{0.7, 0.2}},
}

// lyingAt are sweeps by one of the mains over a lattice that lies elsewhere.
func (d *job) lyingAt(step float64, shift orb.Point, wide int) *search.Sweeps {
	a := d.leastHeight(step, wide)
	p := d.problem(posing{a.bore, step})
	p.Origin = orb.Point{p.Origin[0] + (shift[0]-1)*step, p.Origin[1] + (shift[1]-1)*step}
	p.Cols, p.Rows = p.Cols+2, p.Rows+2
	p.Usable = make([]bool, p.Cols*p.Rows)
	for k := range p.Usable {
		p.Usable[k] = d.law.Open(p.At(k))
	}
	var outlets []search.Outlet
	for k := range d.out {
		outlets = append(outlets, d.outletOf(a, &d.out[k]))
	}
	highest := func(at orb.Point) float64 {
		_, high := p.Span(at)
		return high
	}
	return search.NewSweeps(search.NewArcs(p), p.Sources, outlets, highest)
}

// edges are by how much an inflow is made to miss on the coarse lattice, m.
var edges = []float64{0.001, 0.003, 0.006}

// edge is an inflow brought to the edge: the outlet is set so high over the gutter
// that the coarse lattice misses by little.
type edge struct {
	*job
	inflow int
	miss   float64
	own    verdict
}

// atEdges are the inflows of a lot at each edge, with their margins on the coarse
// lattice before.
func (d *job) atEdges(t *testing.T) iter.Seq2[*edge, float64] {
	return func(yield func(*edge, float64) bool) {
		for i := range d.in {
			w, ok := d.now().swept(coarse, smallest).Best(i, math.Inf(-1))
			for k := 0; ok && k < len(edges); k++ {
				c := d.criteria
				c.Limits.OutletAboveGutter += w.Margin + edges[k]
				e := &edge{job: d.under(c), inflow: i, miss: edges[k]}
				e.asIs = e.trialOf(d.now().arcs)
				var err error
				if e.own, err = e.now().verdict(context.Background(), i, math.Inf(-1), true); err != nil {
					t.Fatal(err)
				}
				if !yield(e, w.Margin) {
					return
				}
			}
		}
	}
}

// Of inflows of random lots brought to the edge none that is called infeasible is
// routed on another lattice, whatever its spacing and wherever it lies.
// CURBFALL_LOTS tries as many lots.
func TestLatticesAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 5))
	asked, raised, closest := 0, 0, math.Inf(1)
	for n := range lotsWanted(t, 3) {
		d := hardlyFalling(rng, 0.004*float64(n%2))
		var others []*search.Sweeps
		for _, wide := range d.mains() {
			for _, o := range otherLattices {
				others = append(others, d.lyingAt(o.step, o.shift, wide))
			}
		}
		for e, margin := range d.atEdges(t) {
			asked++
			if e.own.able() {
				raised++
				continue
			}
			for k, o := range others {
				w, ok := o.Best(e.inflow, margin)
				if !ok {
					continue
				}
				spare := w.Margin - margin - e.miss
				closest = math.Min(closest, -spare)
				if search.Enough(spare) {
					t.Errorf("lot %d: %s misses by %.2f mm, but has %.2f mm to spare on a lattice of %.2f m", n, d.in[e.inflow].ID, -1000*e.own.margin(), 1000*spare, otherLattices[k%len(otherLattices)].step)
				}
			}
		}
	}
	t.Logf("%d verdicts at the edge: %d feasible, which the coarse lattice calls infeasible; of the others the closest misses by %.2f mm on the best of the other lattices", asked, raised, 1000*closest)
	if asked-raised < asked/10 || raised < asked/10 { // else they try nothing
		t.Errorf("of %d verdicts %d are feasible", asked, raised)
	}
}

// An inflow that is feasible off the lattice alone is served there.
func TestEdgeServed(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 6))
	able := 0
	for n := 0; able < max(1, lotsWanted(t, 0)); n++ {
		for e := range hardlyFalling(rng, 0.004*float64(n%2)).atEdges(t) {
			if !e.own.able() || !e.own.raised() {
				continue
			}
			able++
			law := constraint.NewLaw(e.law.Ground, e.site, 0, e.criteria.Limits)
			r, err := Lot(context.Background(), law, e.site, e.water, e.criteria)
			if err != nil {
				t.Fatal(err)
			}
			if in := r.Inflows[e.inflow]; in.Status != Served {
				t.Errorf("lot %d: %s has %.2f mm to spare and is not served: %s", n, in.ID, 1000*e.own.margin(), r.Verdict)
			}
			break
		}
	}
}

// So is one alone that a way off the lattice leads out with next to no height to
// spare, less than the law's answers for a line and for its parts differ by.
func TestHairServed(t *testing.T) {
	const spare = 2e-5
	rng := rand.New(rand.NewPCG(9, 7))
	asked := 0
	for n := 0; asked < max(2, lotsWanted(t, 0)); n++ {
		for e := range hardlyFalling(rng, 0.004*float64(n%2)).atEdges(t) {
			if !e.own.raised() {
				continue
			}
			c := e.criteria
			c.Limits.OutletAboveGutter += e.own.margin() - spare
			alone := e.with(e.in[e.inflow:e.inflow+1], c)
			v, err := alone.now().verdict(context.Background(), 0, math.Inf(-1), true)
			if err != nil {
				t.Fatal(err)
			}
			if !v.able() || !v.raised() {
				continue
			}
			asked++
			var r Result
			if _, err := alone.network(context.Background(), &r); err != nil {
				t.Fatal(err)
			}
			if in := alone.in[0]; in.Status != Served {
				t.Errorf("lot %d: %s has %.3f mm to spare and is not served", n, in.ID, 1000*v.margin())
			}
		}
	}
}

// lotsWanted is how many lots CURBFALL_LOTS asks for; else usual.
func lotsWanted(t *testing.T, usual int) int {
	t.Helper()
	text := os.Getenv("CURBFALL_LOTS")
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("CURBFALL_LOTS is %q, want a number of lots", text)
	}
	return n
}
