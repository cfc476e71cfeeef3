package vector

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/units"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// Waters are the layers of water that Review draws.
type Waters struct{ Ponding, LowSpots, FlowPaths, OverflowPaths Layer }

// Review is all layers in one, in drawing order, each feature with a label to
// read and simplestyle 1.1 keys. said turns a sentence's quantities into the units of
// the system.
func Review(site *constraint.Site, lot string, w Waters, r *design.Result, system units.System, said func(string) string) Layer {
	all := Layer{Name: "review"}
	add := func(layer, label string, f Feature, style ...Property) {
		all.Features = append(all.Features, with([]Property{{"layer", layer}, {"label", label}, {"title", label}}, f, style...))
	}
	addSite(site, lot, add)
	for _, f := range w.Ponding.Features {
		add("ponding", fmt.Sprintf("ponding %v, %s deep, %s, %v", f.Properties[2].Value, units.FormatLength(f.Properties[3].Value.(float64), system),
			units.FormatVolume(f.Properties[5].Value.(float64), system), said(fmt.Sprint(f.Properties[1].Value))), f, area("#2e86c1", 0.5)...)
	}
	for _, f := range w.LowSpots.Features {
		add("low_spots", fmt.Sprintf("low spot %v, %s deep, holds %s", f.Properties[0].Value,
			units.FormatLength(f.Properties[2].Value.(float64), system), units.FormatVolume(f.Properties[4].Value.(float64), system)), f,
			area("#7fb3d5", 0.45)...)
	}
	for _, f := range w.FlowPaths.Features {
		add("flow_paths", "flow path, "+units.FormatArea(f.Properties[1].Value.(float64), system)+" draining", f, stroke("#5dade2", 1.5)...)
	}
	for _, f := range w.OverflowPaths.Features {
		add("overflow_paths", fmt.Sprintf("overflow of low spot %v", f.Properties[1].Value), f, stroke("#2874a6", 2)...)
	}
	n := &r.Network
	for k, f := range Pipes(n).Features {
		p := &n.Pipes[k]
		label := fmt.Sprintf("%s %s, %s, %s, inv %s to %s, least cover %s", p.Size.Nominal, p.Size.Material, units.FormatLength(p.Length, system),
			units.FormatSlope(p.Slope()), units.FormatElevation(p.InvertUp, system), units.FormatElevation(p.InvertDown, system), units.FormatDepth(p.CoverMin, system))
		width := 3.0
		if p.Role != "lateral" {
			width = 5
		}
		add("pipes", label, f, stroke("#c0392b", width)...)
	}
	for k, f := range Crossings(r.Crossings).Features {
		c := r.Crossings[k]
		add("crossings", fmt.Sprintf("%s %s: %s", plain(c.Kind), c.ID, said(c.Says)), f, marker("#f39c12", "small")...)
	}
	for k, f := range Nodes(n).Features {
		v := &n.Nodes[k]
		label := fmt.Sprintf("%s %s, inv %s, %s deep", v.ID, n.Fitting(k), units.FormatElevation(v.Invert, system), units.FormatDepth(v.InvertDepth, system))
		color, size := "#2c3e50", "small"
		if v.Kind.Inflow() {
			color, size = "#1f618d", "medium"
		} else if v.OutletType != "" {
			color, size = "#145a32", "large"
			label = fmt.Sprintf("outlet, %s, inv %s, gutter %s", plain(string(v.OutletType)), units.FormatElevation(v.Invert, system), units.FormatElevation(v.Gutter, system))
		}
		add("nodes", label, f, marker(color, size)...)
	}
	return all
}

// plain is a name of a layer as people write it: "curb face".
func plain(name string) string { return strings.ReplaceAll(name, "_", " ") }

func stroke(color string, width float64) []Property {
	return []Property{{"stroke", color}, {"stroke-width", width}, {"stroke-opacity", 1.0}}
}

func area(color string, opacity float64) []Property {
	return append(stroke(color, 1), Property{"fill", color}, Property{"fill-opacity", opacity})
}

func marker(color, size string) []Property {
	return []Property{{"marker-color", color}, {"marker-size", size}}
}

// addSite draws the site's lines under everything.
func addSite(s *constraint.Site, lot string, add func(layer, label string, f Feature, style ...Property)) {
	one := func(kind, id string, g orb.Geometry, style ...Property) {
		add("site", plain(kind)+" "+id, Feature{g, []Property{{"id", id}, {"kind", kind}}}, style...)
	}
	for _, l := range s.Lots {
		width := 1.0
		if l.ID == lot {
			width = 2.5
		}
		one("lot", l.ID, l.Area, append(stroke("#555555", width), Property{"fill", "#ffffff"}, Property{"fill-opacity", 0.0})...)
	}
	for _, p := range s.Paved {
		one(string(p.Kind), p.ID, p.Area, area("#bdc3c7", 0.6)...)
	}
	for _, r := range s.Roofs {
		one("roof", r.ID, r.Outline, area("#8d6e63", 0.5)...)
	}
	for _, k := range s.KeepOuts {
		one("keep_out", k.ID, k.Area, area("#e57373", 0.4)...)
	}
	for _, e := range s.Easements {
		one("easement", e.ID, e.Area, area("#fff59d", 0.3)...)
	}
	for _, c := range s.Curbs {
		one("curb", c.ID, c.Line, stroke("#212121", 2)...)
	}
	for _, u := range s.Utilities {
		one("utility", u.ID, u.Line, stroke("#8e44ad", 1.5)...)
	}
	for _, t := range s.Trees {
		one("tree", t.ID, t.At, marker("#27ae60", "small")...)
	}
}
