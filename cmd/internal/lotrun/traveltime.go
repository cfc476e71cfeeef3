package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/terrain/flow"
)

// Roughness of sheet flow over what a yard has. A dense lawn's 0.24 would slow the
// water more: short grass errs to the harder rain.
//
// Source: USDA NRCS TR-55, 2nd ed., Table 3-1.
const (
	sheetPaved = 0.011 // smooth surfaces
	sheetLawn  = 0.15  // short grass
)

// sheetMost is how far water runs as a sheet before it gathers, m: 100 ft.
// Source: USDA NRCS NEH 630, chapter 15 (May 2010); TR-55 had 300 ft.
const sheetMost = 30.48

// slopeTold is the least slope a way is taken to have: on two points 30 m apart
// lidar is 0.47 % of slope wrong by itself, and flatter ground would slow the water
// more, which this errs against.
const slopeTold = 0.005

// timeWords says what times over ground rest on.
func timeWords(rain24h float64) string {
	return fmt.Sprintf("times of concentration: a sheet over the first %.2f m at most, Manning n %g on lawn and %g on pavement, with %.3f m of rain in 24 hours of 2 years (TR-55), then gathered flow; slopes of %g %% at least; off roofs at once; each pipe has the rain that brings it most, in a short one a slow inflow by the share of its time (FHWA HEC-22)",
		sheetMost, sheetLawn, sheetPaved, rain24h, 100*slopeTold)
}

// travel is how long water takes over the surface, where the storm tells it.
type travel struct {
	*water
	paved   []bool
	under   []bool  // roofs
	rain24h float64 // of 2 years, a depth in m
}

// travelOver times water over the surface of a site.
func (w *water) travelOver(site *constraint.Site, rain24h float64) *travel {
	t := &travel{water: w, paved: make([]bool, len(w.surface.Z)), under: make([]bool, len(w.surface.Z)), rain24h: rain24h}
	for _, a := range site.Paved {
		w.eachWithin(a.Area, func(i int) { t.paved[i] = !a.Gravel })
	}
	for _, r := range site.Roofs {
		w.eachWithin(r.Outline, func(i int) { t.under[i] = true })
	}
	return t
}

// longest is the longest time from any of some cells to where their water ends:
// outside them, or where ends says. What runs round a roof is timed from its wall.
func (t *travel) longest(cells []int, ends func(cell int) bool) (most float64) {
	within := make(map[int]bool, len(cells))
	for _, i := range cells {
		within[i] = true
	}
	fed := make(map[int]bool, len(cells)) // water comes from above
	for _, i := range cells {
		if !t.under[i] {
			fed[flow.Next(t.filled, t.dir, i)] = true
		}
	}
	for _, i := range cells {
		if !fed[i] && !t.under[i] && !ends(i) {
			most = math.Max(most, t.down(i, func(cell int) bool { return !within[cell] || ends(cell) }))
		}
	}
	return most
}

// down is the time from a cell down to the first where water ends: a sheet at
// first, then gathered.
func (t *travel) down(i int, ends func(cell int) bool) float64 {
	var sheet, gathered stretch
	for next := flow.Next(t.filled, t.dir, i); next >= 0; next = flow.Next(t.filled, t.dir, i) {
		p, q := t.centre(i), t.centre(next)
		length := math.Hypot(q[0]-p[0], q[1]-p[1])
		fall := t.filled.Elevation(i) - t.filled.Elevation(next)
		first := math.Min(length, sheetMost-sheet.length)
		sheet.add(first, fall*first/length, t.paved[i])
		gathered.add(length-first, fall*(1-first/length), t.paved[i])
		if i = next; ends(i) {
			break
		}
	}
	return hydraulics.TimeOfConc(0, sheet.asSheet(t.rain24h), gathered.gathered())
}

// stretch is a part of a way water takes.
type stretch struct {
	length, fall, paved float64 // paved of its length, m
}

func (s *stretch) add(length, fall float64, paved bool) {
	s.length += length
	s.fall += fall
	if paved {
		s.paved += length
	}
}

func (s *stretch) slope() float64 { return math.Max(s.fall/s.length, slopeTold) }

// asSheet is the time as sheet flow, its roughness the mean by length.
func (s *stretch) asSheet(rain24h float64) float64 {
	if s.length == 0 {
		return 0
	}
	n := sheetLawn + (sheetPaved-sheetLawn)*s.paved/s.length
	return hydraulics.SheetFlowTime(n, s.length, rain24h, s.slope())
}

// gathered is the time as shallow concentrated flow.
func (s *stretch) gathered() float64 {
	if s.length == 0 {
		return 0
	}
	return s.paved/hydraulics.ShallowVelocity(hydraulics.ShallowPaved, s.slope()) +
		(s.length-s.paved)/hydraulics.ShallowVelocity(hydraulics.ShallowUnpaved, s.slope())
}

// to is the longest time to a drain at a point or along a line, s. Water that
// reaches the low spot a drain stands in is there: standing water passes it on. On
// a slope the single ways that lead to the drain tell; where the raster's noise
// leads them by, they are short, which errs to the harder rain.
func (t *travel) to(drain orb.Geometry, site *constraint.Site) float64 {
	var cells, on []int
	switch g := drain.(type) {
	case orb.Point:
		i, known := t.cellAt(g)
		if !known {
			return 0
		}
		on = []int{i}
		if spot := t.at[i]; spot >= 0 {
			cells = t.catchment(spot)
		} else {
			cells = flow.Upstream(t.filled, t.dir, i)
		}
	case orb.LineString:
		on, cells = t.onGround(g), t.intercepted(g, site)
	}
	at, spots := map[int]bool{}, map[int32]bool{noSpot: false}
	for _, i := range on {
		at[i], spots[t.at[i]] = true, t.at[i] != noSpot
	}
	return t.longest(cells, func(i int) bool { return at[i] || spots[t.at[i]] })
}
