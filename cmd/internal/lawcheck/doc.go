// Package lawcheck proves the pipe's law over again from what was printed: the
// elevation raster, the site lines and the output folder, and nothing else.
//
//	raster, site.geojson          pipes, nodes, summary
//	        \                            /
//	         ground and lines   printed pipes and limits
//	                     \        /
//	        walk every pipe in 5 cm steps -> violations
//
// It is for tests. It shares no code with what designs or writes the pipes
// (terrain, routing, io/vector, io/raster, io/crs), so that a mistake there
// cannot excuse itself here. It is plain and slow where the design is quick:
// points are sampled, never solved for. Where the law can be read in two ways
// the milder reading is taken, so that what is reported is wrong in both.
package lawcheck

import "fmt"

// Rule names the part of the law, or of the output's form, that is broken.
type Rule string

// The rules. Those named after a limit have its value as Violation.Limit.
const (
	CoverMin       Rule = "cover_min"               // rule 1
	OutletCover    Rule = "outlet_cover"            // rule 1, the outlet pipe
	DepthMax       Rule = "depth_max"               // rule 2
	SlopeMin       Rule = "slope_min"               // rule 3
	NodeInverts    Rule = "node_inverts"            // rule 4: incoming at or above outgoing
	Crossing       Rule = "crossing"                // rule 4: pipes meet only at nodes
	SizeShrinks    Rule = "size_shrinks"            // rule 4
	BendMax        Rule = "bend_max"                // rule 4: a bend
	WyeAngle       Rule = "wye_angle"               // rule 4: pipes join the flow at 45 degrees or less
	KeepOut        Rule = "keep_out"                // rule 5
	OtherLot       Rule = "other_lot"               // rule 5
	RoofSetback    Rule = "roof_setback"            // rule 5
	RootPlate      Rule = "root_plate_factor"       // rule 5
	RootZone       Rule = "root_zone_rule"          // rule 5, where forbidden
	Easement       Rule = "easement"                // rule 5, where forbidden
	LotLine        Rule = "lot_line_setback"        // rule 5
	Frontage       Rule = "frontage"                // rule 5: outside the lot only within its frontage
	CurbPassed     Rule = "curb"                    // nothing passes a curb
	FrontageMargin Rule = "frontage_margin"         // rule 5
	Utility        Rule = "utility_clearance"       // rule 6
	OutletPlace    Rule = "outlet_place"            // rule 7: where such an outlet may be
	CurbDriveway   Rule = "curb_clearance_driveway" // rule 7
	AboveGutter    Rule = "outlet_above_gutter"     // rule 7, curb_face
	Emitter        Rule = "emitter_rise_max"        // rule 7, emitter
	Daylight       Rule = "daylight"                // rule 7, daylight
	StormInlet     Rule = "storm_inlet"             // rule 7, storm_inlet
	OutletSize     Rule = "outlet_size_max"         // the hole through the curb
	OutletsMax     Rule = "outlets_max"             // rule 8, where the limit is printed
	Capacity       Rule = "capacity"                // rule 8
	GradeLine      Rule = "grade_line"              // rule 9: below every open rim, or said in the verdict
	Ground         Rule = "ground"                  // nothing passes open voids
	Geometry       Rule = "geometry"                // straight, drawn downstream, plan length
	NodeIDs        Rule = "node_ids"                // every end a node, one way out of each
	Served         Rule = "served"                  // a served inflow reaches an outlet
	Station        Rule = "station_m"               // 0 at the outlet, rising upstream
	Printed        Rule = "printed"                 // a printed figure disagrees with the others
	Form           Rule = "form"                    // RFC 7946, properties, null and number
	Protections    Rule = "protections"             // rule 1: what is shallow is listed
	Limits         Rule = "limits"                  // a limit used and not printed
)

// Violation is one breach. Numbers that do not apply are NaN.
type Violation struct {
	Rule    Rule
	Pipe    string  // id of the pipe; of the node or inflow where it is about one
	Station float64 // plan distance from the outlet, m
	Value   float64 // what is printed or measured, SI
	Limit   float64 // what the law asks
	Says    string
}

func (v Violation) String() string {
	return fmt.Sprintf("%s: %s at station %.2f m: %s (value %.5f, limit %.5f)", v.Rule, v.Pipe, v.Station, v.Says, v.Value, v.Limit)
}

// What a checker lets pass, from the law.
const (
	invertTolerance = 0.001
	planTolerance   = 0.002
	coverTolerance  = 0.002 // cover and depth
	slopeTolerance  = 1e-5
)

// step is the spacing at which pipes are walked, m.
const step = 0.05

// flowTolerance is the rounding of printed flows, relative: they carry 7
// digits behind the point.
const flowTolerance = 1e-5
