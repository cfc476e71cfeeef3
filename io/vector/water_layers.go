package vector

import (
	"math"

	"github.com/paulmach/orb"
)

// OverflowPath is where a low spot's water goes once it spills, as it is
// written.
type OverflowPath struct {
	LowSpot        string
	Into           string // the low spot it comes to, "" where it leaves the ground known
	Line           orb.LineString
	SpillElevation float64 // m
	Length         float64 // m
	Volume         float64 // m3 that spill in the storm
}

// OverflowPaths is the layer of overflow paths, drawn downstream from the cell
// over which a low spot spills.
func OverflowPaths(paths []OverflowPath) Layer {
	l := Layer{Name: "overflow_paths", Geometry: "LineString"}
	for i, p := range paths {
		l.Features = append(l.Features, Feature{p.Line, []Property{
			{"id", i + 1}, {"low_spot", p.LowSpot}, {"into", word(p.Into)}, {"spill_elevation_m", p.SpillElevation},
			{"length_m", p.Length}, {"overflow_m3", p.Volume},
		}})
	}
	return l
}

// Pond is water standing after a storm, as it is written.
type Pond struct {
	Outline             orb.Polygon
	Storm               string
	After               bool    // with the design's drains; else as it is now
	Depth, Area, Volume float64 // greatest depth m, m2, m3
	Level               float64 // m
}

// Ponding is the layer of what stands after a storm.
func Ponding(ponds []Pond) Layer {
	l := Layer{Name: "ponding", Geometry: "Polygon"}
	for i, p := range ponds {
		state := "before"
		if p.After {
			state = "after"
		}
		l.Features = append(l.Features, Feature{p.Outline, []Property{
			{"id", i + 1}, {"storm", p.Storm}, {"state", state}, {"ponding_depth_max_m", p.Depth}, {"area_m2", p.Area},
			{"volume_m3", p.Volume}, {"level_m", p.Level},
		}})
	}
	return l
}

// Over is what goes over one side of a lot, m3/s.
type Over struct {
	Net    float64 // out of the lot less into it
	In     float64 // into it
	Most   float64 // out of it at one place
	MostAt float64 // where that is, m along the side
}

// BoundaryFlow is what runs over one side of a lot, as it is written.
type BoundaryFlow struct {
	Lot      string
	Side     int // from 1, round the lot as drawn
	Line     orb.LineString
	Storm    string
	Before   Over
	After    *Over  // nil where nothing was designed
	Designed string // the one lot whose design After is with, "" for none
}

// BoundaryFlows is the layer of flow over lot lines; net flows are positive out of
// the lot.
func BoundaryFlows(sides []BoundaryFlow) Layer {
	l := Layer{Name: "boundary_flow", Geometry: "LineString"}
	for _, s := range sides {
		after := Over{Net: math.NaN(), In: math.NaN(), Most: math.NaN()}
		if s.After != nil {
			after = *s.After
		}
		lps := func(name string, flow float64) Property { return Property{name, flow * litresPerCubicMetre} }
		l.Features = append(l.Features, Feature{s.Line, []Property{
			{"lot", s.Lot}, {"side", s.Side}, {"storm", s.Storm}, {"positive", "out"},
			lps("before_lps", s.Before.Net), lps("after_lps", after.Net), {"designed", word(s.Designed)},
			lps("before_in_lps", s.Before.In), lps("after_in_lps", after.In),
			lps("before_most_lps", s.Before.Most), lps("after_most_lps", after.Most),
		}})
	}
	return l
}

// Dam is a narrow barrier that a culvert may pass, as it is written: m.
type Dam struct {
	LowSpot               string
	Line                  orb.LineString // from the deep water to the ground beyond
	Width, Height, Behind float64
}

// Dams is the layer of dams.
func Dams(dams []Dam) Layer {
	l := Layer{Name: "dams", Geometry: "LineString"}
	for _, d := range dams {
		l.Features = append(l.Features, Feature{d.Line, []Property{
			{"low_spot", d.LowSpot}, {"width_m", d.Width}, {"height_m", d.Height}, {"depth_behind_m", d.Behind},
			{"question", "does a culvert pass here? Draw it (kind culvert), else water stands behind"},
		}})
	}
	return l
}

// Finding is a place with what a grading rule says of it, as it is written.
type Finding struct {
	Feature            string // kind and id of what it belongs to
	Line               orb.LineString
	Rule, Status       string
	Measured, Required float64 // slopes, or heights m; Measured is NaN where it cannot be
	AtMost, Height     bool    // at most Required is asked for, not at least; heights, not slopes
	Source             string
	Why                string // of an unknown, else ""
}

// Grading is the layer of grading rules; slopes are written in percent.
func Grading(findings []Finding) Layer {
	l := Layer{Name: "grading", Geometry: "LineString"}
	for _, f := range findings {
		unit, times, asked := "%", 100.0, "at least"
		if f.Height {
			unit, times = "m", 1
		}
		if f.AtMost {
			asked = "at most"
		}
		l.Features = append(l.Features, Feature{f.Line, []Property{
			{"feature", f.Feature}, {"rule", f.Rule}, {"status", f.Status}, {"measured", times * f.Measured}, {"required", times * f.Required},
			{"asked", asked}, {"unit", unit}, {"source", f.Source}, {"why", word(f.Why)},
		}})
	}
	return l
}
