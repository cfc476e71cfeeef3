package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	geom "github.com/twpayne/go-geom"
)

func TestAlignmentOfRandomPaths(t *testing.T) {
	rng := rand.New(rand.NewPCG(30, 31))
	for range 500 {
		path := orb.LineString{{0, 0}}
		for range 1 + rng.IntN(6) {
			last := path[len(path)-1]
			path = append(path, orb.Point{last[0] + 5*rng.Float64(), last[1] - 5*rng.Float64()})
			if rng.IntN(5) == 0 {
				path = append(path, path[len(path)-1]) // a vertex twice
			}
		}
		length, from := planar.Length(path), 3.0
		var laid []Run
		z := 50.0
		for s := 0.0; s < length; {
			to := s + 0.5 + 4*rng.Float64()
			if k := rng.IntN(len(path)); rng.IntN(2) == 0 && planar.Length(path[:k+1]) > s+0.5 {
				to = planar.Length(path[:k+1]) // break at a vertex
			}
			if to > length-0.5 {
				to = length
			}
			r := Run{From: from + s, To: from + to, InvertFrom: z - 0.1*float64(rng.IntN(2)), InvertTo: 0}
			r.InvertTo = r.InvertFrom - 0.02*(to-s)
			laid = append(laid, r)
			s, z = to, r.InvertTo
		}
		const outlet = 7
		a, err := Alignment(path, laid, outlet)
		if err != nil {
			t.Fatal(err)
		}
		if a.Layout() != geom.XYZM || math.Abs(a.Length()-length) > 1e-9 {
			t.Fatalf("layout %v, length %g of %g", a.Layout(), a.Length(), length)
		}
		coords := a.Coords()
		first, last := coords[0], coords[len(coords)-1]
		if math.Abs(first[3]-outlet) > 1e-9 || math.Abs(last[3]-outlet-length) > 1e-9 || math.Abs(first[2]-z) > 1e-9 {
			t.Fatalf("ends %v, %v", first, last)
		}
		for k := 1; k < len(coords); k++ {
			p, q := coords[k-1], coords[k]
			plan := math.Hypot(q[0]-p[0], q[1]-p[1])
			if math.Abs(q[3]-p[3]-plan) > 1e-6 || q[2] < p[2]-1e-9 {
				t.Fatalf("from %v to %v", p, q)
			}
			if mid := InvertAt(laid, from+length+outlet-(p[3]+q[3])/2); plan > 1e-6 && math.Abs(mid-(p[2]+q[2])/2) > 1e-6 {
				t.Fatalf("invert between %v and %v is %g", p, q, mid)
			}
		}
		s := outlet + 0.3*length
		k, part := a.Interpolate(s, 3)
		got := coords[k][2] + part*(coords[k+1][2]-coords[k][2])
		if want := InvertAt(laid, from+length+outlet-s); math.Abs(got-want) > 1e-6 {
			t.Fatalf("station %g: invert %g, want %g", s, got, want)
		}
	}
}

func TestAlignmentRefusesOtherLength(t *testing.T) {
	for _, laid := range [][]Run{nil, {{0, 9, 10, 9}}} {
		if _, err := Alignment(orb.LineString{{0, 0}, {10, 0}}, laid, 0); !errors.As(err, new(*PathError)) {
			t.Errorf("%v: got %v", laid, err)
		}
	}
}
