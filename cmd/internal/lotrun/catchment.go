package lotrun

import (
	"fmt"

	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// catchmentMost is the size up to which the ground that is read grows for the
// water that comes to the lots, cells: 2 by 2 km of 1 m, half a second to run
// water over.
const catchmentMost = 4e6

// readWater runs water over the ground round the lots, or over all of it where
// there are none. Twice as far is read as long as that cuts off ground whose water
// comes to them, or has just changed what comes: water runs out over the edge of
// what was read, so that a low spot there may spill the wrong way. It ends at most
// cells.
func (g *given) readWater(most int) (*water, error) {
	defer func() { g.notes = append(g.notes, g.dem.Notices...) }()
	before := -1
	for reach := float64(margin); ; {
		w := g.inSight()
		if w.view == nil {
			return w, nil
		}
		drains, more, beyond := g.catchments(w)
		changed := !g.window.Whole && drains != before
		before = drains
		cells, err := g.dem.Cells(g.bound(), 2*reach)
		if err != nil {
			return nil, err
		}
		switch {
		case (more || changed) && cells <= most:
			reach *= 2
			if err := g.readGround(reach); err != nil {
				return nil, err
			}
			continue
		case more:
			g.notes = append(g.notes, fmt.Sprintf("water comes to the lot from beyond the %.0f m round it that were read (%d cells at most): more may run over its lines and stand on it than is said; a coarser raster shows more", reach, most))
		case beyond:
			g.notes = append(g.notes, "water comes to the lot from beyond the raster: more may run over its lines and stand on it than is said; a larger raster tells")
		}
		return w, nil
	}
}

// inSight runs water over the ground that was read, to be drawn round the lots, or
// all of it where there are none.
func (g *given) inSight() *water {
	w := waterOver(g.ground, g.withCurbHeights(), g.criteria.Limits.StreetSideStep)
	if len(g.site.Lots) > 0 {
		view := g.bound().Pad(margin)
		w.view = &view
	}
	return w
}

// catchments counts the cells whose water comes to the lots in view, and tells
// whether that ground goes on beyond what was read, in the raster (more) or past
// its edge (beyond). All low spots are brim full then, and those that lie on a lot
// have what they hold.
func (g *given) catchments(w *water) (drains int, more, beyond bool) {
	var through []int
	standing := make([]bool, len(w.spots)) // taken in
	for _, l := range g.site.Lots {
		if !w.covers(l.Area) {
			continue
		}
		w.eachWithin(l.Area, func(i int) {
			through = append(through, i)
			if k := w.at[i]; k >= 0 && !standing[k] {
				standing[k] = true
				through = append(through, w.spots[k].Cells...)
			}
		})
	}
	for _, r := range g.site.Roofs { // a roof that is cut lets its water down on the wrong side
		more = more || !g.window.Whole && w.view.Intersects(r.Outline.Bound()) && !w.contains(r.Outline)
	}
	last := func(at, cells int) bool { return at == 0 || at == cells-1 }
	upstream := flow.Upstream(w.filled, w.dir, through...)
	for _, i := range upstream {
		c, r := w.surface.Cell(i)
		for _, s := range grid.Steps {
			if c, r := c+s.Col, r+s.Row; w.surface.Contains(c, r) && (last(c, w.surface.Cols) || last(r, w.surface.Rows)) {
				goes := g.dem.More(g.window, w.surface.Index(c, r))
				more, beyond = more || goes, beyond || !goes
			}
		}
	}
	return len(upstream), more, beyond
}
