package constraint

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// barrierDistance is how near the line from a to b comes to a barrier, m.
func barrierDistance(a, b orb.Point, x Barrier) float64 {
	if x.A == x.B {
		return distanceToSegment(x.A, a, b)
	}
	return segmentDistance(a, b, x.A, x.B)
}

// Barriers say what the law says of a line: none the law admits comes nearer to one
// than its radius, and each that comes 5 mm deep into what is shut from an open place
// meets one.
func TestBarriersAgreeWithTheLaw(t *testing.T) {
	site := testSite()
	// A corner lot: bent, beside another, an L shut in it, and a slanted strip.
	site.Lots[0].Area = orb.Polygon{{{0, 0}, {20, 0}, {20, 30}, {9, 27}, {9, 24}, {0, 24}, {0, 0}}}
	site.Lots = append(site.Lots, Lot{"beside", orb.Polygon{{{20, 0}, {40, 0}, {40, 30}, {20, 30}, {20, 0}}}})
	site.KeepOuts = []KeepOut{
		{"pond", orb.Polygon{{{2, 2}, {9, 3}, {8.5, 6}, {6, 5.5}, {5, 10}, {2.5, 9}, {2, 2}}}},
		{"ring", orb.Polygon{{{11, 2}, {14, 2}, {14, 7}, {11, 7}, {11, 2}}, {{12, 3}, {13, 3}, {12.5, 6}, {12, 3}}}},
	}
	site.Easements = []Easement{{ID: "strip", Area: orb.Polygon{{{16, 20}, {16.4, 20}, {19, 28}, {18.6, 28}, {16, 20}}}, Forbid: true}}
	site.Trees[0].At = orb.Point{2, 15}
	limits := testLimits()
	limits.RootZoneRule = Forbid
	w := NewLaw(testGround(), site, 0, limits)
	barriers := w.Barriers()

	var corners []orb.Point
	for _, s := range append([]*shape{w.region[1]}, w.region[0]) {
		corners = append(corners, s.rings[0]...)
	}
	for _, b := range w.bars {
		for _, ring := range b.rings {
			for _, p := range ring {
				corners = append(corners, p, orb.Point{p[0] + b.grow, p[1]}, orb.Point{p[0], p[1] - b.grow})
			}
		}
	}
	rng := rand.New(rand.NewPCG(8, 4))
	place := func() orb.Point {
		if rng.IntN(3) == 0 {
			return corners[rng.IntN(len(corners))]
		}
		return orb.Point{rng.Float64()*24 - 2, rng.Float64()*36 - 4}
	}
	admitted, met := 0, 0
	for range 40000 {
		a, b := place(), place()
		length := planar.Distance(a, b)
		if length < 0.01 {
			continue
		}
		q := ask{w: w, known: make([]float64, len(w.region)+len(w.bars)), anchor: orb.Point{math.NaN(), math.NaN()}}
		nearest, beyond := math.Inf(1), Barrier{}
		for _, x := range barriers {
			if d := barrierDistance(a, b, x) - x.Radius; d < nearest {
				nearest, beyond = d, x
			}
		}
		if q.clear(a, b, length) {
			admitted++
			if nearest < 0 {
				t.Fatalf("the pipe %v-%v comes %.6f m nearer to %+v than its radius", a, b, -nearest, beyond)
			}
			continue
		}
		if nearest < 0 || !w.Open(a) && !w.Open(b) {
			continue
		}
		met++
		for x := 0.0; x <= length; x += 0.002 {
			if p := along(a, b, x/length); w.Shut(p, 0.005) {
				t.Fatalf("the line %v-%v is shut at %v and meets no barrier", a, b, p)
			}
		}
	}
	if admitted < 2000 || met == 0 {
		t.Errorf("%d lines are admitted, %d not though they meet no barrier: too few to tell", admitted, met)
	}
}
