package constraint

// ZoneRule says what happens to a pipe in a zone that is better avoided.
type ZoneRule string

// The rules for root zones and the wall strip.
const (
	Price  ZoneRule = "price"
	Forbid ZoneRule = "forbid"
)

// Limits are the design rules, all of them: no field has a silent default.
// Lengths are metres, slopes rise over run, speeds m/s. The field's key in the
// criteria file stands behind it.
type Limits struct {
	SlopeMin           float64 // slope_min: pipes under 8 in
	SlopeMinLarge      float64 // slope_min_large: 8 in and larger
	SlopeMinSingleWall float64 // slope_min_single_wall
	SlopePreferred     float64 // slope_preferred

	CoverMin         float64 // cover_min: lawn
	CoverMinWalk     float64 // cover_min_walk: walk and patio
	CoverMinDriveway float64 // cover_min_driveway
	CoverPreferred   float64 // cover_preferred: cover below is listed
	DepthMax         float64 // depth_max: ground to invert

	OutletCover       float64 // outlet_cover: over the outlet pipe to a curb face
	OutletZone        float64 // outlet_zone: longest such pipe
	OutletAboveGutter float64 // outlet_above_gutter
	OutletSizeMax     float64 // outlet_size_max: nominal diameter through the curb
	OutletsMax        int     // outlets_max
	OutletVelocityMax float64 // outlet_velocity_max
	CurbHeight        float64 // curb_height: vertical curbs
	CurbRaiseWidth    float64 // curb_raise_width: NaN means one cell, 3 m at most
	DaylightZone      float64 // daylight_zone

	RoofSetback            float64  // roof_setback
	LotLineSetback         float64  // lot_line_setback
	FrontageMargin         float64  // frontage_margin
	CurbClearanceDriveway  float64  // curb_clearance_driveway
	WallStrip              float64  // wall_strip: width along a roof
	WallStripRule          ZoneRule // wall_strip_rule
	RootZoneFactor         float64  // root_zone_factor: radius in trunk diameters
	RootZoneRadiusFloor    float64  // root_zone_radius_floor
	RootZoneRule           ZoneRule // root_zone_rule
	RootPlateFactor        float64  // root_plate_factor: forbidden radius in trunk diameters
	TrunkDiameterAssumed   float64  // trunk_diameter_assumed
	TrunkDiameterMax       float64  // checks.trunk_diameter_max: more is another unit's number
	ElevationWindow        float64  // checks.elevation_window: how far a level may lie outside the ground's range
	StreetSideStep         float64  // checks.street_side_step: levels closer than this do not tell the street's side
	UtilityClearance       float64  // utility_clearance
	EmitterRiseMax         float64  // emitter_rise_max: lid to invert
	EmitterSetbackBuilding float64  // emitter_setback_building
	EmitterSetbackLotLine  float64  // emitter_setback_lot_line
	EmitterSetbackStreet   float64  // emitter_setback_street
	SepticSetback          float64  // septic_setback

	VelocityMin   float64 // velocity_min: flowing full
	VelocityMax   float64 // velocity_max
	DepthRatioMax float64 // depth_ratio_max

	FreeboardMin         float64 // freeboard_min
	BuildingFreeboardMin float64 // building_freeboard_min
	StandingWaterMax     float64 // standing_water_hours_max, s

	CleanoutSpacing float64 // cleanout_spacing
	BendMax         float64 // bend_max, radians
	SumpDepth       float64 // sump_depth
	Bedding         float64 // bedding

	DownspoutRoofArea     float64 // downspout_roof_area, m2
	DownspoutSnap         float64 // downspout_snap
	InletDepth            float64 // inlet_depth
	InletContributingArea float64 // inlet_contributing_area, m2

	// Price of a metre of plan length on the ground crossed, lawn being 1. The
	// largest holds where several zones overlap.
	WalkFactor      float64 // walk_factor: walk and patio
	DrivewayFactor  float64 // driveway_factor
	RootZonePrice   float64 // root_zone_price_factor
	WallStripFactor float64 // wall_strip_factor
}

// Used is one limit as it was applied, for the summary.
type Used struct {
	Name   string // "limits.cover_min"
	Value  float64
	Text   string // for a limit that is a word, else ""
	Unit   string // SI: "m", "", "m/s"
	Source string // who says so
	Given  bool   // set by the user's criteria rather than shipped
}
