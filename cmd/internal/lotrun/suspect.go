package lotrun

import (
	"fmt"
	"math"
	"strings"

	"curbfall/terrain/surface"
)

// suspectModel says so where the raster seems to show what stands on the ground.
// Walls and rocks can look the same, so it is never a refusal.
func (g *given) suspectModel() {
	var signs []string
	if share := surface.SteepShare(g.window.Grid); share >= surface.WalledShare {
		signs = append(signs, fmt.Sprintf("%.1f %% of its cells are steeper than %.0f %%, and walls explain %.0f %% at most", share*100, surface.Repose*100, surface.WalledShare*100))
	}
	if roofs := g.raisedRoofs(); len(roofs) > 0 {
		signs = append(signs, fmt.Sprintf("the ground inside %s stands more than %.1f m above that beside it", strings.Join(roofs, ", "), roofRise))
	}
	if len(signs) > 0 {
		g.notes = append(g.notes, fmt.Sprintf("%s looks like a surface model, with plants, cars or roofs in it: %s; use a bare-ground raster", g.in.DEM, strings.Join(signs, "; ")))
	}
}

// A raster shows a roof where the ground in its middle stands this much above
// that this far outside it, m.
const (
	roofStep = 1.5
	roofRise = 1.5
)

// raisedRoofs lists the roofs that the raster shows. The ground beside a roof is
// the mean of two opposite corners of its box, the lower of the two: a hillside,
// however steep, has the same in its middle.
func (g *given) raisedRoofs() (ids []string) {
	z := g.ground.Ground
	for _, r := range g.site.Roofs {
		c, b := r.Outline.Bound().Center(), r.Outline.Bound().Pad(roofStep)
		beside := math.Inf(1)
		for _, mean := range [2]float64{
			(z(b.Left(), b.Bottom()) + z(b.Right(), b.Top())) / 2,
			(z(b.Left(), b.Top()) + z(b.Right(), b.Bottom())) / 2,
		} {
			if mean < beside { // not where unknown
				beside = mean
			}
		}
		if inside := z(c[0], c[1]); inside-beside > roofRise && !math.IsInf(beside, 1) {
			ids = append(ids, r.ID)
		}
	}
	return ids
}
