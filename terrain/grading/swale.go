package grading

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// The rules for swales.
var (
	Swale = Rule{Name: "swale grade", Required: 0.005, Source: "Willoughby 1171.04 and Mayfield Village 1119.03 (Ohio) codes: 0.5 %"}
	// SwaleNear holds within Reach of a building.
	SwaleNear = Rule{Name: "swale grade by a building", Required: 0.02, Source: "International Residential Code R401.3, 2006: swales within 10 ft of the building slope 2 %"}
)

// swaleShortest is the shortest stretch of a swale that is judged, m.
const swaleShortest = 3.0

// Swales judges the lines that water follows over the lot's lawn, drawn
// downstream, each in stretches by or away from buildings: by the straight line
// nearest to the ground along it. What runs over paving or off the lot is left
// out.
func Swales(s *Site, lines []orb.LineString) (list []Finding) {
	for _, line := range lines {
		var part orb.LineString
		near := false
		end := func() {
			if f, ok := s.stretch(part, near); ok {
				list = append(list, f)
			}
			part = nil
		}
		for _, p := range line {
			if !planar.PolygonContains(s.Lot, p) || s.paved(p) {
				end()
				continue
			}
			if now := s.nearRoof(p); now != near {
				last := part
				end()
				if near = now; len(last) > 0 {
					part = orb.LineString{last[len(last)-1]}
				}
			}
			part = append(part, p)
		}
		end()
	}
	return list
}

// stretch judges one stretch of a swale; ok is false where it is too short.
func (s *Site) stretch(line orb.LineString, near bool) (f Finding, ok bool) {
	if planar.Length(line) < swaleShortest {
		return f, false
	}
	f = Finding{Line: line, Rule: Swale, Status: Unknown, Measured: math.NaN()}
	if near {
		f.Rule = SwaleNear
	}
	var at, z []float64
	station := 0.0
	for k, p := range line {
		if k > 0 {
			station += planar.Distance(line[k-1], p)
		}
		if ground := s.Ground.Ground(p[0], p[1]); !math.IsNaN(ground) {
			at, z = append(at, station), append(z, ground)
		}
	}
	slope, spread, ok := slopeAlong(at, z)
	if !ok {
		f.Why = "too little ground is known along it"
		return f, true
	}
	f.judge(-slope, spread)
	return f, true
}
