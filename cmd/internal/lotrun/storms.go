package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/network"
	"curbfall/terrain/depression"
	"curbfall/terrain/flow"
	"curbfall/terrain/lowspot"
	"curbfall/terrain/storm"
)

// stormDuration is how long the design storm's intensity is held, s: the floor
// of the time of concentration.
//
// Source: WSDOT Hydraulics Manual M 23-03.12, as storm.duration in the limits.
const stormDuration = 5 * 60

// rain is the design storm coming down on the surface. Where a roof has
// downspouts its water comes down there, as far as they serve it; the rest runs
// off its eaves.
type rain struct {
	name       string    // for people
	flow       []float64 // m3/s from each cell, by cell
	downspouts []inflow
	drains     []inflow
}

// taken is the flow the design takes away at an inflow, m3/s.
func (f inflow) taken() float64 { return f.flow * f.carried }

// inflow is a place where the design takes water, by cell.
type inflow struct {
	id      string
	cell    int
	flow    float64 // design flow, m3/s
	carried float64 // the share of it that the design takes away, 0 where not served
}

// rainOn lets the design storm come down; d is nil where nothing is designed.
// What the pipes cannot carry is left at all inflows alike.
func (w *water) rainOn(site *constraint.Site, s design.Storm, d *design.Result) *rain {
	r := &rain{name: fmt.Sprintf("%.4g mm/h for %d min", s.Intensity*1000*3600, stormDuration/60), flow: w.coefficients(site, s)}
	piped := map[string]float64{} // roof area that downspouts drain, m2
	if d != nil {
		r.design(w, d, piped)
	}
	for _, roof := range site.Roofs {
		c := s.Roof
		if constraint.Given(roof.RunoffCoeff) {
			c = roof.RunoffCoeff
		}
		share := 1 - math.Min(1, piped[roof.ID]/planar.Area(roof.Outline))
		w.eachWithin(roof.Outline, func(i int) { r.flow[i] = c * share })
	}
	for i := range r.flow {
		r.flow[i] *= s.Intensity * w.surface.CellArea()
		if w.surface.Void(i) {
			r.flow[i] = 0
		}
	}
	return r
}

// design notes where a design takes water.
func (r *rain) design(w *water, d *design.Result, piped map[string]float64) {
	served := 0.0
	for _, in := range d.Inflows {
		if in.Status == design.Served {
			served += in.Flow
		}
	}
	for _, in := range d.Inflows {
		at, ok := w.cellAt(in.At)
		if !ok {
			continue
		}
		f := inflow{id: in.ID, cell: at, flow: in.Flow}
		if in.Status == design.Served && served > 0 {
			f.carried = math.Max(0, 1-d.Leftover/served)
		}
		if in.Kind == network.Downspout {
			piped[in.Roof] += in.Area
			r.downspouts = append(r.downspouts, f)
		} else {
			r.drains = append(r.drains, f)
		}
	}
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

// asIs settles the storm as things are.
func (w *water) asIs(r *rain) (*storm.Result, error) {
	return storm.Run(w.tree, w.comingDown(r, false))
}

// withDrains settles the storm with the design's drains in: each area drain
// takes up to what is carried away of its design flow for as long as the storm
// lasts, and what downspouts carry away does not come down.
func (w *water) withDrains(r *rain) (*storm.Result, error) {
	water := w.comingDown(r, true)
	var sinks []int
	for _, d := range r.drains {
		if w.tree.Of[d.cell] != depression.None {
			sinks = append(sinks, d.cell)
			water.Drains = append(water.Drains, storm.Drain{Cell: d.cell, Capacity: d.taken() * stormDuration})
		}
	}
	return storm.Run(depression.Build(w.surface, sinks), water)
}

// comingDown is the storm's water; with the design, without what
// downspouts carry away.
func (w *water) comingDown(r *rain, designed bool) storm.Water {
	water := storm.Water{Runoff: func(i int) float64 { return r.flow[i] * stormDuration / w.surface.CellArea() }}
	for _, d := range r.downspouts {
		v := d.flow
		if designed {
			v -= d.taken()
		}
		water.Deliveries = append(water.Deliveries, storm.Delivery{Cell: d.cell, Volume: v * stormDuration})
	}
	return water
}

// stormLayers draws overflow paths, ponds, and what runs over lot lines.
func (w *water) stormLayers(site *constraint.Site, s design.Storm, d *design.Result) (overflow, ponding, boundary vector.Layer, err error) {
	r := w.rainOn(site, s, d)
	before, err := w.asIs(r)
	if err != nil {
		return overflow, ponding, boundary, err
	}
	ponds := w.ponds(before, r.name, false)
	if d != nil {
		after, err := w.withDrains(r)
		if err != nil {
			return overflow, ponding, boundary, err
		}
		ponds = append(ponds, w.ponds(after, r.name, true)...)
	}
	return vector.OverflowPaths(w.overflows(before)), vector.Ponding(ponds), vector.BoundaryFlows(w.boundaryFlows(site, r, d != nil)), nil
}

// ponds draws what stands at least lowSpotShown deep: wet cells that hang
// together are one pond.
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
		if p.Depth < lowSpotShown {
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
		i := s.Pit
		for i >= 0 && w.at[i] == int32(k) {
			i = flow.Next(w.filled, w.dir, i)
		}
		p := vector.OverflowPath{LowSpot: lowSpotID(k), SpillElevation: s.SpillElevation, Volume: spilled[k]}
		for ; i >= 0; i = flow.Next(w.filled, w.dir, i) {
			p.Line = append(p.Line, w.centre(i))
			if w.at[i] >= 0 {
				p.Into = lowSpotID(int(w.at[i]))
				break
			}
		}
		if len(p.Line) < 2 { // it spills at the edge of the ground known: nothing is seen of its way
			continue
		}
		p.Length = planar.Length(p.Line)
		list = append(list, p)
	}
	return list
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
