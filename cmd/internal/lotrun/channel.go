package lotrun

import (
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
	"curbfall/terrain/flow"
	"curbfall/terrain/surface"
)

// intercepted lists the cells whose water a channel drain takes, ascending:
// those that run over its line, those of the low spots it lies in, and of the
// driveways it crosses all that lies above it, whatever way the raster's noise
// sends their water.
func (w *water) intercepted(line orb.LineString, site *constraint.Site) []int {
	on := w.onGround(line)
	if len(on) == 0 {
		return nil
	}
	cells := flow.Upstream(w.filled, w.dir, on...)
	lowest := w.filled.Elevation(on[0])
	var spots []int32
	for _, i := range on {
		lowest = min(lowest, w.filled.Elevation(i))
		if k := w.at[i]; k >= 0 && !slices.Contains(spots, k) {
			spots = append(spots, k)
			cells = append(cells, w.catchment(k)...)
		}
	}
	for _, p := range site.Paved {
		var drive []int
		if p.Kind == constraint.Driveway {
			w.eachWithin(p.Area, func(i int) { drive = append(drive, i) })
		}
		if slices.ContainsFunc(on, func(i int) bool { return slices.Contains(drive, i) }) {
			cells = append(cells, slices.DeleteFunc(drive, func(i int) bool { return w.surface.Void(i) || w.filled.Elevation(i) < lowest })...)
		}
	}
	slices.Sort(cells)
	return slices.Compact(cells)
}

// onGround lists the known cells a line passes.
func (w *water) onGround(line orb.LineString) []int {
	return slices.DeleteFunc(surface.CellsOn(w.surface, line), w.surface.Void)
}

// caught tells for each cell the place in the rain's inflows of the served
// channel drain that has its water, -1 where none has. Of two the first has it.
func (w *water) caught(r *rain, site *constraint.Site) []int {
	by := make([]int, len(w.surface.Z))
	for i := range by {
		by[i] = -1
	}
	for k := range r.inflows {
		if f := &r.inflows[k]; f.channel() {
			for _, i := range w.intercepted(f.Line, site) {
				if by[i] < 0 {
					by[i] = k
				}
			}
		}
	}
	return by
}

// channel tells whether an inflow is a served channel drain.
func (f *inflow) channel() bool {
	return f.Kind == network.ChannelDrain && f.served()
}

// channelled is ways with the channel drains in: from all along one, water runs
// in it to its lower end, and on from there. What lies on that way on stays as it
// is, so that no water goes in a circle.
func (w *water) channelled(r *rain, next []int32) []int32 {
	next = slices.Clone(next)
	for k := range r.inflows {
		f := &r.inflows[k]
		if !f.channel() {
			continue
		}
		below := map[int]bool{}
		for i := int32(f.cell); i >= 0; i = next[i] {
			below[int(i)] = true
		}
		for _, i := range w.onGround(f.Line) {
			if !below[i] {
				next[i] = int32(f.cell)
			}
		}
	}
	return next
}
