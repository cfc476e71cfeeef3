package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/units"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/terrain/flow"
	"curbfall/terrain/grading"
)

// audit is what the grading rules say of some lots.
type audit struct {
	findings []vector.Finding
	says     []string
}

// audit judges the ground of the lots at some places in the site's list: beside
// every roof whose middle lies in one, its lawn, the swales over it, its driveways
// and what lies behind its curb.
func (g *given) audit(w *water, lots []int) *audit {
	s := &grading.Site{Ground: g.ground, Filled: make([]bool, len(g.ground.Z)), Noise: w.noise}
	for _, v := range g.voids {
		for _, i := range v.Cells {
			s.Filled[i] = true
		}
	}
	for _, r := range g.site.Roofs {
		s.Roofs = append(s.Roofs, r.Outline)
	}
	for _, p := range g.site.Paved {
		s.Paved = append(s.Paved, p.Area)
	}
	var swales []orb.LineString
	for _, p := range flow.Paths(w.filled, w.dir, w.acc, pathShown) {
		swales = append(swales, w.ashore(p.Line)...)
	}
	a := &audit{}
	counts := map[string][3]int{}
	for _, k := range lots {
		lot := &g.site.Lots[k]
		law := constraint.NewLaw(g.ground, g.site, k, g.criteria.Limits)
		s.Lot, s.Street = lot.Area, toStreet(law.Frontage)
		for i, r := range g.site.Roofs {
			if middle, _ := planar.CentroidArea(orb.Geometry(r.Outline)); planar.PolygonContains(lot.Area, middle) {
				a.add(counts, "walls", "roof "+r.ID, grading.Walls(s, i)...)
			}
		}
		a.add(counts, "lawn", "lot "+lot.ID, grading.Lawns(s)...)
		a.add(counts, "swales", "lot "+lot.ID, grading.Swales(s, swales)...)
		if law.Frontage == nil {
			continue
		}
		f := law.Frontage
		for _, p := range g.site.Paved {
			middle, _ := planar.CentroidArea(orb.Geometry(p.Area))
			if p.Kind != constraint.Driveway || !planar.PolygonContains(lot.Area, middle) {
				continue
			}
			if d, ok := grading.Driveway(s, p.Area, f.Face.Line); ok {
				a.add(counts, "driveways", "driveway "+p.ID, d)
				a.driveway(p.ID, &d)
			}
		}
		if f.Face.Height > 0 && !law.StreetDisagrees {
			kept := grading.Street(s, f.Face.Height, f.From, f.To, func(station, back float64) orb.Point { return f.Face.Off(station, -back) }, f.Face.Gutter)
			a.add(counts, "street", "curb "+f.Face.ID, kept...)
			a.street(f.Face.ID, kept)
		}
	}
	a.count(counts)
	return a
}

// toStreet is the direction from a lot to its street, across the middle of its
// frontage; zero where it has none.
func toStreet(f *constraint.Frontage) orb.Point {
	if f == nil {
		return orb.Point{}
	}
	at, out := f.Face.Off((f.From+f.To)/2, 0), f.Face.Off((f.From+f.To)/2, 1)
	return orb.Point{out[0] - at[0], out[1] - at[1]}
}

// add draws findings and counts them by kind: passed, failed, unknown.
func (a *audit) add(counts map[string][3]int, kind, feature string, findings ...grading.Finding) {
	n := counts[kind]
	for _, f := range findings {
		switch f.Status {
		case grading.Pass:
			n[0]++
		case grading.Fail:
			n[1]++
		default:
			n[2]++
		}
		a.findings = append(a.findings, vector.Finding{Feature: feature, Line: f.Line, Rule: f.Rule.Name, Status: string(f.Status),
			Measured: f.Measured, Required: f.Rule.Required, AtMost: f.Rule.AtMost, Height: f.Rule.Height, Source: f.Rule.Source, Why: f.Why})
	}
	counts[kind] = n
}

// count says how the places stand to their rules.
func (a *audit) count(counts map[string][3]int) {
	all := func(kind string) int { return counts[kind][0] + counts[kind][1] + counts[kind][2] }
	if n := counts["walls"]; all("walls") > 0 {
		a.says = append(a.says, fmt.Sprintf("ground beside %s: it falls away as it should at %d, too little or too much at %d, unknown at %d (grading.geojson)", units.Counted(all("walls"), "wall"), n[0], n[1], n[2]))
	}
	if n := counts["lawn"]; all("lawn") > 0 {
		a.says = append(a.says, fmt.Sprintf("lawn: of %s it falls as it should at %d, too little or too much at %d, unknown at %d (grading.geojson)", units.Counted(all("lawn"), "place"), n[0], n[1], n[2]))
	}
	if n := counts["swales"]; all("swales") > 0 {
		a.says = append(a.says, fmt.Sprintf("swales: of %s it falls as it should at %d, too little or too much at %d, unknown at %d (grading.geojson)", units.Counted(all("swales"), "stretch"), n[0], n[1], n[2]))
	}
}

// driveway says where one fails.
func (a *audit) driveway(id string, d *grading.Finding) {
	switch {
	case d.Status != grading.Fail:
	case d.Measured < 0:
		a.says = append(a.says, fmt.Sprintf("driveway %s falls toward the house by %.1f %%: it brings the street's water and its own there", id, -100*d.Measured))
	default:
		a.says = append(a.says, fmt.Sprintf("driveway %s falls toward the street by %.1f %%, asked for is %.1f to %.0f %%", id, 100*d.Measured, 100*grading.DrivewayLeast.Required, 100*grading.DrivewayMost.Required))
	}
}

// street says where the street's water comes over the curb first.
func (a *audit) street(curb string, kept []grading.Finding) {
	lowest, failed, length := math.Inf(1), 0.0, 0.0
	for _, f := range kept {
		l := planar.Length(f.Line)
		length += l
		if f.Status == grading.Fail {
			failed += l
			lowest = math.Min(lowest, f.Measured)
		}
	}
	if failed > 0 {
		a.says = append(a.says, fmt.Sprintf("street water that stands to the top of curb %s comes onto the lot along %.1f m of its %.1f m: the ground behind stands %.2f m over the gutter there, the curb %.2f m", curb, failed, length, lowest, kept[0].Rule.Required))
	}
}
