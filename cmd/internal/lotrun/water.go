package lotrun

import (
	"fmt"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/report"
	"curbfall/io/units"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/depression"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
	"curbfall/terrain/surface"
)

// water is where the surface's water stands and runs.
type water struct {
	surface, filled *grid.Grid
	dir             []uint8
	acc             []uint32
	tree            *depression.Tree
	spots           []lowspot.LowSpot
	noise           float64       // of the raster, m
	least           lowspot.Least // of a low spot
	into, at        []int32       // the low spot a cell's water comes to first, and the one it lies in
	view            *orb.Bound    // what is drawn, in site metres; nil: everything
	curbRaised      []int         // cells of curbs raised against the street's water
}

// waterOver runs water over the ground with the site's roofs and culverts on it,
// and vertical curbs whose height is given kept where the street's water would run
// over them: on the side that levels further apart than step tell. site may be nil.
func waterOver(ground *grid.Grid, site *constraint.Site, step float64) *water {
	var lines surface.Lines
	var curbs []surface.Curb
	if site != nil {
		for _, r := range site.Roofs {
			lines.Roofs = append(lines.Roofs, r.Outline)
		}
		for _, c := range site.Culverts {
			lines.Culverts = append(lines.Culverts, c.Line)
		}
		for k, c := range site.Curbs {
			if side := site.StreetSide(k, ground, step); c.Type == constraint.VerticalCurb && c.Height > 0 && side != constraint.SideUnknown {
				curbs = append(curbs, surface.Curb{Line: c.Line, Height: c.Height, StreetLeft: side == constraint.Left})
			}
		}
	}
	w := &water{surface: ground}
	if len(lines.Roofs)+len(lines.Culverts)+len(curbs) > 0 {
		w.surface = surface.Condition(ground, lines)
	}
	for more := true; more; {
		w.filled = fill.Depressions(w.surface)
		w.dir = flow.Directions(w.filled)
		raised := surface.Wall(ground, w.surface, curbs, lines.Culverts, func(i int) int { return flow.Next(w.filled, w.dir, i) })
		w.curbRaised = append(w.curbRaised, raised...)
		more = len(raised) > 0
	}
	w.acc = flow.Accumulate(w.filled, w.dir)
	w.tree = depression.Build(w.surface, nil)
	w.noise = lowspot.Noise(ground)
	w.least = lowspot.Least{Depth: lowSpotShown, Volume: lowSpotHolds, Noise: w.noise}
	w.spots, w.into = lowspot.Find(w.surface, w.filled, w.dir, w.least)
	w.at = lowspot.At(len(w.into), w.spots)
	return w
}

// withCurbHeights is the site with the criteria's height for curbs of none.
func (g *given) withCurbHeights() *constraint.Site {
	s := *g.site
	s.Curbs = slices.Clone(s.Curbs)
	for k := range s.Curbs {
		if c := &s.Curbs[k]; !constraint.Given(c.Height) {
			c.Height = g.criteria.Limits.CurbHeight
		}
	}
	return &s
}

// The least depth of a low spot, m, and what it holds at least, m3: less than a
// puddle and a bucket. In a noisy raster it must be beyond noise too.
const (
	lowSpotShown = 0.03
	lowSpotHolds = 0.01
)

// pathShown is the contributing area from which a flow path is drawn, m2.
const pathShown = 100

// curbWords says where curbs in view had to be kept from leaking.
func (w *water) curbWords() []string {
	leaks := 0
	for _, i := range w.curbRaised {
		if w.inView([]int{i}) {
			leaks++
		}
	}
	if leaks == 0 {
		return nil
	}
	return []string{fmt.Sprintf("the raster lets the street's water over vertical curbs at %s: raised by the curb's height there, for water alone", units.Counted(leaks, "cell"))}
}

// smallWords says how many low spots are left out as too small, of those as deep
// as is shown where there is no noise.
func (w *water) smallWords() []string {
	small := 0
	for _, pit := range lowspot.Pits(w.surface, w.filled, lowspot.Least{Depth: lowSpotShown}) {
		if w.at[pit] == noSpot && w.inView([]int{pit}) {
			small++
		}
	}
	if small == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%s left out: no deeper than the raster's noise of %.3f m from cell to cell makes them, or holding less than %.2f m3", units.Counted(small, "low spot"), w.noise, lowSpotHolds)}
}

// firstSpots is how many low spots are told in words.
const firstSpots = 5

// firstLines tells of the low spots in view in which most water stands, and where
// they spill to, in the units people read.
func (w *water) firstLines(u units.System) string {
	var list []string
	for k := range w.spots {
		s := &w.spots[k]
		if !w.inView(s.Cells) {
			continue
		}
		to := "off the ground known"
		if _, into := w.runs(w.spillsOver(int32(k)), int32(k)); into >= 0 {
			to = "into " + lowSpotID(int(into))
		}
		list = append(list, fmt.Sprintf("%s: %.2f m deep, holds %.2f m3, %.1f m2 drain to it; it spills at %.3f m, %s", lowSpotID(k), s.Depth, s.Volume, s.ContributingArea, s.SpillElevation, to))
		if len(list) == firstSpots {
			break
		}
	}
	var b strings.Builder
	for _, l := range report.Said(list, u) {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	return b.String()
}

// layers draws low spots and flow paths.
func (w *water) layers() (low, paths vector.Layer) {
	var spots []vector.LowSpot
	draw := func(s *lowspot.LowSpot, id, parent string) {
		for _, p := range lowspot.Outline(w.surface, s.Cells)[:1] {
			spots = append(spots, vector.LowSpot{ID: id, Parent: parent, Outline: p, Depth: s.Depth, Area: s.Area, Volume: s.Volume,
				SpillElevation: s.SpillElevation, ContributingArea: s.ContributingArea, TouchesEdge: s.TouchesEdge})
		}
	}
	for i := range w.spots {
		if w.inView(w.spots[i].Cells) {
			draw(&w.spots[i], lowSpotID(i), "")
		}
	}
	for _, n := range w.nested() {
		if w.inView(w.spots[n.spot].Cells) {
			draw(&n.LowSpot, n.id, n.parent)
		}
	}
	var lines []vector.FlowPath
	for _, p := range flow.Paths(w.filled, w.dir, w.acc, pathShown) {
		for _, l := range w.ashore(p.Line) {
			if w.view == nil || w.view.Intersects(l.Bound()) {
				end, _ := w.cellAt(l[len(l)-1])
				lines = append(lines, vector.FlowPath{Line: l, ContributingArea: float64(w.acc[end]) * w.surface.CellArea()})
			}
		}
	}
	return vector.LowSpots(spots), vector.FlowPaths(lines)
}

// ashore is a path without what of it lies in low spots: where water stands no
// channel runs. What is left reaches the shore.
func (w *water) ashore(path orb.LineString) (dry []orb.LineString) {
	wet := func(k int) bool {
		i, _ := w.cellAt(path[k])
		return w.at[i] != noSpot
	}
	for k := 0; k < len(path); k++ {
		if wet(k) {
			continue
		}
		from := max(0, k-1)
		for k < len(path)-1 && !wet(k) {
			k++
		}
		if k > from {
			dry = append(dry, path[from:k+1])
		}
	}
	return dry
}

// inView tells whether any of some cells is drawn.
func (w *water) inView(cells []int) bool {
	return w.view == nil || slices.ContainsFunc(cells, func(i int) bool { return w.view.Contains(w.centre(i)) })
}

// nestedSpot is a low spot inside another.
type nestedSpot struct {
	lowspot.LowSpot
	id, parent string
	spot       int // the low spot it lies in
}

// nested lists the low spots inside others, each before what lies in it.
func (w *water) nested() (list []nestedSpot) {
	within := map[string]int{}
	for _, n := range lowspot.Nest(w.tree, w.spots, w.least) {
		parent := lowSpotID(n.Spot)
		if n.Parent >= 0 {
			parent = list[n.Parent].id
		}
		within[parent]++
		list = append(list, nestedSpot{n.LowSpot, fmt.Sprintf("%s.%d", parent, within[parent]), parent, n.Spot})
	}
	return list
}

func lowSpotID(i int) string { return fmt.Sprintf("ls%d", i+1) }

// forDesign is what the design needs to know of the water.
func (w *water) forDesign(site *constraint.Site, storm design.Storm) design.Water {
	r := w.receiver(w.coefficients(site, storm))
	d := design.Water{
		Runoff:     r.at,
		Intercepts: func(line orb.LineString) (area, weighted float64) { return r.sum(w.intercepted(line, site)) },
	}
	if storm.Rain != nil && storm.Rain24h > 0 {
		t := w.travelOver(site, storm.Rain24h)
		d.Travel = func(to orb.Geometry) float64 { return t.to(to, site) }
	}
	for i, s := range w.spots {
		d.LowSpots = append(d.LowSpots, design.LowSpot{ID: lowSpotID(i), Pit: w.centre(s.Pit), Depth: s.Depth, ContributingArea: s.ContributingArea})
	}
	return d
}

func (w *water) catchment(spot int32) []int {
	var cells []int
	for i, s := range w.into {
		if s == spot {
			cells = append(cells, i)
		}
	}
	return cells
}

// coefficients gives each cell its runoff coefficient in a storm; below 0 under roofs,
// whose rain comes down at downspouts.
func (w *water) coefficients(site *constraint.Site, storm design.Storm) []float64 {
	c := make([]float64, len(w.surface.Z))
	for i := range c {
		c[i] = storm.RunsOff(storm.Lawn)
	}
	paint := func(p orb.Polygon, v float64) { w.eachWithin(p, func(i int) { c[i] = v }) }
	for _, a := range site.Paved {
		of := map[constraint.PavedKind]float64{constraint.Walk: storm.Walk, constraint.Driveway: storm.Driveway, constraint.Patio: storm.Patio}[a.Kind]
		if a.Gravel {
			of = storm.Gravel
		}
		paint(a.Area, storm.RunsOff(of))
	}
	for _, r := range site.Roofs {
		paint(r.Outline, -1)
	}
	return c
}
