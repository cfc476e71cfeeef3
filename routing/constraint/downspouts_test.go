package constraint

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

func TestRoofOf(t *testing.T) {
	square := func(id string, x float64) Roof {
		return Roof{ID: id, Outline: orb.Polygon{{{x, 0}, {x + 4, 0}, {x + 4, 4}, {x, 4}, {x, 0}}}}
	}
	s := &Site{Roofs: []Roof{square("a", 0), square("b", 10)}}
	for _, c := range []struct {
		spout Downspout
		want  int
	}{
		{Downspout{At: orb.Point{5, 1}}, 0},
		{Downspout{At: orb.Point{9, 1}}, 1},
		{Downspout{At: orb.Point{9, 1}, Roof: "a"}, 0},
		{Downspout{At: orb.Point{9, 1}, Roof: "c"}, -1},
	} {
		if got := s.RoofOf(c.spout); got != c.want {
			t.Errorf("%+v: roof %d, want %d", c.spout, got, c.want)
		}
	}
}

func TestShares(t *testing.T) {
	for _, c := range [][2][]float64{
		{{math.NaN(), math.NaN()}, {0.5, 0.5}},
		{{0.4, math.NaN(), math.NaN()}, {0.4, 0.3, 0.3}},
		{{0.7, 0.5, math.NaN()}, {0.7, 0.5, 0}},
		{{0.25}, {0.25}},
	} {
		var spouts []Downspout
		for _, share := range c[0] {
			spouts = append(spouts, Downspout{Share: share})
		}
		if got := Shares(spouts); !slices.Equal(got, c[1]) {
			t.Errorf("%v given: %v, want %v", c[0], got, c[1])
		}
	}
}
