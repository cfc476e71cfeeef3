package criteria

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

func limitsOf(s map[string]*setting) constraint.Limits {
	n := func(key string) float64 { return s["limits."+key].number }
	checks := func(key string) float64 { return s["checks."+key].number }
	rule := func(key string) constraint.ZoneRule { return constraint.ZoneRule(s["limits."+key].word) }
	return constraint.Limits{
		SlopeMin: n("slope_min"), SlopeMinLarge: n("slope_min_large"), SlopeMinSingleWall: n("slope_min_single_wall"), SlopePreferred: n("slope_preferred"),
		CoverMin: n("cover_min"), CoverMinWalk: n("cover_min_walk"), CoverMinDriveway: n("cover_min_driveway"), CoverPreferred: n("cover_preferred"), DepthMax: n("depth_max"),
		OutletCover: n("outlet_cover"), OutletZone: n("outlet_zone"), OutletAboveGutter: n("outlet_above_gutter"), OutletSizeMax: n("outlet_size_max"),
		OutletsMax: int(n("outlets_max")), OutletVelocityMax: n("outlet_velocity_max"), CurbHeight: n("curb_height"), CurbRaiseWidth: n("curb_raise_width"), DaylightZone: n("daylight_zone"),
		RoofSetback: n("roof_setback"), LotLineSetback: n("lot_line_setback"), FrontageMargin: n("frontage_margin"), CurbClearanceDriveway: n("curb_clearance_driveway"),
		WallStrip: n("wall_strip"), WallStripRule: rule("wall_strip_rule"), RootZoneFactor: n("root_zone_factor"), RootZoneRadiusFloor: n("root_zone_radius_floor"),
		RootZoneRule: rule("root_zone_rule"), RootPlateFactor: n("root_plate_factor"), TrunkDiameterAssumed: n("trunk_diameter_assumed"), TrunkDiameterMax: checks("trunk_diameter_max"),
		ElevationWindow: checks("elevation_window"), StreetSideStep: checks("street_side_step"), UtilityClearance: n("utility_clearance"),
		EmitterRiseMax: n("emitter_rise_max"), EmitterSetbackBuilding: n("emitter_setback_building"), EmitterSetbackLotLine: n("emitter_setback_lot_line"),
		EmitterSetbackStreet: n("emitter_setback_street"), SepticSetback: n("septic_setback"),
		VelocityMin: n("velocity_min"), VelocityMax: n("velocity_max"), DepthRatioMax: n("depth_ratio_max"),
		FreeboardMin: n("freeboard_min"), BuildingFreeboardMin: n("building_freeboard_min"), StandingWaterMax: n("standing_water_hours_max"),
		CleanoutSpacing: n("cleanout_spacing"), BendMax: n("bend_max"), SumpDepth: n("sump_depth"), Bedding: n("bedding"),
		DownspoutRoofArea: n("downspout_roof_area"), DownspoutSnap: n("downspout_snap"), InletDepth: n("inlet_depth"), InletContributingArea: n("inlet_contributing_area"),
		WalkFactor: n("walk_factor"), DrivewayFactor: n("driveway_factor"), RootZonePrice: n("root_zone_price_factor"), WallStripFactor: n("wall_strip_factor"),
	}
}

// tailwaterOf is the water outside outlets: a depth, -Inf where it is free, NaN
// where the words leave it to the design.
func tailwaterOf(s map[string]*setting) design.Tailwater {
	depth := func(outlet string) float64 {
		v := s["outlet.tailwater."+outlet]
		if v.word == "free" {
			return math.Inf(-1)
		}
		return v.number
	}
	return design.Tailwater{CurbFace: depth("curb_face"), GutterFlow: s["outlet.tailwater.curb_face"].word == gutterFlow, Emitter: depth("emitter"), Daylight: depth("daylight"), StormInlet: depth("storm_inlet")}
}

func emitterBaseOf(s map[string]*setting) design.EmitterBase {
	n := func(key string) float64 { return s["outlet.emitter."+key].number }
	return design.EmitterBase{Weep: n("weep_diameter"), BedArea: n("bed_area"), BedDepth: n("bed_depth"), Porosity: n("bed_porosity"), SoilRate: n("soil_rate")}
}

func gratesOf(s map[string]*setting) design.Grates {
	n := func(key string) float64 { return s[key].number }
	return design.Grates{OpenArea: n("inlet.grate_open_area"), Perimeter: n("inlet.perimeter"), ChannelOpening: n("inlet.channel_opening"), Dish: n("inlet.dish"), Clogged: n("storm.grate_clogged")}
}

// materials are the families as a crew says them.
var materials = map[string]string{
	"pvc_sdr35": "SDR 35", "pvc_sch40": "Schedule 40", "pvc_d2729": "D2729", "pe_dual_wall": "dual-wall PE", "pe_single_wall": "single-wall PE",
}

// strong is the family under hard surfaces, for the outlet pipe, and where
// another has no such size.
const strong = "pvc_sch40"

const metresPerInch = 0.0254

// nominal is a trade size: a label and its inches.
type nominal struct {
	inches float64
	label  string
}

// nominals are the trade sizes there are, smallest first.
var nominals = []nominal{{3, "3"}, {4, "4"}, {6, "6"}, {8, "8"}, {10, "10"}, {12, "12"}}

// sizesOf reads the sizes that may be laid, "3, 4, 6 in": some of the trade sizes
// that follow each other, so that no pipe is two sizes larger than it need be.
func sizesOf(text string) ([]nominal, error) {
	var known []string
	for _, n := range nominals {
		known = append(known, n.label)
	}
	list, ok := strings.CutSuffix(strings.TrimSpace(text), "in")
	if !ok {
		return nil, fmt.Errorf("%q lacks its unit; write trade sizes as %q", text, strings.Join(known, ", ")+" in")
	}
	first, next := -1, 0
	for _, word := range strings.Split(list, ",") {
		k := slices.Index(known, strings.TrimSpace(word))
		switch {
		case k < 0:
			return nil, fmt.Errorf("%q is no trade size; there are %s in", strings.TrimSpace(word), strings.Join(known, ", "))
		case first < 0:
			first = k
		case k < next:
			return nil, fmt.Errorf("%s in follows %s in; write sizes from the smallest to the largest, each once", known[k], known[next-1])
		case k > next:
			return nil, fmt.Errorf("a hole: %s in is left out between %s in and %s in; put it in, or leave out the larger ones too", strings.Join(known[next:k], ", "), known[next-1], known[k])
		}
		next = k + 1
	}
	return nominals[first:next], nil
}

func catalogueOf(s map[string]*setting) constraint.Catalogue {
	family := s["pipes.default_family"].word
	c := constraint.Catalogue{MainMin: s["pipes.size_min_main"].number}
	sizes, err := sizesOf(s["pipes.sizes"].word)
	if err != nil {
		panic(err) // override has read it once
	}
	for _, n := range sizes {
		hard, ok := sizeOf(s, strong, n.label, n.inches)
		if !ok {
			continue
		}
		lawn, ok := sizeOf(s, family, n.label, n.inches)
		if !ok {
			lawn = hard
		}
		c.Bores = append(c.Bores, constraint.Bore{Nominal: n.label + " in", Diameter: n.inches * metresPerInch, Lawn: lawn, Hard: hard, Outlet: hard})
	}
	return c
}

func sizeOf(s map[string]*setting, family, label string, inches float64) (constraint.Size, bool) {
	base := "pipes." + family + "."
	outside, ok := s[base+label+".outside_diameter"]
	if !ok {
		return constraint.Size{}, false
	}
	n := math.NaN()
	if r, ok := s[base+"roughness"]; ok {
		n = r.number
	}
	if r, ok := s[base+label+".roughness"]; ok {
		n = r.number
	}
	return constraint.Size{
		Family: family, Material: materials[family], Nominal: label + " in", Diameter: inches * metresPerInch,
		Inside: s[base+label+".inside_diameter"].number, Outside: outside.number, Roughness: n,
	}, true
}
