package lotrun

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/network"
	"curbfall/terrain/flow"
	"curbfall/terrain/lowspot"
	"curbfall/terrain/storm"
)

// rain is a storm coming down on the surface. A roof's water comes down at its
// drawn downspouts; what they do not have runs off its eaves. Downspouts that a
// design proposes are not there yet: as things are, their water runs off the
// eaves too.
type rain struct {
	name     string    // for people
	duration float64   // s
	flow     []float64 // m3/s from each cell but what the inflows have of a roof, by cell
	inflows  []inflow  // of the design, those on known ground
}

// inflow is a place where the design takes water, by cell.
type inflow struct {
	*design.Inflow
	place int // in the design's list
	cell  int
	flow  float64 // that comes at its peak, m3/s
	peak  float64 // of that what it brings while the last pipe carries most, m3/s
	comes float64 // that this rain brings, m3/s: more where its water comes slowly
	eaves []int   // of a proposed downspout: the roof's cells its water runs off until it is built
}

// comesDown tells where a downspout's water comes down as things are, and how
// much of it, m3/s. Other inflows have none of their own.
func (f *inflow) comesDown(at func(cell int, flow float64)) {
	switch {
	case f.open():
	case len(f.eaves) == 0:
		at(f.cell, f.flow)
	default:
		for _, i := range f.eaves {
			at(i, f.flow/float64(len(f.eaves)))
		}
	}
}

// open tells whether an inflow is a grate in the ground.
func (f *inflow) open() bool { return f.Kind != network.Downspout }

// served tells whether the design takes its water.
func (f *inflow) served() bool { return f.Status == design.Served }

// rainOn lets a storm come down; d is nil where nothing is designed.
func (w *water) rainOn(site *constraint.Site, s design.Storm, d *design.Result) *rain {
	r := &rain{name: fmt.Sprintf("%.4g mm/h for %.3g min", s.Intensity*1000*3600, s.Duration/60), duration: s.Duration, flow: w.coefficients(site, s)}
	for i, c := range r.flow {
		r.flow[i] = math.Max(0, c) * s.Intensity * w.surface.CellArea()
		if w.surface.Void(i) {
			r.flow[i] = 0
		}
	}
	eaves := map[string][]int{}
	for _, roof := range site.Roofs {
		eaves[roof.ID] = w.roofCells(roof.Outline)
	}
	piped := map[string]float64{} // roof area that downspouts drain, m2
	if d != nil {
		shares := d.PeakShares()
		for k := range d.Inflows {
			f := inflow{Inflow: &d.Inflows[k], place: k, flow: d.FlowIn(&d.Inflows[k], s)}
			f.peak = f.flow * shares[k]
			f.comes = f.flow * s.Intensity / s.Over(f.TimeOfConc)
			var known bool
			if f.cell, known = w.cellAt(f.At); !known {
				continue
			}
			if !f.open() {
				piped[f.Roof] += f.Area
			}
			if f.Assumed {
				f.eaves = eaves[f.Roof]
			}
			r.inflows = append(r.inflows, f)
		}
	}
	for k, roof := range site.Roofs {
		c := s.Roof
		if constraint.Given(roof.RunoffCoeff) {
			c = roof.RunoffCoeff
		}
		area := planar.Area(roof.Outline)
		if !w.contains(roof.Outline) { // only what is seen of it
			area = math.Min(area, float64(len(eaves[roof.ID]))*w.surface.CellArea())
		}
		left := s.RunsOff(c) * s.Intensity * math.Max(0, area-piped[roof.ID])
		if piped[roof.ID] == 0 {
			left -= r.drawn(w, site, k, left)
		}
		r.spread(left, eaves[roof.ID])
	}
	return r
}

// drawn lets a roof's water, m3/s, come down at its drawn downspouts, as far as
// their shares go, and tells how much that is: on the lots that are not designed
// no inflow stands for them.
func (r *rain) drawn(w *water, site *constraint.Site, roof int, flow float64) (down float64) {
	var spouts []constraint.Downspout
	for _, s := range site.Downspouts {
		if _, known := w.cellAt(s.At); known && site.RoofOf(s) == roof {
			spouts = append(spouts, s)
		}
	}
	for i, share := range constraint.Shares(spouts) {
		cell, _ := w.cellAt(spouts[i].At)
		r.flow[cell] += share * flow
		down += share * flow
	}
	return math.Min(flow, down)
}

// spread lets so much water, m3/s, come down evenly over some cells.
func (r *rain) spread(flow float64, cells []int) {
	for _, i := range cells {
		r.flow[i] += flow / float64(len(cells))
	}
}

// roofCells lists the known cells of a roof; of one smaller than a cell, the one
// its middle lies in.
func (w *water) roofCells(outline orb.Polygon) (cells []int) {
	w.eachWithin(outline, func(i int) {
		if !w.surface.Void(i) {
			cells = append(cells, i)
		}
	})
	if i, known := w.cellAt(outline.Bound().Center()); len(cells) == 0 && known {
		cells = []int{i}
	}
	return cells
}

// cellAt is the cell a point lies in, and whether it is ground.
func (w *water) cellAt(p orb.Point) (i int, ok bool) {
	x, y := w.surface.ToCell(p[0], p[1])
	c, r := int(math.Floor(x+0.5)), int(math.Floor(y+0.5))
	if !w.surface.Contains(c, r) || w.surface.Void(w.surface.Index(c, r)) {
		return 0, false
	}
	return w.surface.Index(c, r), true
}

// runoff is the depth of water that leaves each cell's ground, m.
func (r *rain) runoff(w *water) func(cell int) float64 {
	return func(i int) float64 { return r.flow[i] * r.duration / w.surface.CellArea() }
}

// deliveries is a downspout's water in the storm as things are.
func (r *rain) deliveries(f *inflow) (list []storm.Delivery) {
	f.comesDown(func(cell int, flow float64) {
		list = append(list, storm.Delivery{Cell: cell, Volume: flow * r.duration})
	})
	return list
}

// asIs settles the storm as things are.
func (w *water) asIs(r *rain) (*storm.Result, error) {
	water := storm.Water{Runoff: r.runoff(w)}
	for _, f := range r.inflows {
		water.Deliveries = append(water.Deliveries, r.deliveries(&f)...)
	}
	return storm.Run(w.tree, water)
}

// ponds draws what stands in low spots, and as deep and as much as one at least:
// wet cells that hang together are one pond.
func (w *water) ponds(r *storm.Result, name string, after bool) (list []vector.Pond) {
	for _, cells := range lowspot.Wet(w.surface, r.Depth) {
		p := vector.Pond{Storm: name, After: after, Area: float64(len(cells)) * w.surface.CellArea()}
		for _, i := range cells {
			d := float64(r.Depth[i])
			p.Volume += d * w.surface.CellArea()
			if d > p.Depth {
				p.Depth, p.Level = d, w.surface.Elevation(i)+d
			}
		}
		named := slices.ContainsFunc(cells, func(i int) bool { return w.at[i] != noSpot })
		if !named || p.Depth < w.least.Depth || p.Volume < w.least.Volume || !w.inView(cells) {
			continue
		}
		p.Outline = lowspot.Outline(w.surface, cells)[0]
		list = append(list, p)
	}
	return list
}

// overflows follows what spills from each low spot down to the
// next, or off the ground known.
func (w *water) overflows(r *storm.Result) (list []vector.OverflowPath) {
	spilled := w.spilled(r)
	for k, s := range w.spots {
		if !w.inView(s.Cells) {
			continue
		}
		p := vector.OverflowPath{LowSpot: lowSpotID(k), SpillElevation: s.SpillElevation, Volume: spilled[k]}
		cells, into := w.runs(w.spillsOver(int32(k)), int32(k))
		for _, i := range cells {
			p.Line = append(p.Line, w.centre(i))
		}
		if into >= 0 {
			p.Into = lowSpotID(int(into))
		}
		if len(p.Line) < 2 { // it spills at the edge of the ground known: nothing is seen of its way
			continue
		}
		p.Length = planar.Length(p.Line)
		list = append(list, p)
	}
	return list
}

// spillsOver is the first cell outside a low spot on its overflow's way; below 0
// off the ground known.
func (w *water) spillsOver(spot int32) int {
	i := w.spots[spot].Pit
	for i >= 0 && w.at[i] == spot {
		i = flow.Next(w.filled, w.dir, i)
	}
	return i
}

// runs lists the cells water runs over from one on, up to the first of a low
// spot, which is told, other than the one it comes from; -1 where it comes to
// none.
func (w *water) runs(i int, from int32) (cells []int, into int32) {
	for ; i >= 0; i = flow.Next(w.filled, w.dir, i) {
		cells = append(cells, i)
		if k := w.at[i]; k >= 0 && k != from {
			return cells, k
		}
	}
	return cells, -1
}

// spilled is what spills from each low spot, m3.
func (w *water) spilled(r *storm.Result) []float64 {
	out := make([]float64, len(w.spots))
	for _, root := range w.tree.Roots {
		if spot := w.at[w.tree.Nodes[root].Pit]; spot >= 0 {
			out[spot] += r.Spilled[root]
		}
	}
	return out
}
