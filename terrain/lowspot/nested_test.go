package lowspot_test

import (
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
)

// trench is walls of 20 m with one row of cells between them, its last cell
// on the rim.
func trench(row ...float32) *grid.Grid {
	g := grid.New(grid.NewFrame(0, 0, 2, 2), len(row), 3)
	for i := range g.Z {
		g.Z[i] = 20
	}
	copy(g.Z[len(row):], row)
	return g
}

func nest(g *grid.Grid, least lowspot.Least) ([]lowspot.LowSpot, []lowspot.Nested) {
	f := fill.Depressions(g)
	spots, _ := lowspot.Find(g, f, flow.Directions(f), least)
	return spots, lowspot.Nest(depression.Build(g, nil), spots, least)
}

// By hand: pits of 1 and 2 join at 3, those of both and one of 1.5 at 4, and all
// spill at 5; a dimple of 2.9 beside the saddle at 3 is noise.
func TestNested(t *testing.T) {
	g := trench(20, 1, 3, 2, 2.95, 2.9, 4, 1.5, 5, 0)
	spots, nested := nest(g, lowspot.Least{Depth: 0.5})
	if len(spots) != 1 || spots[0].SpillElevation != 5 {
		t.Fatalf("%+v", spots)
	}
	type row struct {
		pit, parent    int
		spill, volume  float64
		cells          int
		contributingM2 float64
	}
	at := func(c int) int { return g.Index(c, 1) }
	want := []row{
		// Cells of 4 m2. Brim full at 4: 3 + 1 + 2 + 1.05 + 1.1, at 3: 1 + 0.05 + 0.1.
		{at(7), -1, 4, 4 * 2.5, 1, 8},
		{at(1), -1, 4, 4 * 8.15, 5, 20},
		{at(3), 1, 3, 4 * 1.15, 3, 12},
		{at(1), 1, 3, 4 * 2, 1, 8},
	}
	if len(nested) != len(want) {
		t.Fatalf("%+v", nested)
	}
	for k, n := range nested {
		w := want[k]
		if n.Pit != w.pit || n.Parent != w.parent || n.Spot != 0 || n.SpillElevation != w.spill || n.Volume-w.volume > 1e-5 || w.volume-n.Volume > 1e-5 || len(n.Cells) != w.cells || n.Area != 4*float64(w.cells) || n.ContributingArea != w.contributingM2 {
			t.Errorf("%d: %+v, want %+v", k, n, w)
		}
	}
	if _, none := nest(g, lowspot.Least{Depth: 2.6}); len(none) != 0 {
		t.Errorf("nothing joins where both are 2.6 m deep: %+v", none)
	}
	// A dimple of 0.9 in a pit of 11 to its brim is no low spot of its own; one of 1.2
	// is.
	for edge, want := range map[float32]int{9.1: 0, 8.8: 2} {
		if _, list := nest(trench(20, 0, 10, edge, 11, 0), lowspot.Least{Depth: 0.5}); len(list) != want {
			t.Errorf("a dimple of %v under its saddle: %+v", 10-edge, list)
		}
	}
	if _, two := nest(g, lowspot.Least{Depth: 0.5, Volume: 5}); len(two) != 2 || two[0].Pit != at(7) || two[1].Pit != at(1) {
		t.Errorf("of those that hold 5 m3, the two that join at 4: %+v", two)
	}
}
