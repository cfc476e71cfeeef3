package lotrun

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/terrain/grading"
)

// gradingLayer judges the ground beside every roof whose middle lies in one of
// the lots.
func (g *given) gradingLayer(lots []constraint.Lot) vector.Layer {
	s := &grading.Site{Ground: g.ground, Filled: make([]bool, len(g.ground.Z))}
	for _, v := range g.voids {
		for _, i := range v.Cells {
			s.Filled[i] = true
		}
	}
	for _, r := range g.site.Roofs {
		s.Roofs = append(s.Roofs, r.Outline)
	}
	for _, p := range g.site.Paved {
		s.Paved = append(s.Paved, p.Area)
	}
	var walls []vector.Wall
	for _, lot := range lots {
		s.Lot = lot.Area
		for k, r := range g.site.Roofs {
			if middle, _ := planar.CentroidArea(orb.Geometry(r.Outline)); !planar.PolygonContains(lot.Area, middle) {
				continue
			}
			for _, w := range grading.Walls(s, k) {
				walls = append(walls, vector.Wall{Roof: r.ID, Line: w.Line, Rule: w.Rule.Name, Status: string(w.Status),
					Measured: w.Measured, Required: w.Rule.Required, Source: w.Rule.Source, Why: w.Why})
			}
		}
	}
	return vector.Grading(walls)
}

// gradingWords says how the walls of a layer stand to their rules; nothing
// where there are none.
func gradingWords(l vector.Layer) []string {
	counts := map[string]int{}
	for _, f := range l.Features {
		for _, p := range f.Properties {
			if p.Name == "status" {
				counts[p.Value.(string)]++
			}
		}
	}
	if len(l.Features) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("ground beside %d walls: it falls away as it should at %d, too little at %d, unknown at %d (grading.geojson)",
		len(l.Features), counts[string(grading.Pass)], counts[string(grading.Fail)], counts[string(grading.Unknown)])}
}
