package lawcheck

import (
	"math"
	"strings"
)

// outlet proves rule 7 and the outlet's part of rule 5 at an outlet node.
func (c *checker) outlet(n *node) {
	in := c.in[n.id]
	if len(in) == 0 {
		c.report(NodeIDs, n.id, 0, 0, 1, "no pipe reaches this outlet")
		return
	}
	invert := math.Inf(1)
	for _, p := range in {
		invert = math.Min(invert, p.invertDown())
	}
	given := c.givenOutlet(n)
	switch n.outletType {
	case "curb_face":
		c.curbFace(n, in, invert)
	case "emitter":
		c.emitter(n, invert)
	case "daylight":
		if z := c.ground.at(n.at); !(invert >= z-invertTolerance) {
			c.report(Daylight, in[0].id, 0, invert, z, "the daylight invert lies below the ground")
		}
	case "storm_inlet":
		if given == nil {
			c.report(OutletPlace, in[0].id, 0, math.NaN(), math.NaN(), "a storm inlet must be given")
		} else if need, ok := c.site.level(given, "invert"); ok && !(invert >= need-invertTolerance) {
			c.report(StormInlet, in[0].id, 0, invert, need, "below the storm inlet's invert")
		}
	default:
		c.report(Form, n.id, 0, math.NaN(), math.NaN(), "outlet_type %q is not known", n.outletType)
	}
	if outside := signed(c.lot.area, n.at); outside > planTolerance && n.outletType != "curb_face" {
		c.margin(n, in[0])
	}
}

// givenOutlet is the drawn outlet that a node stands for; where some are drawn
// there must be one.
func (c *checker) givenOutlet(n *node) *feature {
	outlets := c.site.byKind["outlet"]
	for _, o := range outlets {
		kind := word(o.properties["type"])
		if kind == "" {
			kind = "curb_face"
		}
		at := o.point
		if kind == "curb_face" && !c.front.none() {
			at = nearest(c.front.line, at).at // drawn by eye beside the face
		}
		if kind == n.outletType && length(at, n.at) <= planTolerance {
			return o
		}
	}
	if len(outlets) > 0 || n.outletType == "emitter" {
		c.report(OutletPlace, n.id, 0, math.NaN(), math.NaN(), "the %s is at none of the %d outlets drawn", n.outletType, len(outlets))
	}
	return nil
}

// curbFace proves an outlet through the face of curb.
func (c *checker) curbFace(n *node, in []*pipe, invert float64) {
	p := in[0]
	f := c.front
	if f.none() {
		c.report(OutletPlace, p.id, 0, math.NaN(), math.NaN(), "no side of the lot faces a curb")
		return
	}
	at := nearest(f.line, n.at)
	if !(at.distance <= planTolerance) {
		c.report(OutletPlace, p.id, 0, at.distance, 0, "the outlet is not on the face of the lot's curb")
	}
	if !f.vertical {
		c.report(OutletPlace, p.id, 0, math.NaN(), math.NaN(), "the curb is not vertical: it has no face")
	}
	if f.streetLeft == f.lotLeft {
		c.report(OutletPlace, p.id, 0, math.NaN(), math.NaN(), "the curb's street side is not away from the lot")
	}
	gutter := c.gutter(at)
	if need := gutter + c.limit("outlet_above_gutter"); !(invert >= need-invertTolerance) {
		c.report(AboveGutter, p.id, 0, invert, need, "the outlet is too low over the gutter")
	}
	if !(math.Abs(n.number["gutter_m"]-gutter) <= invertTolerance) {
		c.report(Printed, n.id, 0, n.number["gutter_m"], gutter, "gutter_m is not the gutter's elevation")
	}
	c.margin(n, p)
	for _, d := range c.site.byKind["driveway"] {
		if away, need := signed(d.area, n.at), c.limit("curb_clearance_driveway"); !(away >= need-planTolerance) {
			c.report(CurbDriveway, p.id, 0, away, need, "too near driveway %s", d.id)
		}
	}
	for _, p := range in {
		if most := c.limit("outlet_size_max"); !(p.diameter <= most+planTolerance) {
			c.report(OutletSize, p.id, 0, p.diameter, most, "larger than the hole through the curb may be")
		}
	}
}

// margin proves that an outlet stays frontage_margin inside the frontage.
func (c *checker) margin(n *node, p *pipe) {
	if c.front.none() {
		return
	}
	s := nearest(c.front.line, n.at).station
	if in, need := math.Min(s-c.front.from, c.front.to-s), c.limit("frontage_margin"); !(in >= need-planTolerance) {
		c.report(FrontageMargin, p.id, 0, in, need, "the outlet is too near the end of the frontage")
	}
}

// emitter proves a pop-up emitter.
func (c *checker) emitter(n *node, invert float64) {
	z, lid := c.ground.at(n.at), n.number["lid_m"]
	if !(math.Abs(lid-z) <= coverTolerance) {
		c.report(Emitter, n.id, 0, lid, z, "the lid is not at the ground")
	}
	if rise, most := z-invert, c.limit("emitter_rise_max"); !(rise <= most+coverTolerance) {
		c.report(Emitter, n.id, 0, rise, most, "the emitter rises too far")
	}
	for _, up := range c.out.nodes {
		if rim := up.number["rim_m"]; !math.IsNaN(rim) && c.outletOf(up.id) == n && !(rim >= lid-invertTolerance) {
			c.report(Emitter, up.id, up.number["station_m"], rim, lid, "an open rim lies below the emitter's lid")
		}
	}
}

// outletOf follows the pipes from a node to its outlet; nil where they end
// elsewhere or go round.
func (c *checker) outletOf(id string) *node {
	for range len(c.out.pipes) + 1 {
		n := c.out.node[id]
		if n != nil && n.kind == "outlet" {
			return n
		}
		if len(c.outOf[id]) == 0 {
			return nil
		}
		id = c.outOf[id][0].to
	}
	return nil
}

// servedInflows proves that what is called served is, and nothing else is drawn.
func (c *checker) servedInflows() {
	s := c.out.summary
	status := map[string]string{}
	all := true
	for _, f := range s.Inflows {
		status[f.ID] = f.Status
		switch n := c.out.node[f.ID]; {
		case f.Status == "served" && (n == nil || !n.inflow()):
			c.report(Served, f.ID, math.NaN(), math.NaN(), math.NaN(), "served, and no node of its own")
		case f.Status == "served" && c.outletOf(f.ID) == nil:
			c.report(Served, f.ID, math.NaN(), math.NaN(), math.NaN(), "served, and its pipes reach no outlet")
		case f.Status != "served" && n != nil:
			c.report(Served, f.ID, math.NaN(), math.NaN(), math.NaN(), "%s, and drawn", f.Status)
		case f.Status != "served" && f.Status != "infeasible":
			c.report(Form, f.ID, math.NaN(), math.NaN(), math.NaN(), "status %q is neither served nor infeasible", f.Status)
		}
		all = all && f.Status == "served"
	}
	if (s.Status == "feasible") != all || s.Status != "feasible" && s.Status != "infeasible" {
		c.report(Served, "summary.json", math.NaN(), math.NaN(), math.NaN(), "status is %q, all inflows served: %v", s.Status, all)
	}
	for _, n := range c.out.nodes {
		if n.inflow() && status[n.id] == "" {
			c.report(Served, n.id, math.NaN(), math.NaN(), math.NaN(), "an inflow the summary does not list")
		}
	}
	for _, kind := range []string{"downspout", "inlet", "channel_drain"} {
		for _, f := range c.site.byKind[kind] {
			at := f.point
			if kind == "channel_drain" {
				at = between(f.line[0], f.line[len(f.line)-1], 0.5)
			}
			if status[f.id] == "" && inside(c.lot.area, at) {
				c.report(Served, f.id, math.NaN(), math.NaN(), math.NaN(), "a %s drawn in the lot is not among the inflows", kind)
			}
		}
	}
	if strings.TrimSpace(s.Verdict) == "" {
		c.report(Form, "summary.json", math.NaN(), math.NaN(), math.NaN(), "no verdict")
	}
}
