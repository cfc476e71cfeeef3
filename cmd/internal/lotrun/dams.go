package lotrun

import (
	"fmt"
	"strings"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/terrain/lowspot"
)

// damsSaid is how many dams are said in words; all are drawn.
const damsSaid = 3

// dams finds narrow barriers that hold low spots back on the way of what drains
// pathShown or more. Houses are none.
func (w *water) dams(site *constraint.Site) (list []lowspot.Dam) {
	house := map[int]bool{}
	for _, r := range site.Roofs {
		w.eachWithin(r.Outline, func(i int) { house[i] = true })
	}
	for _, d := range lowspot.Dams(w.surface, w.spots, pathShown, func(i int) bool { return house[i] }) {
		if w.inView(w.spots[d.Spot].Cells) {
			list = append(list, d)
		}
	}
	return list
}

// damLayer draws dams.
func damLayer(dams []lowspot.Dam) vector.Layer {
	var list []vector.Dam
	for _, d := range dams {
		list = append(list, vector.Dam{LowSpot: lowSpotID(d.Spot), Line: d.Line, Width: d.Width, Height: d.Height, Behind: d.Behind})
	}
	return vector.Dams(list)
}

// damWords asks whether culverts pass dams: none is cut without being drawn.
func damWords(dams []lowspot.Dam) []string {
	if len(dams) == 0 {
		return nil
	}
	var each []string
	for _, d := range dams[:min(damsSaid, len(dams))] {
		each = append(each, fmt.Sprintf("%s, %.2f m deep behind %.2f m of height over %.1f m", lowSpotID(d.Spot), d.Behind, d.Height, d.Width))
	}
	if more := len(dams) - len(each); more > 0 {
		each = append(each, fmt.Sprintf("and %d more", more))
	}
	return []string{fmt.Sprintf("does a culvert pass the narrow ground that holds back %s (dams.geojson)? Draw it (kind culvert), else water stands there", strings.Join(each, "; "))}
}
