package lotrun

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/flow"
)

// noSpot stands for no low spot.
const noSpot = -1

// spilledShown is the least volume that is said to spill, m3: a bucket.
const spilledShown = 0.01

// leftOver says where the water goes that the drains leave: what spills from the
// low spots they stand in.
func (y *yard) leftOver(when string, p *downpour, s *settled) (says []string) {
	told := map[int32]bool{}
	for _, f := range p.drains {
		spot := y.at[f.cell]
		if spot < 0 || told[spot] {
			continue
		}
		told[spot] = true
		if v := p.spilled(s)[spot]; v >= spilledShown {
			says = append(says, fmt.Sprintf("%s %.2f m3 are left over and spill from low spot %s: %s", when, v, lowSpotID(int(spot)), y.way(y.spillsOver(spot), spot)))
		}
	}
	return says
}

// spilled is what spills from each low spot with the drains in, m3.
func (p *downpour) spilled(s *settled) []float64 {
	out := make([]float64, len(p.spots))
	for _, root := range p.tree.Roots {
		if spot := p.at[p.tree.Nodes[root].Pit]; spot >= 0 {
			out[spot] += s.Spilled[root]
		}
	}
	return out
}

// way says where water goes that runs from a cell on, a low spot's overflow if
// that is not noSpot: to the lot line or the next low spot; and which openings it
// passes.
func (y *yard) way(i int, from int32) string {
	cells, into := y.runs(i, from)
	end := "it runs off the ground known"
	if into >= 0 {
		end = fmt.Sprintf("it runs into low spot %s", lowSpotID(int(into)))
	}
	if len(cells) > 0 && y.lot != noLot && !planar.PolygonContains(y.site.Lots[y.lot].Area, y.centre(cells[0])) {
		end = "it does so outside the lot; " + end
	}
	for k, cell := range cells {
		if side := y.leaves(cell); side > 0 {
			end, cells = "it leaves the lot over "+sideWords(y.site.Lots[y.lot].Area[0], side), cells[:k+1]
			break
		}
	}
	return strings.Join(append([]string{end}, y.passed(cells)...), "; ")
}

// leaves is the lot's side over which water goes from a cell to the next, from
// 1; 0 where it stays in or out.
func (y *yard) leaves(i int) int {
	if y.lot == noLot {
		return 0
	}
	area, p := y.site.Lots[y.lot].Area, y.centre(i)
	next := flow.Next(y.filled, y.dir, i)
	if !planar.PolygonContains(area, p) {
		return 0
	}
	q := p
	if next >= 0 {
		if q = y.centre(next); planar.PolygonContains(area, q) {
			return 0
		}
	}
	return 1 + nearestSide(area[0], orb.Point{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2})
}

// passed says which openings a path over cells comes near with less than the
// freeboard wanted between the ground there and the sill.
func (y *yard) passed(path []int) (says []string) {
	want := y.criteria.Limits.BuildingFreeboardMin
	for _, o := range y.sills() {
		least := math.Inf(1)
		for _, i := range path {
			if o.near(i) {
				least = math.Min(least, o.level-y.filled.Elevation(i))
			}
		}
		if least < want {
			says = append(says, fmt.Sprintf("on its way it passes %s, which lies %s the ground there, less than building_freeboard_min %.2f m above it", o.name, aboveOrBelow(least), want))
		}
	}
	return says
}
