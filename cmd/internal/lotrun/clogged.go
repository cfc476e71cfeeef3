package lotrun

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/grid"
)

// openingReach is how near water must come to an opening to matter to it, m:
// two strides, within which the raster cannot say where a wall stands.
const openingReach = 1.5

// clogged says, for each area drain that stands in a low spot, what happens if
// it takes nothing and all others work: how high water stands over it in the
// design storm, at what level it spills, and how openings near that water lie
// to it.
func (w *water) clogged(ground *grid.Grid, site *constraint.Site, s design.Storm, d *design.Result) ([]string, error) {
	r := w.rainOn(site, s, d)
	var says []string
	for k, f := range r.drains {
		spot := w.at[f.cell]
		if spot < 0 || f.carried == 0 {
			continue
		}
		without := *r
		without.drains = slices.Clone(r.drains)
		without.drains[k].carried = 0
		result, err := w.withDrains(&without)
		if err != nil {
			return nil, err
		}
		spill := w.spots[spot].SpillElevation
		depth := float64(result.Depth[f.cell])
		line := fmt.Sprintf("%s clogged: in the design storm the ground over it stays dry", f.id)
		if depth > 0 {
			line = fmt.Sprintf("%s clogged: in the design storm water stands %.2f m deep over it, at %.2f m", f.id, depth, w.surface.Elevation(f.cell)+depth)
		}
		says = append(says, fmt.Sprintf("%s; low spot %s spills at %.2f m", line, lowSpotID(int(spot)), spill))
		for _, o := range site.Openings {
			if !w.near(o, int(spot)) {
				continue
			}
			sill := o.Elevation
			if math.IsNaN(sill) {
				sill = ground.Ground(o.At[0], o.At[1]) + o.Height
			}
			switch above := sill - spill; {
			case math.IsNaN(above):
			case above > 0:
				says = append(says, fmt.Sprintf("opening %s lies %.2f m above the level at which low spot %s spills", o.ID, above, lowSpotID(int(spot))))
			default:
				says = append(says, fmt.Sprintf("opening %s lies %.2f m below the level at which low spot %s spills: with %s clogged water can enter", o.ID, -above, lowSpotID(int(spot)), f.id))
			}
		}
	}
	return says, nil
}

// near tells whether a full low spot comes near an opening.
func (w *water) near(o constraint.Opening, spot int) bool {
	for _, i := range w.spots[spot].Cells {
		if planar.Distance(o.At, w.centre(i)) <= openingReach+w.surface.CellMax()/2 {
			return true
		}
	}
	return false
}
