package surface_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/surface"
)

// tilted is a plane falling east, 30 by 20 cells of 1 m.
func tilted() *grid.Grid {
	g := grid.New(grid.NewFrame(0.5, 19.5, 1, 1), 30, 20)
	for i := range g.Z {
		c, _ := g.Cell(i)
		g.Z[i] = 10 - 0.05*float32(c)
	}
	return g
}

// farthest is the easternmost column the water of a cell comes to.
func farthest(g *grid.Grid, from int) int {
	f := fill.Depressions(g)
	d := flow.Directions(f)
	east := 0
	for i := from; i >= 0; i = flow.Next(f, d, i) {
		c, _ := f.Cell(i)
		east = max(east, c)
	}
	return east
}

func drains(g *grid.Grid, from, to int) bool {
	f := fill.Depressions(g)
	d := flow.Directions(f)
	for i := from; i >= 0; i = flow.Next(f, d, i) {
		if i == to {
			return true
		}
	}
	return false
}

func TestCondition(t *testing.T) {
	g := tilted()
	before := g.Clone()
	roof := orb.Polygon{{{10, 5}, {20, 5}, {20, 15}, {10, 15}, {10, 5}}}
	s := surface.Condition(g, surface.Lines{Roofs: []orb.Polygon{roof}})
	if !drains(g, g.Index(5, 10), g.Index(15, 10)) || drains(s, s.Index(5, 10), s.Index(15, 10)) {
		t.Error("water must run through the bare plane and round the roof")
	}
	// A curb drawn askew across the way of the street's water lets nothing through,
	// none of what would go round its ends either; what comes from behind passes,
	// and under it what has a culvert.
	curb := surface.Curb{Line: orb.LineString{{14.2, -1}, {17.7, 21}}, Height: 0.5, StreetLeft: true}
	from := g.Index(5, 10)
	if east := farthest(walled(g, surface.Lines{}, curb), from); east > 18 {
		t.Errorf("the curb leaks as far as column %d", east)
	}
	culvert := surface.Lines{Culverts: []orb.LineString{{{12.5, 9.5}, {20.5, 9.5}}}}
	if east := farthest(walled(g, culvert, curb), from); east != 29 {
		t.Errorf("the culvert is blocked at column %d", east)
	}
	curb.StreetLeft = false
	if east := farthest(walled(g, surface.Lines{}, curb), from); east != 29 {
		t.Errorf("the yards drain no farther than column %d", east)
	}
	for i := range g.Z {
		if g.Z[i] != before.Z[i] {
			t.Fatal("the ground was changed")
		}
	}
}

// trench is walls of 20 m with one row of cells between them.
func trench(row ...float32) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), len(row), 3)
	for i := range g.Z {
		g.Z[i] = 20
	}
	copy(g.Z[len(row):], row)
	return g
}

// A culvert drawn into a void cuts what is known of it and makes no new void.
func TestCulvertIntoVoid(t *testing.T) {
	nan := float32(math.NaN())
	g := trench(10, 10, 12, 10, 10, nan, 10)
	s := surface.Condition(g, surface.Lines{Culverts: []orb.LineString{{{1, -1}, {5, -1}}}})
	for c := range 7 {
		i := g.Index(c, 1)
		if s.Void(i) != g.Void(i) || s.Z[i] > 10 {
			t.Errorf("column %d is %v", c, s.Z[i])
		}
	}
}

// Past a dip on the culvert's way water climbs no higher than the lower end.
func TestCulvertDip(t *testing.T) {
	for _, line := range []orb.LineString{{{1, -1}, {4, -1}}, {{4, -1}, {1, -1}}} {
		g := trench(11, 10, 8, 12, 9, 9)
		s := surface.Condition(g, surface.Lines{Culverts: []orb.LineString{line}})
		for c, want := range []float32{11, 10, 8, 9, 9, 9} {
			if got := s.Z[g.Index(c, 1)]; got != want {
				t.Errorf("%v: column %d is %v, want %v", line, c, got, want)
			}
		}
	}
}
