package lotrun

import (
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// A street falls east past a yard that lies lower where the raster shows no curb:
// the street's water runs in there, and with a curb drawn it does not. A curb of
// no height, and one whose street nobody can tell, changes nothing.
func TestCurbKept(t *testing.T) {
	g := grid.New(grid.NewFrame(0.5, 29.5, 1, 1), 60, 30)
	for i := range g.Z {
		c, r := g.Cell(i)
		switch g.Z[i] = 10 - 0.01*float32(c); {
		case r > 15: // the street, falling to its curb
			g.Z[i] += 0.02 * float32(r-15)
		case c < 28 || c > 32: // the yard, but for a way in
			g.Z[i] += 0.15 + 0.02*float32(15-r)
		default:
			g.Z[i] += -0.05*float32(15-r) - 0.01
		}
	}
	curb := func(kind constraint.CurbType, side constraint.Side) *constraint.Site {
		return &constraint.Site{
			Lots:  []constraint.Lot{{ID: "a", Area: orb.Polygon{{{20, 16}, {40, 16}, {40, 28}, {20, 28}, {20, 16}}}}},
			Curbs: []constraint.Curb{{ID: "c", Line: orb.LineString{{-1, 14.5}, {61, 14.5}}, Type: kind, Height: 0.15, StreetSide: side}},
		}
	}
	across := curb(constraint.VerticalCurb, constraint.SideUnknown)
	across.Lots[0].Area = orb.Polygon{{{20, 1}, {40, 1}, {40, 13}, {20, 13}, {20, 1}}}
	for _, c := range []struct {
		says string
		site *constraint.Site
		kept bool
	}{
		{"no curb", &constraint.Site{}, false},
		{"a curb", curb(constraint.VerticalCurb, constraint.SideUnknown), true},
		{"a curb with its street", curb(constraint.VerticalCurb, constraint.Right), true},
		{"the edge of pavement", curb(constraint.EdgeOfPavement, constraint.Right), false},
		{"a curb whose street seems to be on the lot's side", across, false},
	} {
		w := standing(g, c.site)
		kept := true
		for i := g.Index(10, 17); i >= 0; i = flow.Next(w.filled, w.dir, i) {
			if _, r := g.Cell(i); r < 14 {
				kept = false
			}
		}
		if kept != c.kept || (len(w.curbWords()) > 0) != c.kept || len(w.curbRaised) > 0 != c.kept {
			t.Errorf("%s: the street's water kept %v, %d cells raised", c.says, kept, len(w.curbRaised))
		}
	}
}
