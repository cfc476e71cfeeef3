package lotrun

import (
	"fmt"
	"math"
	"slices"
)

// clogged says, for each drain, what happens if it takes nothing and all others
// work: how high water stands over it in the storm, at what level it spills and
// where that goes, and how openings near that water lie to it.
func (y *yard) clogged(p *downpour) (says []string, err error) {
	nested := y.nested()
	for k, f := range p.drains {
		s, err := p.settle(k)
		if err != nil {
			return nil, err
		}
		spot := y.at[f.cell]
		if spot < 0 {
			says = append(says, fmt.Sprintf("%s clogged: it lies on a slope, so its water runs on: %s", f.ID, y.way(f.cell, noSpot)))
			continue
		}
		says = append(says, y.cloggedIn(spot, &f, round(f.cell, nested), s.over[k], p.spilled(s)[spot])...)
	}
	return says, nil
}

const secondsPerMinute = 60

// round lists the nested low spots that a cell lies in, from the innermost out.
func round(cell int, nested []nestedSpot) (list []nestedSpot) {
	for k := len(nested) - 1; k >= 0; k-- {
		if slices.Contains(nested[k].Cells, cell) {
			list = append(list, nested[k])
		}
	}
	return list
}

// cloggedIn speaks of a clogged drain in a low spot, and in those inside it that
// are round it, with water standing to a level and so much of it spilling, m3.
func (y *yard) cloggedIn(spot int32, f *inflow, inner []nestedSpot, level, spilled float64) (says []string) {
	id, spill := lowSpotID(int(spot)), y.spots[spot].SpillElevation
	line := fmt.Sprintf("%s clogged: in the design storm the ground over it stays dry", f.ID)
	if depth := level - y.surface.Elevation(f.cell); depth > 0 {
		line = fmt.Sprintf("%s clogged: in the design storm water stands %.2f m deep over it, at %.2f m", f.ID, depth, level)
	}
	for _, n := range inner {
		line += fmt.Sprintf("; low spot %s fills first, to %.2f m", n.id, n.SpillElevation)
	}
	line += fmt.Sprintf("; low spot %s spills at %.2f m", id, spill)
	switch {
	case spilled >= spilledShown:
		line += fmt.Sprintf(", %.2f m3 of it", spilled)
	case f.comes > 0:
		line += fmt.Sprintf(", after %.0f minutes of such rain", math.Ceil(y.spots[spot].Volume/f.comes/secondsPerMinute))
	}
	says = append(says, line+": "+y.way(y.spillsOver(spot), spot))
	for _, o := range y.sills() {
		if !o.nearAny(y.spots[spot].Cells) {
			continue
		}
		want := y.criteria.Limits.BuildingFreeboardMin
		switch above := o.level - spill; {
		case above >= want:
			says = append(says, fmt.Sprintf("%s lies %.2f m above the level at which low spot %s spills", o.name, above, id))
		case above > 0:
			says = append(says, fmt.Sprintf("%s lies %.2f m above the level at which low spot %s spills, less than building_freeboard_min %.2f m", o.name, above, id, want))
		default:
			says = append(says, fmt.Sprintf("%s lies %.2f m below the level at which low spot %s spills: with %s clogged water can enter", o.name, -above, id, f.ID))
		}
	}
	return says
}
