package lotrun

import (
	"fmt"
	"math"
	"slices"

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
	harder   []harderStorm
}

// harderStorm is a storm harder than the design storm.
type harderStorm struct {
	when  string
	storm design.Storm
}

// weather is the design storm, and harder ones, as things are and with a design.
type weather struct {
	overflow, boundary vector.Layer
	ponding, pondings  vector.Layer // of the design storm, of all
	says               []string     // of the design; one plain line each
}

// weather lets the storms come down; d is nil where nothing is designed.
func (y *yard) weather(d *design.Result) (*weather, error) {
	first, err := y.storm(d, y.criteria.Storm)
	if err != nil {
		return nil, err
	}
	v := &weather{overflow: vector.OverflowPaths(y.overflows(first.before)), ponding: vector.Ponding(first.ponds)}
	ponds := slices.Clone(first.ponds)
	if d == nil {
		v.boundary = vector.BoundaryFlows(y.boundaryFlows(y.site, first.rain, nil, nil))
	} else {
		if err := y.withDesign(v, d, first); err != nil {
			return nil, err
		}
	}
	for _, h := range y.harder {
		harder, err := y.storm(d, h.storm)
		if err != nil {
			return nil, err
		}
		ponds = append(ponds, harder.ponds...)
		if d != nil {
			v.says = append(v.says, y.stands(h.when, harder)...)
			v.says = append(v.says, y.leftOver(h.when, harder.downpour, harder.after)...)
			v.says = append(v.says, y.threatened(h.when, harder.after.Result)...)
		}
	}
	v.pondings = vector.Ponding(ponds)
	return v, nil
}

// stormed is a storm come to rest, as things are and with a design's drains in.
type stormed struct {
	*downpour // nil where nothing is designed
	rain      *rain
	before    *storm.Result
	after     *settled
	ponds     []vector.Pond
}

// storm lets a storm come down.
func (y *yard) storm(d *design.Result, rain design.Storm) (s *stormed, err error) {
	s = &stormed{rain: y.rainOn(y.site, rain, d)}
	if s.before, err = y.asIs(s.rain); err != nil {
		return nil, err
	}
	s.ponds = y.ponds(s.before, s.rain.name, false)
	if d == nil {
		return s, nil
	}
	if s.downpour, err = y.drain(y.site, y.criteria, d).pour(s.rain, len(d.Inflows)); err != nil {
		return nil, err
	}
	if s.after, err = s.settle(noneClogged); err != nil {
		return nil, err
	}
	s.ponds = append(s.ponds, y.ponds(s.after.Result, s.rain.name, true)...)
	return s, nil
}

// withDesign says what the design does in the design storm.
func (y *yard) withDesign(v *weather, d *design.Result, s *stormed) error {
	steady, err := s.steady(s.rain, len(d.Inflows))
	if err != nil {
		return err
	}
	const when = "in the design storm"
	sides := y.boundaryFlows(y.site, s.rain, s.drainage, steady)
	for k := range sides {
		sides[k].Designed = y.site.Lots[y.lot].ID
	}
	v.boundary = vector.BoundaryFlows(sides)
	v.says = append(y.stands(when, s), y.neighbourWords(when, sides)...)
	v.says = append(v.says, s.intakeWords(s.rain, steady)...)
	v.says = append(v.says, y.letOut(s.drainage, steady)...)
	v.says = append(v.says, y.leftOver(when, s.downpour, s.after)...)
	v.says = append(v.says, y.threatened(when, s.after.Result)...)
	clogged, err := y.clogged(s.downpour)
	v.says = append(v.says, clogged...)
	return err
}

// stands says how much water stands on the lot without and with the drains.
func (y *yard) stands(when string, s *stormed) []string {
	if y.lot == noLot {
		return nil
	}
	volume := [2]float64{}
	y.eachWithin(y.site.Lots[y.lot].Area, func(i int) {
		volume[0] += float64(s.before.Depth[i]) * y.surface.CellArea()
		volume[1] += float64(s.after.Depth[i]) * y.surface.CellArea()
	})
	if math.Max(volume[0], volume[1]) < spilledShown {
		return []string{when + " no water stands on the lot"}
	}
	if !slices.ContainsFunc(s.rain.inflows, func(f inflow) bool { return f.served() }) { // nothing is led off
		return []string{fmt.Sprintf("%s %.2f m3 of water stand on the lot as it is", when, volume[0])}
	}
	return []string{fmt.Sprintf("%s %.2f m3 of water stand on the lot as it is, %.2f m3 with the drains in", when, volume[0], volume[1])}
}
