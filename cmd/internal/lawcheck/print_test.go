package lawcheck

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// write prints the lot into a folder: every figure follows from the points and
// inverts, so that a spoiled lot breaks the law and not the arithmetic.
func (l *lot) write(t *testing.T, dir string) (dem, sitePath string) {
	t.Helper()
	dem, sitePath = filepath.Join(dir, "ground.tif"), filepath.Join(dir, "site.geojson")
	l.writeRaster(t, dem)
	save(t, sitePath, collection(l.lines))
	stations := l.stations()
	var pipes, nodes []string
	protections := []map[string]any{}
	total := 0.0
	for _, id := range pipeOrder {
		if _, ok := l.ends[id]; ok {
			text, length := l.pipe(id)
			pipes, total = append(pipes, text), total+length
			foot := stations[l.ends[id][1]]
			protections = append(protections, map[string]any{"pipe": id, "from_m": foot, "to_m": foot + length, "cover_m": l.cover(id), "says": "encase in concrete"})
		}
	}
	for _, id := range []string{"ds1", "ds2", "n1", "b1", "w", "n2", "x", "out"} {
		if _, ok := l.points[id]; ok {
			nodes = append(nodes, l.node(id, stations[id]))
		}
	}
	save(t, filepath.Join(dir, "pipes.geojson"), collection(pipes))
	save(t, filepath.Join(dir, "nodes.geojson"), collection(nodes))
	save(t, filepath.Join(dir, "crossings.geojson"), collection(nil))
	limits := []map[string]any{}
	all := maps.Clone(limitsPrinted)
	maps.Copy(all, l.limits)
	for name, v := range all {
		limits = append(limits, map[string]any{"name": "limits." + name, "value": v, "unit": "m", "source": "test"})
	}
	inflow := func(id string) map[string]any {
		return map[string]any{"id": id, "kind": "downspout", "status": "served", "design_flow_lps": l.flow}
	}
	text, err := json.Marshal(map[string]any{"status": "feasible", "verdict": l.verdict, "plan_length_m": total, "left_over_lps": l.left,
		"notes": []string{}, "protections": protections, "inflows": []any{inflow("ds1"), inflow("ds2")}, "limits": limits})
	if err != nil {
		t.Fatal(err)
	}
	save(t, filepath.Join(dir, "summary.json"), string(text))
	return dem, sitePath
}

func save(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func collection(features []string) string {
	text := `{"type":"FeatureCollection","features":[`
	for k, f := range features {
		if k > 0 {
			text += ",\n"
		}
		text += f
	}
	return text + "]}"
}

// outOf is the pipe that leaves a node, "" at the outlet.
func (l *lot) outOf(id string) string {
	for _, p := range pipeOrder {
		if e, ok := l.ends[p]; ok && e[0] == id {
			return p
		}
	}
	return ""
}

func (l *lot) stations() map[string]float64 {
	s := map[string]float64{}
	for id := range l.points {
		for p := l.outOf(id); p != ""; p = l.outOf(l.ends[p][1]) {
			s[id] += length(l.points[l.ends[p][0]], l.points[l.ends[p][1]])
		}
	}
	return s
}

// flowIn is the flow of a pipe, L/s: of every downspout upstream of it.
func (l *lot) flowIn(pipe string) float64 {
	q := 0.0
	for _, ds := range []string{"ds1", "ds2"} {
		for p := l.outOf(ds); p != ""; p = l.outOf(l.ends[p][1]) {
			if p == pipe {
				q += l.flow
			}
		}
	}
	return q
}

// depths are the depths of a pipe's inverts at its ends, m, where on a plane
// cover and depth are extreme; p6 ends under the curb.
func (l *lot) depths(id string) (up, down float64) {
	e, inv := l.ends[id], l.inverts[id]
	up, down = groundAt(l.points[e[0]])-inv[0], groundAt(l.points[e[1]])-inv[1]
	if e[1] == "out" && l.outlet == "curb_face" {
		down = 99.85 + 0.1524 - inv[1]
	}
	return up, down
}

// sold returns outside and inside diameter of a pipe, m.
func (l *lot) sold(id string) [2]float64 {
	size := l.sizes[id]
	if size == "" {
		size = "4 in"
	}
	if l.ends[id][1] == "out" && l.outlet == "curb_face" {
		size += " outlet"
	}
	return pipesSold[size]
}

func (l *lot) cover(id string) float64 {
	up, down := l.depths(id)
	sold := l.sold(id)
	return math.Min(up, down) - (sold[0]+sold[1])/2
}

// partial is depth ratio and velocity of a flow in a pipe, by halving: an
// answer the checker's formulas, which go the other way, must agree with.
func partial(flow, full, diameter float64) (ratio, velocity float64) {
	area := math.Pi * diameter * diameter / 4
	if flow > full {
		return 1, flow / 1000 / area
	}
	low, high := 0.0, math.Pi*1.5 // the flow rises to there, and past the full pipe's
	wetted := func(theta float64) (wet, perimeter float64) {
		return diameter * diameter / 8 * (theta - math.Sin(theta)), diameter * theta / 2
	}
	for range 100 {
		theta := (low + high) / 2
		wet, perimeter := wetted(theta)
		if q := full / area * wet * math.Pow(wet/perimeter/(diameter/4), 2.0/3); q < flow {
			low = theta
		} else {
			high = theta
		}
	}
	wet, _ := wetted(low)
	return (1 - math.Cos(low/2)) / 2, flow / 1000 / wet
}

func (l *lot) pipe(id string) (text string, plan float64) {
	e, inv := l.ends[id], l.inverts[id]
	a, b := l.points[e[0]], l.points[e[1]]
	size, role, material := l.sizes[id], "main", "SDR 35"
	if size == "" {
		size = "4 in"
	}
	sold := l.sold(id)
	if e[1] == "out" && l.outlet == "curb_face" {
		role, material = "outlet", "Schedule 40"
	}
	plan = length(a, b)
	up, down := l.depths(id)
	slope := (inv[0] - inv[1]) / plan
	full := 1 / 0.012 * math.Pi * sold[1] * sold[1] / 4 * math.Pow(sold[1]/4, 2.0/3) * math.Sqrt(math.Max(0, slope)) * 1000
	p := map[string]any{"id": id, "role": role, "from_node": e[0], "to_node": e[1], "length_m": plan, "nominal_size": size,
		"inside_diameter_m": sold[1], "outside_diameter_m": sold[0], "material": material, "roughness_n": 0.012,
		"invert_up_m": inv[0], "invert_down_m": inv[1], "slope_pct": 100 * slope, "fall_m": inv[0] - inv[1],
		"cover_min_m": l.cover(id), "invert_depth_max_m": math.Max(up, down),
		"design_flow_lps": l.flowIn(id), "capacity_full_lps": full, "depth_ratio": nil, "velocity_mps": nil}
	p["depth_ratio"], p["velocity_mps"] = partial(l.flowIn(id), full, sold[1])
	return printed(p, "LineString", "["+at(a[0], a[1])+","+at(b[0], b[1])+"]"), plan
}

func (l *lot) node(id string, station float64) string {
	p := l.points[id]
	kind := l.kinds[id]
	n := map[string]any{"id": id, "kind": kind, "ground_m": groundAt(p), "station_m": station, "rim_m": nil, "roof": nil,
		"inflow_lps": nil, "outlet_type": nil, "gutter_m": nil, "lid_m": nil, "invert_m": nil, "invert_depth_m": nil,
		"hgl_m": groundAt(p), "freeboard_m": nil}
	if out := l.outOf(id); out != "" {
		n["invert_m"], n["invert_depth_m"] = l.inverts[out][0], groundAt(p)-l.inverts[out][0]
	}
	switch kind {
	case "downspout":
		n["inflow_lps"], n["roof"] = l.flow, "house"
	case "outlet":
		n["outlet_type"] = l.outlet
		if l.outlet == "curb_face" {
			n["gutter_m"] = 99.85
		}
		if l.outlet == "emitter" {
			n["lid_m"] = groundAt(p)
		}
	}
	return printed(n, "Point", at(p[0], p[1]))
}

func printed(properties map[string]any, shape, coordinates string) string {
	text, err := json.Marshal(properties)
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf(`{"type":"Feature","properties":%s,"geometry":{"type":%q,"coordinates":%s}}`, text, shape, coordinates)
}
