package lawcheck

import (
	"math"

	"github.com/paulmach/orb"
)

// exit is the way an inflow may leave its own roof's setback.
type exit struct {
	length float64 // m; 0: none
	roofs  map[*feature]bool
}

const (
	exitBeyond = 0.5           // by the law, m
	exitTurn   = math.Pi / 360 // spacing of the directions tried
	// Roofs drawn with a shared wall rarely share it to the millimetre, m.
	roofsTouch = 0.02
)

// setback is how far from a roof pipes stay.
func (c *checker) setback() float64 {
	if c.words["limits.wall_strip_rule"] == "forbid" {
		return math.Max(c.limit("roof_setback"), c.limit("wall_strip"))
	}
	return c.limit("roof_setback")
}

// settleExits finds every inflow's own roof and its way out.
func (c *checker) settleExits() {
	roofs := c.site.byKind["roof"]
	for _, n := range c.out.nodes {
		if !n.inflow() || math.IsNaN(n.at[0]) {
			continue
		}
		var own *feature
		nearestYet := math.Inf(1)
		for _, r := range roofs {
			if n.roof != "" && r.id == n.roof {
				own = r
				break
			}
			if d := signed(r.area, n.at); d < nearestYet {
				own, nearestYet = r, d
			}
		}
		if own == nil || signed(own.area, n.at) >= c.setback() {
			continue
		}
		x := exit{c.wayOut(n.at, own) + exitBeyond, map[*feature]bool{own: true}}
		for _, r := range roofs {
			if r != own && polygonsApart(r.area, own.area) <= roofsTouch {
				x.roofs[r] = true
			}
		}
		c.exits[n.id] = x
	}
}

// wayOut is the length of the shortest straight line out of a roof's setback
// that passes under no roof, 0 where there is none.
func (c *checker) wayOut(p orb.Point, own *feature) float64 {
	best := math.Inf(1)
	for angle := 0.0; angle < 2*math.Pi; angle += exitTurn {
		towards := orb.Point{math.Cos(angle), math.Sin(angle)}
		at := func(t float64) orb.Point { return orb.Point{p[0] + t*towards[0], p[1] + t*towards[1]} }
		t := 0.0
		for t < best { // the setback ends no nearer than what is missing to it
			missing := c.setback() - signed(own.area, at(t))
			if missing < 1e-6 {
				break
			}
			t += missing
		}
		if t >= best || c.underRoof(p, at(t)) {
			continue
		}
		best = t
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

func (c *checker) underRoof(a, b orb.Point) bool {
	for _, r := range c.site.byKind["roof"] {
		if deepest(r.area, a, b) > planTolerance {
			return true
		}
	}
	return false
}

// way is an exit that reaches into a pipe: before is the way from the inflow
// to the pipe's upper end.
type way struct {
	exit
	before float64
}

// waysInto lists the exits of the inflows upstream of a pipe that reach it.
func (c *checker) waysInto(p *pipe) []way {
	var list []way
	for _, n := range c.out.nodes {
		x, ok := c.exits[n.id]
		if !ok {
			continue
		}
		before, id := 0.0, n.id
		for range c.out.pipes {
			if before > x.length || len(c.outOf[id]) == 0 {
				break
			}
			next := c.outOf[id][0]
			if next == p {
				list = append(list, way{x, before})
				break
			}
			before, id = before+next.length(), next.to
		}
	}
	return list
}

// places proves rule 5 along a pipe.
func (c *checker) places(p *pipe) {
	ways := c.waysInto(p)
	c.walk(p, func(q orb.Point, t, station float64) {
		inExit := func(roof *feature) bool {
			for _, w := range ways {
				if w.before+t*p.length() <= w.length+planTolerance && (roof == nil || w.roofs[roof]) {
					return true
				}
			}
			return false
		}
		c.areas(p, q, station)
		for _, r := range c.site.byKind["roof"] {
			d := signed(r.area, q)
			need := c.setback()
			if d < -planTolerance { // under the roof no exit leads
				c.along(RoofSetback, p, r.id, need-d, station, d, need, "under roof")
			} else if !(d >= need-planTolerance) && !inExit(r) {
				c.along(RoofSetback, p, r.id, need-d, station, d, need, "in the setback of roof")
			}
		}
		if d, need := c.toLotLine(q), c.limit("lot_line_setback"); !(d >= need-planTolerance) && !inExit(nil) {
			c.along(LotLine, p, "", need-d, station, d, need, "too near a side or rear lot line")
		}
		if d := signed(c.lot.area, q); d > planTolerance && !c.inFrontage(q) {
			c.along(Frontage, p, "", d, station, d, 0, "outside the lot and its frontage")
		}
	})
	c.curbsPassed(p)
}

// areas proves that a point lies in nothing that is forbidden to all.
func (c *checker) areas(p *pipe, q orb.Point, station float64) {
	for _, e := range []struct {
		rule Rule
		kind string
	}{{KeepOut, "keep_out"}, {OtherLot, "lot"}, {Easement, "easement"}} {
		for _, f := range c.site.byKind[e.kind] {
			if f == c.lot || e.rule == Easement && word(f.properties["rule"]) != "forbid" {
				continue
			}
			if d := signed(f.area, q); d < -planTolerance {
				c.along(e.rule, p, f.id, -d, station, d, 0, "inside")
			}
		}
	}
	for _, f := range c.site.byKind["tree"] {
		trunk, given := f.length("trunk_diameter")
		if !given {
			trunk = c.limit("trunk_diameter_assumed")
		}
		d := length(f.point, q)
		if plate := trunk * c.limit("root_plate_factor"); !(d >= plate-planTolerance) {
			c.along(RootPlate, p, f.id, plate-d, station, d, plate, "in the root plate of tree")
		}
		zone := math.Max(c.limit("root_zone_radius_floor"), trunk*c.limit("root_zone_factor"))
		if c.words["limits.root_zone_rule"] == "forbid" && d < zone-planTolerance {
			c.along(RootZone, p, f.id, zone-d, station, d, zone, "in the root zone of tree")
		}
	}
}

// toLotLine is the distance to the nearest side or rear lot line; outside the
// lot only beside a line, not past its end.
func (c *checker) toLotLine(q orb.Point) float64 {
	within := signed(c.lot.area, q) <= 0
	d := math.Inf(1)
	for _, s := range c.front.sides {
		t := foot(q, s[0], s[1])
		if within || t > 0 && t < 1 {
			d = math.Min(d, length(q, between(s[0], s[1], t)))
		}
	}
	return d
}

// curbsPassed proves that a pipe passes no curb; it may end on one.
func (c *checker) curbsPassed(p *pipe) {
	for _, f := range c.site.byKind["curb"] {
		for k := 1; k < len(f.line); k++ {
			at, ok := meet(p.up, p.down, f.line[k-1], f.line[k])
			if ok && length(at, p.down) > planTolerance && length(at, p.up) > planTolerance {
				c.along(CurbPassed, p, f.id, 0, c.foot(p)+length(at, p.down), length(at, p.down), 0, "passes curb")
			}
		}
	}
}
