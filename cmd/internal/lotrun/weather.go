package lotrun

import (
	"fmt"
	"math"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// noLot stands for no lot asked about.
const noLot = -1

// yard is what a storm is looked at on: the ground, what is drawn on it, and the
// lot asked about or noLot.
type yard struct {
	*water
	ground   *grid.Grid
	site     *constraint.Site
	lot      int
	criteria design.Criteria
}

// weather is the design storm, as things are and with a design.
type weather struct {
	overflow, ponding, boundary vector.Layer
	says                        []string // of the design; one plain line each
}

// weather lets the design storm come down; d is nil where nothing is designed.
func (y *yard) weather(d *design.Result) (*weather, error) {
	r := y.rainOn(y.site, y.criteria.Storm, d, 1)
	before, err := y.asIs(r)
	if err != nil {
		return nil, err
	}
	v := &weather{overflow: vector.OverflowPaths(y.overflows(before))}
	ponds := y.ponds(before, r.name, false)
	if d == nil {
		v.ponding, v.boundary = vector.Ponding(ponds), vector.BoundaryFlows(y.boundaryFlows(y.site, r, nil, nil))
		return v, nil
	}
	drains := y.drain(y.site, y.criteria, d)
	steady, err := drains.steady(r, len(d.Inflows))
	if err != nil {
		return nil, err
	}
	v.boundary = vector.BoundaryFlows(y.boundaryFlows(y.site, r, drains, steady))
	p, err := drains.pour(r, len(d.Inflows))
	if err != nil {
		return nil, err
	}
	after, err := p.settle(noneClogged)
	if err != nil {
		return nil, err
	}
	v.ponding = vector.Ponding(append(ponds, y.ponds(after.Result, r.name, true)...))
	v.says = append(y.stands("in the design storm", before, after.Result), drains.intakeWords(r, steady)...)
	v.says = append(v.says, y.leftOver(p, after)...)
	clogged, err := y.clogged(p)
	v.says = append(v.says, clogged...)
	return v, err
}

// stands says how much water stands on the lot without and with the drains.
func (y *yard) stands(when string, before, after *storm.Result) []string {
	if y.lot == noLot {
		return nil
	}
	volume := [2]float64{}
	y.eachWithin(y.site.Lots[y.lot].Area, func(i int) {
		volume[0] += float64(before.Depth[i]) * y.surface.CellArea()
		volume[1] += float64(after.Depth[i]) * y.surface.CellArea()
	})
	if math.Max(volume[0], volume[1]) < spilledShown {
		return []string{when + " no water stands on the lot"}
	}
	return []string{fmt.Sprintf("%s %.2f m3 of water stand on the lot as it is, %.2f m3 with the drains in", when, volume[0], volume[1])}
}
