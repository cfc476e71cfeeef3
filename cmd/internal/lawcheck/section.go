package lawcheck

import (
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// largeNominal is where slope_min_large begins, m: 8 in.
const largeNominal = 8 * 0.0254

// sections proves rules 1 to 3 along a pipe.
func (c *checker) sections(p *pipe) {
	last := c.lastTo(p)
	short := c.isOutletPipe(p)
	least, deepestInvert := math.Inf(1), math.Inf(-1)
	c.walk(p, func(q orb.Point, t, station float64) {
		z := c.z(p, q)
		if math.IsNaN(z) {
			c.along(Ground, p, "", 0, station, z, math.NaN(), "the ground is unknown here")
			return
		}
		invert := p.at(t)
		cover := z - invert - p.wall() - p.inside()
		least, deepestInvert = math.Min(least, cover), math.Max(deepestInvert, z-invert)
		need, rule := c.coverAt(q), CoverMin
		if short {
			need, rule = c.limit("outlet_cover"), OutletCover
		}
		if last == "daylight" && (1-t)*p.length() <= c.limit("daylight_zone")+planTolerance {
			need = math.Inf(-1)
		}
		if !(cover >= need-coverTolerance) {
			c.along(rule, p, "", need-cover, station, cover, need, "too little cover")
		}
		if most := c.limit("depth_max"); !(z-invert <= most+coverTolerance) {
			c.along(DepthMax, p, "", z-invert-most, station, z-invert, most, "too deep")
		}
	})
	if v := p.number["cover_min_m"]; !(v <= least+coverTolerance) && last != "daylight" {
		c.report(Printed, p.id, c.foot(p), v, least, "cover_min_m is more than the cover there is")
	}
	if v := p.number["invert_depth_max_m"]; !(v >= deepestInvert-coverTolerance) {
		c.report(Printed, p.id, c.foot(p), v, deepestInvert, "invert_depth_max_m is less than the depth there is")
	}
	if need, slope := c.slopeMin(p), (p.invertUp()-p.invertDown())/p.length(); !(slope >= need-slopeTolerance) {
		c.report(SlopeMin, p.id, c.foot(p), slope, need, "too little fall")
	}
}

// slopeMin is the least slope of a pipe's size and family, the larger of two.
func (c *checker) slopeMin(p *pipe) float64 {
	need := c.limit("slope_min")
	if p.diameter >= largeNominal-1e-6 {
		need = c.limit("slope_min_large")
	}
	if strings.Contains(strings.ToLower(p.material), "single") {
		need = math.Max(need, c.limit("slope_min_single_wall"))
	}
	return need
}

// coverAt is the cover of the ground crossed; within planTolerance of a paved
// outline the lesser of what holds on both sides.
func (c *checker) coverAt(q orb.Point) float64 {
	lawn := c.limit("cover_min")
	sure, maybe := math.Inf(-1), math.Inf(1)
	for _, kind := range []string{"walk", "patio", "driveway"} {
		for _, f := range c.site.byKind[kind] {
			need, given := f.length("cover_min")
			if !given {
				need = c.limit("cover_min_walk")
				if kind == "driveway" {
					need = c.limit("cover_min_driveway")
				}
			}
			switch d := signed(f.area, q); {
			case d < -planTolerance:
				sure = math.Max(sure, need)
			case d <= planTolerance:
				maybe = math.Min(maybe, need)
			}
		}
	}
	if !math.IsInf(sure, -1) {
		return sure
	}
	return math.Min(lawn, maybe)
}

// outletSquare is how far from square to the curb the outlet pipe may be.
const outletSquare = 30 * math.Pi / 180

// isOutletPipe tells whether a pipe may have the outlet pipe's cover.
func (c *checker) isOutletPipe(p *pipe) bool {
	l := p.length()
	if c.lastTo(p) != "curb_face" || c.front.none() || !(l <= c.limit("outlet_zone")+planTolerance) {
		return false
	}
	curb := nearest(c.front.line, p.down)
	along := math.Abs((p.down[0]-p.up[0])*curb.along[0]+(p.down[1]-p.up[1])*curb.along[1]) / l
	return math.Asin(math.Min(1, along)) <= outletSquare+planTolerance/l
}

// z is the ground over a pipe: over the last one to a vertical curb at least
// the top of curb, near it.
func (c *checker) z(p *pipe, q orb.Point) float64 {
	z := c.ground.at(q)
	if c.lastTo(p) != "curb_face" || c.front.none() || !c.front.vertical {
		return z
	}
	curb := nearest(c.front.line, q)
	if curb.distance > c.limit("curb_raise_width")+planTolerance {
		return z
	}
	if top := c.gutter(curb) + c.front.height; top > z {
		return top
	}
	return z
}

// utilities proves rule 6 along a pipe.
func (c *checker) utilities(p *pipe) {
	for _, u := range c.site.byKind["utility"] {
		top, hasTop := c.site.level(u, "top")
		depth, hasDepth := u.length("depth")
		if !hasTop && !hasDepth {
			continue
		}
		clearance, given := u.length("clearance")
		if !given {
			clearance = c.limit("utility_clearance")
		}
		diameter, _ := u.length("outside_diameter")
		reach := clearance + (diameter+p.inside()+2*p.wall())/2
		c.walk(p, func(q orb.Point, t, station float64) {
			by := nearest(u.line, q)
			if by.distance >= reach-planTolerance {
				return
			}
			upper := top
			if !hasTop {
				upper = c.ground.at(by.at) - depth
			}
			above := p.at(t) - p.wall() - upper                           // pipe over the utility
			below := upper - diameter - (p.at(t) + p.inside() + p.wall()) // pipe under it
			if clear := math.Max(above, below); !(clear >= clearance-coverTolerance) {
				c.along(Utility, p, u.id, clearance-clear, station, clear, clearance, "not clear of utility")
			}
		})
	}
}

// rateTolerance is the rounding of printed capacities, relative.
const rateTolerance = 1e-4

// litresPerCubicMetre turns m3/s into L/s.
const litresPerCubicMetre = 1000

// figures compares a pipe's printed figures with each other, and proves rule 8.
func (c *checker) figures(p *pipe) {
	l, n := p.length(), p.number
	fall := p.invertUp() - p.invertDown()
	if !(math.Abs(n["length_m"]-l) <= planTolerance) {
		c.report(Geometry, p.id, c.foot(p), n["length_m"], l, "length_m is not the plan length drawn")
	}
	if !(math.Abs(n["fall_m"]-fall) <= invertTolerance) {
		c.report(Printed, p.id, c.foot(p), n["fall_m"], fall, "fall_m is not the inverts' difference")
	}
	if !(math.Abs(n["slope_pct"]/100-fall/l) <= slopeTolerance) {
		c.report(Printed, p.id, c.foot(p), n["slope_pct"]/100, fall/l, "slope_pct is not fall over length")
	}
	// Manning, full bore, SI: Q = (1/n) A (D/4)^(2/3) S^(1/2).
	d := p.inside()
	full := 1 / n["roughness_n"] * math.Pi * d * d / 4 * math.Pow(d/4, 2.0/3) * math.Sqrt(math.Max(0, n["slope_pct"])/100) * litresPerCubicMetre
	if !(math.Abs(n["capacity_full_lps"]-full) <= rateTolerance*full) {
		c.report(Printed, p.id, c.foot(p), n["capacity_full_lps"]/litresPerCubicMetre, full/litresPerCubicMetre, "capacity_full_lps is not Manning's")
	}
	over := n["design_flow_lps"] - full*(1+rateTolerance)
	if !(over <= 0) && !c.saysLeftOver(over) {
		c.report(Capacity, p.id, c.foot(p), n["design_flow_lps"]/litresPerCubicMetre, full/litresPerCubicMetre, "it carries less than its design flow, and the verdict does not say so")
	}
	c.flowing(p, full)
}

// saysLeftOver tells whether the verdict says that flow is left over, and the
// figure printed is at least so much.
func (c *checker) saysLeftOver(over float64) bool {
	s := c.out.summary
	return strings.Contains(strings.ToLower(s.Verdict), "left over") && s.LeftOver >= over*(1-rateTolerance)
}
