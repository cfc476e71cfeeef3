package constraint

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// What is odd is said of the lots asked about alone; what lies in no lot, always.
func TestOdd(t *testing.T) {
	const level = 10
	ground := grid.New(grid.NewFrame(-5, 45, 1, 1), 60, 50)
	for i := range ground.Z {
		ground.Z[i] = level
	}
	nan := math.NaN()
	roof := func(id string, at orb.Polygon) Roof { return Roof{ID: id, Outline: at} }
	spout := func(id, roof string, x, y float64) Downspout {
		return Downspout{ID: id, At: orb.Point{x, y}, Roof: roof, Share: nan}
	}
	site := &Site{
		Lots:  []Lot{{"a", box(0, 0, 20, 30)}, {"b", box(20, 0, 40, 30)}, {"c", box(38, 0, 45, 30)}},
		Roofs: []Roof{roof("house", box(5, 10, 15, 20)), roof("next", box(25, 10, 35, 20)), roof("stray", box(2, 35, 6, 39)), roof("eaves", box(-3, 2, 0.1, 4))},
		Downspouts: []Downspout{
			spout("good", "house", 5, 10), spout("off", "", 5, 8.1), spout("far", "house", 18, 10),
			spout("deep", "house", 10, 15), spout("over", "house", 21, 12), spout("nowhere", "", 10, -3), spout("wrong", "barn", 1, 1),
		},
		Inlets: []Inlet{{ID: "high", At: orb.Point{3, 3}, Rim: level + 0.2}, {ID: "level", At: orb.Point{3, 4}, Rim: level + 0.04},
			{ID: "plain", At: orb.Point{3, 5}, Rim: nan}, {ID: "next-high", At: orb.Point{30, 3}, Rim: level + 0.2}},
		ChannelDrains: []ChannelDrain{{"through", orb.LineString{{-2, 25}, {22, 25}}, nan}, {"beside", orb.LineString{{-2, 25}, {-2, 27}}, nan}},
	}
	everywhere := []string{"roof stray lies in no lot", "inside a lot, less than 1 m2", "downspout nowhere lies in no lot", "channel_drain beside lies in no lot"}
	a := []string{"downspout far is drawn 3.00 m from roof house, whose", "downspout deep stands 5.00 m inside", "downspout wrong names roof barn", "inlet high: its rim stands 0.20 m above"}
	b := []string{"downspout over stands in lot b, where roof house has no part", "inlet next-high: its rim stands 0.20 m above", "lots b and c overlap by 60.0 m2"}
	for _, tt := range []struct {
		lots []int
		want []string
	}{{[]int{0}, slices.Concat(everywhere, a)}, {[]int{1}, slices.Concat(everywhere, b)}, {[]int{0, 1, 2}, slices.Concat(everywhere, a, b)}} {
		says := site.Odd(ground, Limits{DownspoutSnap: 0.9}, tt.lots)
		for _, want := range tt.want {
			if !slices.ContainsFunc(says, func(s string) bool { return strings.Contains(s, want) }) {
				t.Errorf("lots %v: nothing says %q", tt.lots, want)
			}
		}
		if len(says) != len(tt.want) {
			t.Errorf("lots %v: %d things said, want %d:\n%s", tt.lots, len(says), len(tt.want), strings.Join(says, "\n"))
		}
	}
}

// A hole is not of the area: of a keep-out it is open, of a roof it sheds nothing.
func TestHoles(t *testing.T) {
	yard := orb.Polygon{box(0, 0, 10, 10)[0], box(4, 4, 6, 6)[0]}
	s := solidShape(yard, 0)
	if d := s.distance(orb.Point{5, 5}); d != 1 {
		t.Errorf("the middle of the hole lies %v m from the area, want 1", d)
	}
	if got := s.spans(orb.Point{-1, 5}, orb.Point{11, 5}); !slices.Equal(got, []span{{1, 5}, {7, 11}}) {
		t.Errorf("inside along %v", got)
	}
	roof := Roof{Outline: yard}
	if a := roof.AreaInside(&Lot{Area: box(-5, -5, 15, 15)}); math.Abs(a-96) > 1e-3 {
		t.Errorf("%v m2 of roof, want 96", a)
	}
}
