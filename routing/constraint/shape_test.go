package constraint

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// randomShape draws a point, a line, a triangle or an L, grown or not.
func randomShape(rng *rand.Rand) *shape {
	p := func() orb.Point { return orb.Point{rng.Float64() * 10, rng.Float64() * 10} }
	grow := rng.Float64() * 1.5
	switch rng.IntN(4) {
	case 0:
		return pointShape(p(), grow)
	case 1:
		return lineShape(orb.LineString{p(), p(), p()}, grow)
	case 2:
		a, b, c := p(), p(), p()
		return solidShape(orb.Polygon{{a, b, c, a}}, grow*float64(rng.IntN(2)))
	}
	a := p()
	w, h := 1+rng.Float64()*4, 1+rng.Float64()*4
	l := orb.Ring{a, {a[0] + w, a[1]}, {a[0] + w, a[1] + h/2}, {a[0] + w/2, a[1] + h/2}, {a[0] + w/2, a[1] + h}, {a[0], a[1] + h}, a}
	return solidShape(orb.Polygon{l}, grow*float64(rng.IntN(2)))
}

// Where spans says a line lies in a shape, distance agrees at every point.
func TestSpansAgreeWithDistance(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		s := randomShape(rng)
		a, b := orb.Point{rng.Float64() * 10, rng.Float64() * 10}, orb.Point{rng.Float64() * 10, rng.Float64() * 10}
		length := planar.Distance(a, b)
		in := s.spans(a, b)
		for k := range 200 {
			x := length * (float64(k) + 0.5) / 200
			d := s.distance(along(a, b, x/length))
			if math.Abs(d) < 1e-5 {
				continue // on the outline
			}
			inside := in != nil && contains(in, x)
			if inside != (d < 0) {
				t.Fatalf("line %v-%v at %.4f m: spans say inside=%v, distance says %.6f", a, b, x, inside, d)
			}
		}
	}
}

// A line along an edge touches and does not enter.
func TestSpansTouching(t *testing.T) {
	square := solidShape(orb.Polygon{{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}}}, 0)
	for _, line := range [][2]orb.Point{
		{{-1, 0}, {5, 0}}, {{4, -1}, {4, 5}}, {{-1, 1}, {1, -1}}, {{0, 0}, {0, 4}},
	} {
		if in := square.spans(line[0], line[1]); len(in) > 0 {
			t.Errorf("line %v only touches the square, spans %v", line, in)
		}
	}
	if in := square.spans(orb.Point{-1, -1}, orb.Point{5, 5}); len(in) != 1 || math.Abs(in[0].from-math.Sqrt2) > 1e-9 {
		t.Errorf("diagonal: %v", in)
	}
}
