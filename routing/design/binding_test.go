package design

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// Ground flatter than a pipe binds where the pipe begins, steeper ground where
// the outlet pipe does; what all ways cross binds there.
func TestBindingPlace(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name, rule string
		rise       float64
		low, high  float64 // where, m north
		change     func(*Criteria, *constraint.Site)
	}{
		{"flat ground", "cover_min", 0.005, 11.5, 20.5, func(*Criteria, *constraint.Site) {}},
		{"steep ground", "cover_min", 0.0205, 4, 4.7, func(*Criteria, *constraint.Site) {}},
		{"a driveway across", "cover_min_driveway", 0.0205, 4, 6, func(_ *Criteria, s *constraint.Site) {
			s.Paved = []constraint.Paved{{ID: "drive", Kind: constraint.Driveway, Area: rectangle(-5, 4, 25, 6), Thickness: nan, CoverMin: nan}}
		}},
		{"a utility across", "utility_clearance", 0.0205, 5, 7, func(_ *Criteria, s *constraint.Site) {
			s.Utilities = []constraint.Utility{{ID: "main", Line: orb.LineString{{-5, 6}, {25, 6}}, Top: nan, Depth: 0.3, OutsideDiameter: 0.05, Clearance: nan}}
		}},
	} {
		r := designed(t, c.rise, c.change)
		found := false
		for _, in := range r.Inflows {
			b := in.Binding
			if in.Status == Served || b == nil {
				continue
			}
			found = true
			if b.Rule != c.rule || b.At[1] < c.low || b.At[1] > c.high {
				t.Errorf("%s: %s binds at %.2f m north, %.2f m from the outlet", c.name, b.Rule, b.At[1], b.Station)
			}
			if missing := b.Limit - b.Value; math.Abs(missing-in.ShortBy) > nearMiss {
				t.Errorf("%s: %.4f m at the place, %.4f m missing", c.name, missing, in.ShortBy)
			}
			break
		}
		if !found {
			t.Errorf("%s: nothing binds: %s", c.name, r.Verdict)
		}
	}
}
