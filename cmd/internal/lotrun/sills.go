package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/terrain/storm"
)

// openingReach is how near water must come to an opening to matter to it, m:
// two strides, within which the raster cannot say where a wall stands.
const openingReach = 1.5

// sill is where water enters a building.
type sill struct {
	name  string
	level float64             // elevation, m
	near  func(cell int) bool // whether water on a cell matters to it
}

// sills lists the openings, and the floors that are given, whose levels are
// known.
func (y *yard) sills() (list []sill) {
	reach := openingReach + y.surface.CellMax()/2
	add := func(s sill) {
		if !math.IsNaN(s.level) {
			list = append(list, s)
		}
	}
	for _, o := range y.site.Openings {
		level := o.Elevation
		if !constraint.Given(level) {
			level = y.ground.Ground(o.At[0], o.At[1]) + o.Height
		}
		add(sill{"opening " + o.ID, level, func(i int) bool { return planar.Distance(o.At, y.centre(i)) <= reach }})
	}
	for _, r := range y.site.Roofs {
		box := r.Outline.Bound().Pad(reach)
		add(sill{"the floor under roof " + r.ID, r.FinishedFloor, func(i int) bool {
			p := y.centre(i)
			return box.Contains(p) && (planar.PolygonContains(r.Outline, p) || planar.DistanceFrom(orb.LineString(r.Outline[0]), p) <= reach)
		}})
	}
	return list
}

// nearAny tells whether water on any of some cells matters to a sill.
func (s *sill) nearAny(cells []int) bool {
	for _, i := range cells {
		if s.near(i) {
			return true
		}
	}
	return false
}

// aboveOrBelow is a height over something in words.
func aboveOrBelow(height float64) string {
	if height < 0 {
		return fmt.Sprintf("%.2f m below", -height)
	}
	return fmt.Sprintf("%.2f m above", height)
}

// threatened says which sills have less than the freeboard wanted over the water
// that a storm leaves standing near them.
func (y *yard) threatened(when string, r *storm.Result) (says []string) {
	want := y.criteria.Limits.BuildingFreeboardMin
	for _, s := range y.sills() {
		level := math.Inf(-1)
		for i, depth := range r.Depth {
			if depth > 0 && s.near(i) {
				level = math.Max(level, y.surface.Elevation(i)+float64(depth))
			}
		}
		switch above := s.level - level; {
		case above >= want:
		case above > 0:
			says = append(says, fmt.Sprintf("%s water stands to %.2f m near %s, %.2f m below it, less than building_freeboard_min %.2f m", when, level, s.name, above, want))
		default:
			says = append(says, fmt.Sprintf("%s water stands to %.2f m near %s, %.2f m above it: it can enter", when, level, s.name, -above))
		}
	}
	return says
}
