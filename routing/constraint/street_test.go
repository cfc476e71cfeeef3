package constraint

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

// A curb between two rows of lots on ground that falls south: the street is where
// it is given; else on the side away from the lots, unless the levels have it on
// theirs, or lots lie on both.
func TestStreetSide(t *testing.T) {
	g := grid.New(grid.NewFrame(0.5, 39.5, 1, 1), 40, 40)
	for i := range g.Z {
		_, r := g.Cell(i)
		g.Z[i] = 10 - 0.1*float32(r)
	}
	lot := func(south, north float64) Lot {
		return Lot{Area: orb.Polygon{{{10, south}, {20, south}, {20, north}, {10, north}, {10, south}}}}
	}
	upper, lower := lot(22, 35), lot(5, 18)
	for _, c := range []struct {
		says  string
		given Side
		lots  []Lot
		step  float64
		want  Side
	}{
		{"below the lot", SideUnknown, []Lot{upper}, 0.05, Right},
		{"given", Left, []Lot{upper}, 0.05, Left},
		{"above the lot", SideUnknown, []Lot{lower}, 0.05, SideUnknown},
		{"above it by less than tells", SideUnknown, []Lot{lower}, 0.5, Left},
		{"lots on both sides", SideUnknown, []Lot{upper, lower}, 0.05, SideUnknown},
		{"no lots", SideUnknown, nil, 0.05, SideUnknown},
	} {
		s := &Site{Lots: c.lots, Curbs: []Curb{{Line: orb.LineString{{0, 20}, {40, 20}}, Type: VerticalCurb, StreetSide: c.given}}}
		if got := s.StreetSide(0, g, c.step); got != c.want {
			t.Errorf("%s: %v, want %v", c.says, got, c.want)
		}
	}
}

// A lot drawn to the very face of its curb lies on the side its ring does, whichever
// way either was drawn.
func TestLotOnCurb(t *testing.T) {
	g := grid.New(grid.NewFrame(0.5, 39.5, 1, 1), 40, 40)
	for i := range g.Z {
		if _, r := g.Cell(i); r > 19 {
			g.Z[i] = 9.85 // the street, south of the curb
		} else {
			g.Z[i] = 10
		}
	}
	for _, ring := range []orb.Ring{
		{{10, 20}, {20, 20}, {20, 35}, {10, 35}, {10, 20}},
		{{10, 20}, {10, 35}, {20, 35}, {20, 20}, {10, 20}},
	} {
		for _, curb := range []orb.LineString{{{0, 20}, {40, 20}}, {{40, 20}, {0, 20}}} {
			s := &Site{Lots: []Lot{{Area: orb.Polygon{ring}}}, Curbs: []Curb{{ID: "c", Line: curb, Type: VerticalCurb}}}
			w := NewLaw(g, s, 0, Limits{})
			if points, why := w.CurbPoints(1); len(points) != 11 || w.StreetDisagrees {
				t.Errorf("lot %v, curb %v: %d places of 11, %s", ring, curb, len(points), why)
			}
		}
	}
}

// A curb in the lot's way is named, and the one it hides.
func TestHiddenCurb(t *testing.T) {
	curb := func(id string, line ...orb.Point) Curb {
		return Curb{ID: id, Line: line, Type: VerticalCurb, Height: math.NaN()}
	}
	site, g := testSite(), testGround()
	for _, c := range []struct {
		stray Curb
		want  string
		runs  bool // through the lot
	}{
		{curb("s", orb.Point{10, -4}, orb.Point{10, -1}), "no side of the lot faces curb s, the nearest to it, 1.00 m away; curb curb faces the lot", false},
		{curb("s", orb.Point{10, -4}, orb.Point{10, 0}), "no side of the lot faces curb s, the nearest to it, 0.00 m away; curb curb faces the lot", false},
		{curb("s", orb.Point{8, -4}, orb.Point{8, 2}), "curb curb faces the lot, but s comes nearer and is taken for its curb: take s out", true},
		{curb("s", orb.Point{-9, -40}, orb.Point{30, -40}), "", false},
	} {
		s := *site
		s.Curbs = append([]Curb{c.stray}, site.Curbs...)
		w := NewLaw(g, &s, 0, testLimits())
		if _, why := w.CurbPoints(1); !strings.Contains(why.Says, c.want) || c.want == "" && why.Says != "" {
			t.Errorf("%v: %q, want %q", c.stray.Line, why.Says, c.want)
		}
		if says := strings.Join(w.Odd(), " "); strings.Contains(says, "curb s runs through the lot; curb curb faces") != c.runs {
			t.Errorf("%v: %q", c.stray.Line, says)
		}
	}
}
