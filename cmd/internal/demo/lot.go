// Package demo invents a lot: ground, site lines and criteria, the same every
// time. Nothing in it is anywhere on earth.
//
//	north
//	+-----------------------------+ 45 m
//	|   low spot    back yard     |
//	|  +---------------+          |
//	|  |     house     +------+   |
//	|  +-------+-------|garage|   |
//	|   tree   | walk  +------+   |
//	|~~~~~~~~~~|~~ sprinkler ~|~~~| 7 m
//	|     tree |       | drive|   |
//	+----------+-------+------+---+ 0 m
//	   walk along the street        -1.2 .. -2.7 m
//	=============== curb ========== -3 m
package demo

import (
	"math"
	"math/rand/v2"

	"curbfall/terrain/grid"
)

// The lot, metres east and north of its south-west corner.
const (
	width, depth = 35, 45
	curbNorth    = -3.0
	crownNorth   = -7.5 // of the street
	margin       = 12.0 // of ground beyond the lot
	cell         = 0.25
	gutterAtWest = 249.60 // m; the street falls to the east
	streetFall   = 0.006
	streetCross  = 0.02
	curbHeight   = 0.1524 // 6 in
	verge        = 0.02
	frontSlope   = 0.06
	padLevel     = 1.30 // house pad over the gutter
	houseSouth   = 15.0
	houseNorth   = 25.0
	lowEast      = 12.0
	lowNorth     = 37.0
	lowRadius    = 6.5
	lowDepth     = 0.24
	lowReach     = 11.0 // of the yard that falls to the hollow, either side
	sideFall     = 0.02
	noise        = 0.004 // standard deviation of the survey's noise, m
	seed         = 20
	originEast   = 500000.0 // site metres of the lot's south-west corner
	originNorth  = 4400000.0
)

// gutter is the gutter's level along the street.
func gutter(u float64) float64 { return gutterAtWest - streetFall*u }

// level is the ground without noise, at u metres east and v north of the
// lot's south-west corner.
func level(u, v float64) float64 {
	g := gutter(u)
	if v < curbNorth {
		return g + streetCross*(crownNorth*-1+curbNorth-math.Abs(v-crownNorth))
	}
	// From the top of curb over the verge and the front lawn to the pad.
	z := g + curbHeight + verge*math.Min(v-curbNorth, -curbNorth)
	if v > 0 {
		z += frontSlope * v
	}
	z = math.Min(z, gutter(u/2)+padLevel)
	// Away from the house the back yard falls to a hollow; a bank behind keeps
	// its water from the neighbours.
	if v > houseNorth {
		z = gutter(u/2) + padLevel - 0.018*math.Min(v-houseNorth, depth-5-houseNorth)
		z += 0.05 * (math.Max(0, v-(depth-5)) - 2*math.Max(0, v-depth)) // its crest is the lot line
		// Beyond the hollow's reach it falls to the sides.
		z -= sideFall * math.Max(0, math.Abs(u-lowEast)-lowReach)
	}
	d := math.Hypot((u-lowEast)/1.6, v-lowNorth)
	if d < lowRadius {
		z -= lowDepth * (1 + math.Cos(math.Pi*d/lowRadius)) / 2
	}
	return z
}

// Ground is the lot and its surroundings as a lidar raster would show them:
// the house and garage are not in it.
func Ground() *grid.Grid {
	cols, rows := int((width+2*margin)/cell), int((depth+2*margin)/cell)
	frame := grid.NewFrame(originEast-margin+cell/2, originNorth+depth+margin-cell/2, cell, cell)
	g := grid.New(frame, cols, rows)
	rng := rand.New(rand.NewPCG(seed, seed))
	for i := range g.Z {
		col, row := g.Cell(i)
		x, y := g.ToSite(float64(col), float64(row))
		z := level(x-originEast, y-originNorth) + noise*rng.NormFloat64()
		g.Z[i] = float32(math.Round(z*1000) / 1000)
	}
	return g
}

// System is the lot's coordinate system: NAD83 / UTM zone 15N with NAVD88
// heights, both in metres.
const System = "EPSG:26915+5703"
