package design

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// Everything a pipe meets is listed, with where, how much of it or how clear of it,
// and what to do; by pacing every pipe in centimetres.
func TestCrossingsListed(t *testing.T) {
	r := designed(t, 0.09, func(c *Criteria, s *constraint.Site) {
		c.Limits.RootZonePrice = 1 // or the pipes go round
		paved := func(id string, kind constraint.PavedKind, area orb.Polygon, gravel bool) constraint.Paved {
			return constraint.Paved{ID: id, Kind: kind, Area: area, Gravel: gravel, Thickness: nan, CoverMin: nan}
		}
		s.Paved = append(s.Paved, paved("terrace", constraint.Patio, across(9, 10), false), paved("lane", constraint.Driveway, across(7, 8.5), false),
			paved("path", constraint.Walk, across(3, 4), true))
		s.Easements = []constraint.Easement{{ID: "strip", Area: across(1, 2)}}
		s.Trees = []constraint.Tree{{ID: "oak", At: orb.Point{8, 5}, TrunkDiameter: 0.3}}
		line := func(id string, y, depth float64) constraint.Utility {
			return constraint.Utility{ID: id, Line: orb.LineString{{-5, y}, {25, y + 1}}, Top: nan, Depth: depth, OutsideDiameter: 0.1, Clearance: nan}
		}
		s.Utilities = []constraint.Utility{line("deep", 5, 1.6), line("hidden", 2.2, nan)}
	})
	if r.Status != Feasible {
		t.Fatal(r.Verdict)
	}
	zones := map[string]func(p orb.Point) float64{ // how far outside, m
		"walk":         within(across(-2, -1)),
		"patio":        within(across(9, 10)),
		"driveway":     within(across(7, 8.5)),
		"walk path":    within(across(3, 4)),
		"easement":     within(across(1, 2)),
		"root_zone":    func(p orb.Point) float64 { return planar.Distance(p, orb.Point{8, 5}) - 12*0.3 },
		"utility deep": func(p orb.Point) float64 { return planar.DistanceFrom(orb.LineString{{-5, 5}, {25, 6}}, p) - 24*0.0254 },
		"utility hidden": func(p orb.Point) float64 {
			return planar.DistanceFrom(orb.LineString{{-5, 2.2}, {25, 3.2}}, p) - 24*0.0254
		},
	}
	const pace = 0.01
	for name, outside := range zones {
		kind, id, _ := strings.Cut(name, " ")
		paced, listed := 0.0, 0.0
		for k := range r.Network.Pipes {
			p := &r.Network.Pipes[k]
			a, b := r.Network.Nodes[p.From].At, r.Network.Nodes[p.To].At
			for s := pace / 2; s < p.Length; s += pace {
				if outside(pointOn(a, b, s/p.Length)) < 0 {
					paced += pace
				}
			}
			for _, c := range r.Crossings {
				if c.Pipe != p.ID || c.Kind != kind || id != "" && c.ID != id || id == "" && c.ID == "path" {
					continue
				}
				listed += c.Length
				station := r.Network.Nodes[p.To].Station + distance(c.At, b)
				if math.Abs(c.Station-station) > 1e-6 || outside(c.At) > 0 || c.Says == "" {
					t.Errorf("%s on %s: %+v, %.3f m from the outlet", name, p.ID, c, station)
				}
			}
		}
		if paced == 0 || math.Abs(paced-listed) > 2*pace*float64(len(r.Network.Pipes)) {
			t.Errorf("%s: %.2f m paced, %.2f m listed", name, paced, listed)
		}
	}
	for _, c := range r.Crossings {
		t.Logf("%s %s %s, station %.2f, %.2f m, clear by %.3f: %s", c.Pipe, c.Kind, c.ID, c.Station, c.Length, c.Clearance, c.Says)
		switch want := map[string]string{"deep": "passes over", "hidden": "expose", "terrace": "the panel", "walk": "cover is too little", "lane": "saw cut", "path": "gravel", "strip": "holder", "oak": "roots"}[c.ID]; {
		case !strings.Contains(c.Says, want):
			t.Errorf("%s says %q", c.ID, c.Says)
		case c.ID == "deep" && !(c.Clearance >= 0.305-0.001) || c.ID == "hidden" && !math.IsNaN(c.Clearance):
			t.Errorf("%s is clear by %.3f m", c.ID, c.Clearance)
		}
	}
}

// within is how far a point lies outside an area, m.
func within(area orb.Polygon) func(orb.Point) float64 {
	return func(p orb.Point) float64 {
		return planar.DistanceFrom(area, p) * map[bool]float64{true: -1, false: 1}[planar.PolygonContains(area, p)]
	}
}

// The clearance told is the least there is over or under a utility, and a pipe that
// keeps beside one says so.
func TestClearanceTold(t *testing.T) {
	for _, c := range []struct {
		name  string
		line  orb.LineString
		depth float64
		clear float64 // m, NaN: none
		says  string
	}{
		// The pipe's invert falls from 9 to 8.8 m over 10 m; ground 10, a pipe of 4 in.
		{"over, square", orb.LineString{{5, -5}, {5, 5}}, 1.6, 8.9 - 0.003048 - 8.4, "over"},
		{"under, square", orb.LineString{{5, -5}, {5, 5}}, 0.3, 9.7 - 0.1 - (8.9 + 3.975*0.0254 + 0.003048), "under"},
		{"beside", orb.LineString{{0, 0.5}, {10, 0.5}}, 1.1, nan, "0.50 m beside"},
	} {
		ground, site := testLot(0)
		for i := range ground.Z {
			ground.Z[i] = 10
		}
		site.Utilities = []constraint.Utility{{ID: "u", Line: c.line, Top: nan, Depth: c.depth, OutsideDiameter: 0.1, Clearance: nan}}
		limits := testCriteria().Limits
		law := constraint.NewLaw(ground, site, 0, limits)
		l := &layer{job: &job{law: law, site: site, criteria: testCriteria()}}
		laid := constraint.Laid{From: orb.Point{0, 0}, To: orb.Point{10, 0}, Size: testCriteria().Catalogue.Bores[0].Lawn, InvertUp: 9, InvertDown: 8.8}
		met := false
		for _, m := range law.Meetings(laid.From, laid.To) {
			if m.Utility == nil {
				continue
			}
			met = true
			clear, under := l.clearance(m, laid)
			says := utilitySays(Crossing{Clearance: clear}, m, under)
			slack := 0.02 * 0.5 // the pipe's fall over the width it counts in
			if math.IsNaN(clear) != math.IsNaN(c.clear) || math.Abs(clear-c.clear) > slack || !strings.Contains(says, c.says) {
				t.Errorf("%s: clear by %.4f m, not %.4f m: %s", c.name, clear, c.clear, says)
			}
		}
		if !met {
			t.Errorf("%s: not met", c.name)
		}
	}
}
