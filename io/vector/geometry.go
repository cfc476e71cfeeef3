package vector

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// geometry reads one geometry strictly. deep tells that a position had a third
// number, which is left out.
func geometry(kind string, raw json.RawMessage) (g orb.Geometry, deep bool, err error) {
	if single, ok := strings.CutPrefix(kind, "Multi"); ok { // as some programs write every shape
		var parts []json.RawMessage
		if err := json.Unmarshal(raw, &parts); err != nil || len(parts) != 1 {
			return nil, false, fmt.Errorf("%s of %d parts, want 1; split it into features of their own", strings.ToLower(brief(kind)), len(parts))
		}
		kind, raw = single, parts[0]
	}
	switch kind {
	case "Point":
		var p []*float64
		if err := json.Unmarshal(raw, &p); err != nil {
			return nil, false, fmt.Errorf("coordinates %q are no position", brief(string(raw)))
		}
		g, err = position(p)
		return g, len(p) > 2, err
	case "LineString":
		points, deep, err := positions(raw)
		if err != nil {
			return nil, deep, err
		}
		if len(points) < 2 {
			return nil, deep, fmt.Errorf("line of %d positions, want 2 or more", len(points))
		}
		return orb.LineString(points), deep, nil
	case "Polygon":
		return polygon(raw)
	}
	return nil, false, fmt.Errorf("geometry type %q; use Point, LineString or Polygon", brief(kind))
}

func position(p []*float64) (orb.Point, error) {
	if len(p) < 2 {
		return orb.Point{}, fmt.Errorf("position of %d number, want 2", len(p))
	}
	if p[0] == nil || p[1] == nil {
		return orb.Point{}, fmt.Errorf("position with a null in it, want two numbers")
	}
	if x, y := *p[0], *p[1]; !math.IsInf(x+y, 0) && !math.IsNaN(x+y) {
		return orb.Point{x, y}, nil
	}
	return orb.Point{}, fmt.Errorf("position is not finite")
}

func positions(raw json.RawMessage) (points []orb.Point, deep bool, err error) {
	var list [][]*float64
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, false, fmt.Errorf("coordinates %q are no list of positions", brief(string(raw)))
	}
	for _, p := range list {
		q, err := position(p)
		if err != nil {
			return nil, deep, err
		}
		points, deep = append(points, q), deep || len(p) > 2
	}
	return points, deep, nil
}

func polygon(raw json.RawMessage) (g orb.Geometry, deep bool, err error) {
	var rings []json.RawMessage
	if err := json.Unmarshal(raw, &rings); err != nil || len(rings) == 0 {
		return nil, false, fmt.Errorf("polygon without rings")
	}
	var p orb.Polygon
	for _, r := range rings {
		points, thick, err := positions(r)
		if err != nil {
			return nil, deep, err
		}
		deep = deep || thick
		points = slices.Compact(points)
		if len(points) < 4 {
			return nil, deep, fmt.Errorf("ring of %d positions, want 4 or more", len(points))
		}
		if first, last := points[0], points[len(points)-1]; first != last {
			return nil, deep, fmt.Errorf("ring is open: it starts at %v and ends at %v; repeat the first position at the end", first, last)
		}
		if fault, at := simple(points); fault != "" {
			return nil, deep, fmt.Errorf("outline %s near %s %s; draw it so that it does not", fault, fixed(at[0], 7), fixed(at[1], 7))
		}
		if len(p) > 0 && !slices.ContainsFunc(points, func(x orb.Point) bool { return planar.RingContains(p[0], x) }) {
			return nil, deep, fmt.Errorf("hole lies outside the outline, near %.7f %.7f; draw it as a feature of its own, or take it out", points[0][0], points[0][1])
		}
		p = append(p, points)
	}
	return p, deep, nil
}
