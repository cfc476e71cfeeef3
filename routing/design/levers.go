package design

import (
	"fmt"

	"curbfall/routing/constraint"
)

// lever is one limit that may be eased.
type lever struct {
	rule    string
	unit    string
	step    float64 // the change a remedy is named to
	extreme float64 // the furthest value anyone would go
	raise   bool    // easing is a larger value
	ends    bool    // it bears on last pipes alone
	value   func(*constraint.Limits) *float64
	says    string // with the needed value in its unit for people: %s
}

// levers are tried one by one. The extremes are common practice, no source:
// what a careful designer might still defend with protection or permission.
var levers = []lever{
	{"limits.cover_min", "m", 0.001, 0.05, false, false, func(l *constraint.Limits) *float64 { return &l.CoverMin }, "less cover in lawn, %s, with the shallow stretches protected"},
	{"limits.cover_min_walk", "m", 0.001, 0.05, false, false, func(l *constraint.Limits) *float64 { return &l.CoverMinWalk }, "less cover under walk and patio, %s, encased or the panel thickened over it"},
	{"limits.cover_min_driveway", "m", 0.001, 0.1, false, false, func(l *constraint.Limits) *float64 { return &l.CoverMinDriveway }, "less cover under the driveway, %s, encased in concrete"},
	{"limits.slope_min", "", 0.0001, 0.0025, false, false, func(l *constraint.Limits) *float64 { return &l.SlopeMin }, "flatter pipe, %s, laid with a laser"},
	{"limits.outlet_above_gutter", "m", 0.001, 0, false, true, func(l *constraint.Limits) *float64 { return &l.OutletAboveGutter }, "the outlet %s above the gutter"},
	{"limits.outlet_cover", "m", 0.001, 0, false, true, func(l *constraint.Limits) *float64 { return &l.OutletCover }, "less cover over the outlet pipe, %s, encased"},
	{"limits.outlet_zone", "m", 0.1, 12.2, true, true, func(l *constraint.Limits) *float64 { return &l.OutletZone }, "a longer outlet pipe under short cover, %s, protected over its length"},
	{"limits.depth_max", "m", 0.01, 1.5, true, false, func(l *constraint.Limits) *float64 { return &l.DepthMax }, "a deeper trench, %s to the invert, with trench protection"},
	{"limits.roof_setback", "m", 0.01, 0.15, false, false, func(l *constraint.Limits) *float64 { return &l.RoofSetback }, "passing closer to the roofs, %s, by hand"},
	{"limits.lot_line_setback", "m", 0.01, 0, false, false, func(l *constraint.Limits) *float64 { return &l.LotLineSetback }, "passing closer to the lot line, %s"},
	{"limits.utility_clearance", "m", 0.01, 0.05, false, false, func(l *constraint.Limits) *float64 { return &l.UtilityClearance }, "less clearance to the utility, %s, with its owner's leave"},
	{"limits.root_plate_factor", "", 0.1, 2, false, false, func(l *constraint.Limits) *float64 { return &l.RootPlateFactor }, "passing closer to the trunk, %s trunk diameters, bored"},
}

// words is a value as a remedy says it.
func (v lever) words(x float64) string {
	switch {
	case v.rule == "limits.slope_min":
		return fmt.Sprintf("%.2f %%", 100*x)
	case v.unit == "m":
		return fmt.Sprintf("%.3f m", x)
	}
	return fmt.Sprintf("%.1f", x)
}
