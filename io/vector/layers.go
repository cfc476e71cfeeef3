package vector

import (
	"curbfall/routing/design"
	"curbfall/routing/network"

	"github.com/paulmach/orb"
)

// litresPerCubicMetre turns flows into the L/s people read.
const litresPerCubicMetre = 1000

// Pipes is the layer of pipes, drawn downstream.
func Pipes(n *network.Network) Layer {
	l := Layer{Name: "pipes", Geometry: "LineString"}
	for k := range n.Pipes {
		p := &n.Pipes[k]
		from, to := &n.Nodes[p.From], &n.Nodes[p.To]
		l.Features = append(l.Features, Feature{orb.LineString{from.At, to.At}, []Property{
			{"id", p.ID}, {"role", string(p.Role)}, {"from_node", from.ID}, {"to_node", to.ID},
			{"length_m", p.Length}, {"nominal_size", p.Size.Nominal},
			{"inside_diameter_m", p.Size.Inside}, {"outside_diameter_m", p.Size.Outside}, {"material", p.Size.Material}, {"roughness_n", p.Size.Roughness},
			{"invert_up_m", p.InvertUp}, {"invert_down_m", p.InvertDown}, {"slope_pct", 100 * p.Slope()}, {"fall_m", p.Fall()},
			{"cover_min_m", p.CoverMin}, {"invert_depth_max_m", p.DepthMax},
			{"design_flow_lps", p.Flow * litresPerCubicMetre}, {"capacity_full_lps", p.Capacity * litresPerCubicMetre},
			{"depth_ratio", p.DepthRatio}, {"velocity_mps", p.Velocity},
		}})
	}
	return l
}

// Nodes is the layer of nodes.
func Nodes(n *network.Network) Layer {
	l := Layer{Name: "nodes", Geometry: "Point"}
	for k := range n.Nodes {
		v := &n.Nodes[k]
		l.Features = append(l.Features, Feature{v.At, []Property{
			{"id", v.ID}, {"kind", string(v.Kind)}, {"ground_m", v.Ground}, {"rim_m", v.Rim}, {"invert_m", v.Invert},
			{"invert_depth_m", v.InvertDepth}, {"station_m", v.Station}, {"roof", word(v.Roof)},
			{"inflow_lps", v.Inflow * litresPerCubicMetre}, {"outlet_type", word(string(v.OutletType))},
			{"gutter_m", v.Gutter}, {"lid_m", v.Lid}, {"hgl_m", v.HGL}, {"freeboard_m", v.Freeboard}, {"assumed", v.Assumed},
		}})
	}
	return l
}

// word is nil for an empty one, so that it is written as null.
func word(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// LowSpot is a place where water stands, as it is written.
type LowSpot struct {
	ID, Parent                                            string // Parent is "" where it lies in no other
	Outline                                               orb.Polygon
	Depth, Area, Volume, SpillElevation, ContributingArea float64
	TouchesEdge                                           bool
}

// LowSpots is the layer of low spots.
func LowSpots(spots []LowSpot) Layer {
	l := Layer{Name: "low_spots", Geometry: "Polygon"}
	for _, s := range spots {
		l.Features = append(l.Features, Feature{s.Outline, []Property{
			{"id", s.ID}, {"parent", word(s.Parent)}, {"ponding_depth_max_m", s.Depth}, {"area_m2", s.Area}, {"volume_m3", s.Volume},
			{"spill_elevation_m", s.SpillElevation}, {"contributing_area_m2", s.ContributingArea}, {"touches_edge", s.TouchesEdge},
		}})
	}
	return l
}

// FlowPath is a line water follows, as it is written.
type FlowPath struct {
	Line             orb.LineString
	ContributingArea float64 // at its lower end, m2
}

// FlowPaths is the layer of flow paths.
func FlowPaths(paths []FlowPath) Layer {
	l := Layer{Name: "flow_paths", Geometry: "LineString"}
	for i, p := range paths {
		l.Features = append(l.Features, Feature{p.Line, []Property{{"id", i + 1}, {"contributing_area_m2", p.ContributingArea}}})
	}
	return l
}

// Crossings is the layer of what the pipes meet.
func Crossings(list []design.Crossing) Layer {
	l := Layer{Name: "crossings", Geometry: "Point"}
	for _, c := range list {
		l.Features = append(l.Features, Feature{c.At, []Property{
			{"pipe", c.Pipe}, {"kind", c.Kind}, {"id", c.ID}, {"station_m", c.Station}, {"length_inside_m", c.Length},
			{"clearance_m", c.Clearance}, {"says", c.Says},
		}})
	}
	return l
}

// with returns a feature's properties with others before and after.
func with(before []Property, f Feature, after ...Property) Feature {
	list := append(append([]Property(nil), before...), f.Properties...)
	return Feature{f.Geometry, append(list, after...)}
}
