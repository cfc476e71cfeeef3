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
	// SwaleSide and SwaleSideMost hold beside a building, where SwaleNear does not
	// ask for more.
	SwaleSide     = Rule{Name: "side-yard swale grade", Required: 0.01, Source: "Elwood (Illinois) code, parcel drainage (A): 1 to 7 %"}
	SwaleSideMost = Rule{Name: "side-yard swale grade, at most", Required: 0.07, AtMost: true, Source: "Elwood (Illinois) code, parcel drainage (A): 1 to 7 %"}
)

// swaleShortest is the shortest stretch of a swale that is judged, m.
const swaleShortest = 3.0

// beside tells how a place lies to buildings.
type beside struct {
	near bool // within Reach of one
	side bool // in a side yard
}

// least is the rule for the least grade of a swale there.
func (b beside) least() Rule {
	switch {
	case b.near:
		return SwaleNear
	case b.side:
		return SwaleSide
	}
	return Swale
}

// Swales judges the lines that water follows over the lot's lawn, drawn
// downstream, each in stretches that lie alike to buildings: by the straight line
// nearest to the ground along it. What runs over paving or off the lot is left
// out. In a side yard one steeper than SwaleSideMost is judged by that.
func Swales(s *Site, lines []orb.LineString) (list []Finding) {
	for _, line := range lines {
		var part orb.LineString
		var lies beside
		end := func() {
			if f, ok := s.stretch(part, lies); ok {
				list = append(list, f)
			}
			part = nil
		}
		for _, p := range line {
			if !planar.PolygonContains(s.Lot, p) || s.paved(p) {
				end()
				continue
			}
			if now := (beside{s.nearRoof(p), s.sideYard(p)}); now != lies {
				last := part
				end()
				if lies = now; len(last) > 0 {
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
func (s *Site) stretch(line orb.LineString, lies beside) (f Finding, ok bool) {
	if planar.Length(line) < swaleShortest {
		return f, false
	}
	f = Finding{Line: line, Rule: lies.least(), Status: Unknown, Measured: math.NaN()}
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
	if lies.side && -slope > SwaleSideMost.Required {
		f.Rule = SwaleSideMost
	}
	f.judge(-slope, spread)
	return f, true
}
