package surface_test

import (
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
	// A curb drawn askew lets nothing through, and a culvert under it does.
	curb := surface.Curb{Line: orb.LineString{{14.2, -1}, {17.7, 21}}, Height: 0.5}
	from := g.Index(5, 10)
	walled := surface.Condition(g, surface.Lines{Curbs: []surface.Curb{curb}})
	if east := farthest(walled, from); east > 18 {
		t.Errorf("the curb leaks as far as column %d", east)
	}
	open := surface.Condition(g, surface.Lines{Curbs: []surface.Curb{curb}, Culverts: []orb.LineString{{{12.5, 9.5}, {20.5, 9.5}}}})
	if east := farthest(open, from); east != 29 {
		t.Errorf("the culvert is blocked at column %d", east)
	}
	for i := range g.Z {
		if g.Z[i] != before.Z[i] {
			t.Fatal("the ground was changed")
		}
	}
}
