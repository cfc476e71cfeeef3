package lawcheck

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
)

// Spoil is one way to spoil a lawful folder. The rule is one that the check
// must then name, perhaps among others.
type Spoil struct {
	Name string
	Rule Rule
	// Do spoils the folder, or its site; false where it has nothing to be
	// spoiled in this way.
	Do func(f *Folder) bool
}

// past is how far a spoiled figure goes past its limit, m.
const past = 0.005

// Spoils returns ways to spoil any folder with pipes in it, for the folders of
// a design as well as for one made by hand.
func Spoils() []Spoil {
	return slices.Concat(levelSpoils, placeSpoils, outletSpoils, formSpoils, turnSpoils)
}

var levelSpoils = []Spoil{
	{"an invert raised 5 mm over what comes in", NodeInverts, func(f *Folder) bool {
		_, out := f.pair()
		if out != nil {
			add(out, past, "invert_up_m")
		}
		return out != nil
	}},
	{"an incoming invert 5 mm under the outgoing one", NodeInverts, func(f *Folder) bool {
		in, _ := f.pair()
		if in != nil {
			add(in, -past, "invert_down_m")
		}
		return in != nil
	}},
	{"fall reversed", SlopeMin, func(f *Folder) bool {
		p := properties(features(f.Pipes)[0])
		p["invert_up_m"], p["invert_down_m"] = p["invert_down_m"], p["invert_up_m"]
		return true
	}},
	{"cover short by 5 mm", CoverMin, func(f *Folder) bool {
		p := f.upper()
		if p != nil {
			add(p, number(p, "cover_min_m")-f.limitValue("cover_min")+past, "invert_up_m", "invert_down_m")
		}
		return p != nil
	}},
	{"outlet cover short by 5 mm", OutletCover, func(f *Folder) bool {
		p := f.toCurbFace()
		if p != nil {
			add(p, number(p, "cover_min_m")-f.limitValue("outlet_cover")+past, "invert_up_m", "invert_down_m")
		}
		return p != nil
	}},
	{"5 mm too deep", DepthMax, func(f *Folder) bool {
		p := f.upper()
		if p != nil {
			add(p, number(p, "invert_depth_max_m")-f.limitValue("depth_max")-past, "invert_up_m", "invert_down_m")
		}
		return p != nil
	}},
	{"a size that shrinks downstream", SizeShrinks, func(f *Folder) bool {
		_, out := f.pair()
		if out != nil {
			properties(out)["nominal_size"] = "1 in"
		}
		return out != nil
	}},
	{"capacity short and unsaid", Capacity, func(f *Folder) bool {
		p := features(f.Pipes)[0]
		properties(p)["design_flow_lps"] = 2 * number(p, "capacity_full_lps")
		f.Summary["verdict"], f.Summary["left_over_lps"], f.Summary["notes"] = "All is well.", 0, []any{}
		return true
	}},
	{"capacity short and said in the notes alone", Capacity, func(f *Folder) bool {
		p := features(f.Pipes)[0]
		properties(p)["design_flow_lps"] = 2 * number(p, "capacity_full_lps")
		f.Summary["verdict"], f.Summary["left_over_lps"], f.Summary["notes"] = "All is well.", 1000, []any{"some is left over"}
		return true
	}},
	{"a depth ratio made up", Printed, func(f *Folder) bool { add(features(f.Pipes)[0], 0.01, "depth_ratio"); return true }},
	{"a velocity made up", Printed, func(f *Folder) bool { add(features(f.Pipes)[0], 0.01, "velocity_mps"); return true }},
	{"shallow cover not listed", Protections, func(f *Folder) bool { f.Summary["protections"] = []any{}; return true }},
	{"shallow cover listed over a part", Protections, func(f *Folder) bool {
		p, _ := f.Summary["protections"].([]any)[0].(map[string]any)
		from, _ := p["from_m"].(float64)
		to, _ := p["to_m"].(float64)
		p["to_m"] = (from + to) / 2
		return true
	}},
	{"too little cover and no protection", Protections, func(f *Folder) bool {
		for _, v := range f.Summary["protections"].([]any) {
			v.(map[string]any)["says"] = "keep wheels off"
		}
		return f.toCurbFace() != nil
	}},
	{"a capacity made up", Printed, func(f *Folder) bool {
		p := features(f.Pipes)[0]
		properties(p)["capacity_full_lps"] = 1.01 * number(p, "capacity_full_lps")
		return true
	}},
	{"a cover made up", Printed, func(f *Folder) bool { add(features(f.Pipes)[0], past, "cover_min_m"); return true }},
	{"a limit not printed", Limits, func(f *Folder) bool { f.limit("depth_max")["name"] = "limits.other"; return true }},
}

var turnSpoils = []Spoil{
	{"a bend of 50 degrees", BendMax, func(f *Folder) bool { return f.turnInto("bend", 50) }},
	{"a lateral that meets the main at 50 degrees", WyeAngle, func(f *Folder) bool { return f.turnInto("wye", 50) }},
	{"bends sharper than a smaller limit", BendMax, func(f *Folder) bool {
		f.limit("bend_max")["value"] = 1e-3
		return true
	}},
	{"bend_max not printed", Limits, func(f *Folder) bool { f.limit("bend_max")["name"] = "limits.other"; return true }},
}

// obstacle is half the side of what is drawn in a pipe's way, m.
const obstacle = 0.5

// inTheWay draws something over the middle of the longest pipe.
func inTheWay(kind, shape string, more map[string]any) func(*Folder) bool {
	return func(f *Folder) bool {
		p := f.upper()
		return p != nil && f.draw(kind, shape, middle(p), obstacle, more)
	}
}

var placeSpoils = []Spoil{
	{"a roof over it", RoofSetback, inTheWay("roof", "Polygon", nil)},
	{"a keep-out over it", KeepOut, inTheWay("keep_out", "Polygon", nil)},
	{"a neighbour's lot over it", OtherLot, inTheWay("lot", "Polygon", nil)},
	{"an easement over it that forbids", Easement, inTheWay("easement", "Polygon", map[string]any{"rule": "forbid"})},
	{"a tree on it", RootPlate, inTheWay("tree", "Point", map[string]any{"trunk_diameter_in": 14.0})},
	{"a utility within its clearance", Utility, func(f *Folder) bool {
		p := f.upper()
		return p != nil && f.draw("utility", "LineString", middle(p), obstacle,
			map[string]any{"top": number(p, "invert_down_m") - 0.1, "outside_diameter": 0.05, "clearance": 0.3})
	}},
	{"a utility of unknown depth, unlisted", Utility, func(f *Folder) bool {
		at := f.upper()
		return at != nil && f.draw("utility", "LineString", middle(at), 2, nil) &&
			f.draw("utility", "LineString", middle(at), -2, map[string]any{"id": "spoil-2"})
	}},
	{"a lot line too near", LotLine, func(f *Folder) bool { f.limit("lot_line_setback")["value"] = 1000.0; return true }},
	{"a pipe out of the lot", Frontage, func(f *Folder) bool {
		p := f.upper()
		if p == nil {
			return false
		}
		line := coordinates(p)
		lat, _ := line[0].([]any)[1].(float64)
		lon, _ := line[0].([]any)[0].(float64)
		line[0] = []any{lon + 300.0/metresPerDegree/math.Cos(lat*math.Pi/180), lat}
		return true
	}},
	{"pipes that cross without a node", Crossing, func(f *Folder) bool {
		p := f.upper()
		if p == nil {
			return false
		}
		at, data := middle(p), []byte(nil)
		data, err := json.Marshal(p)
		var q map[string]any
		if err != nil || json.Unmarshal(data, &q) != nil {
			return false
		}
		line := coordinates(q)
		squash := math.Cos(at[1] * math.Pi / 180)
		for k := range line { // turned by a right angle about the middle
			x, _ := line[k].([]any)[0].(float64)
			y, _ := line[k].([]any)[1].(float64)
			line[k] = []any{at[0] - (y-at[1])/squash, at[1] + (x-at[0])*squash}
		}
		properties(q)["id"], properties(q)["from_node"], properties(q)["to_node"] = "spoil", "spoil-up", "spoil-down"
		list, _ := f.Pipes["features"].([]any)
		f.Pipes["features"] = append(list, q)
		return true
	}},
}

var outletSpoils = []Spoil{
	{"the outlet outside the frontage margin", FrontageMargin, func(f *Folder) bool {
		f.limit("frontage_margin")["value"] = 1000.0
		return f.toCurbFace() != nil
	}},
	{"the outlet invert 5 mm too low", AboveGutter, func(f *Folder) bool {
		p := f.toCurbFace()
		if p != nil {
			g := number(f.node(properties(p)["to_node"]), "gutter_m")
			properties(p)["invert_down_m"] = g + f.limitValue("outlet_above_gutter") - past
		}
		return p != nil
	}},
	{"a driveway beside the outlet", CurbDriveway, func(f *Folder) bool {
		p := f.toCurbFace()
		if p == nil {
			return false
		}
		var at [2]float64
		for k, v := range coordinates(f.node(properties(p)["to_node"])) {
			at[k], _ = v.(float64)
		}
		return f.draw("driveway", "Polygon", at, obstacle, nil)
	}},
	{"a hole too large for the curb", OutletSize, func(f *Folder) bool {
		p := f.toCurbFace()
		if p != nil {
			properties(p)["nominal_size"] = "12 in"
		}
		return p != nil
	}},
	{"a curb without a face", OutletPlace, func(f *Folder) bool {
		for _, s := range features(f.Site) {
			if properties(s)["kind"] == "curb" {
				properties(s)["type"] = "rolled"
			}
		}
		return f.toCurbFace() != nil
	}},
	{"a drawn outlet elsewhere", OutletPlace, func(f *Folder) bool {
		p := f.upper()
		return p != nil && f.draw("outlet", "Point", middle(p), 0, map[string]any{"type": "daylight"})
	}},
	{"an outlet pipe longer than its zone", CoverMin, func(f *Folder) bool {
		p := f.toCurbFace()
		f.limit("outlet_zone")["value"] = 0.1
		return p != nil && number(p, "cover_min_m") < f.limitValue("cover_min")-past
	}},
}

var formSpoils = []Spoil{
	{"a node id missing", NodeIDs, func(f *Folder) bool {
		properties(features(f.Pipes)[0])["to_node"] = "nowhere"
		return true
	}},
	{"a node id twice", NodeIDs, func(f *Folder) bool {
		list, _ := f.Nodes["features"].([]any)
		f.Nodes["features"] = append(list, list[0])
		return true
	}},
	{"a line drawn upstream", Geometry, func(f *Folder) bool { slices.Reverse(coordinates(features(f.Pipes)[0])); return true }},
	{"a length 5 mm off", Geometry, func(f *Folder) bool { add(features(f.Pipes)[0], past, "length_m"); return true }},
	{"a grade line under its pipe", Printed, func(f *Folder) bool {
		add(features(f.Nodes)[0], -100, "hgl_m")
		return true
	}},
	{"a rim under the grade line", GradeLine, func(f *Folder) bool {
		n := features(f.Nodes)[0]
		rim := number(n, "ground_m") // of whatever stands there, as if it were open
		properties(n)["rim_m"], properties(n)["hgl_m"], properties(n)["freeboard_m"] = rim, rim+past, -past
		return true
	}},
	{"a station 5 mm off", Station, func(f *Folder) bool { add(features(f.Nodes)[0], past, "station_m"); return true }},
	{"a served inflow whose pipe is gone", Served, func(f *Folder) bool {
		list, _ := f.Pipes["features"].([]any)
		for k, p := range features(f.Pipes) {
			n := f.node(properties(p)["from_node"])
			if n != nil && properties(n)["inflow_lps"] != nil {
				f.Pipes["features"] = slices.Delete(list, k, k+1)
				return true
			}
		}
		return false
	}},
	{"an infeasible inflow drawn", Served, func(f *Folder) bool {
		for _, v := range f.Summary["inflows"].([]any) {
			if m, ok := v.(map[string]any); ok && m["status"] == "served" {
				m["status"] = "infeasible"
				return true
			}
		}
		return false
	}},
	{"a crs member", Form, func(f *Folder) bool { f.Pipes["crs"] = map[string]any{"type": "name"}; return true }},
	{"coordinates of six decimals", Form, func(f *Folder) bool {
		for _, n := range features(f.Nodes) {
			for k, v := range coordinates(n) {
				coordinates(n)[k] = json.Number(fmt.Sprintf("%.6f", v))
			}
		}
		return len(features(f.Nodes)) > 1
	}},
	{"a number written as text", Form, func(f *Folder) bool { properties(features(f.Pipes)[0])["invert_up_m"] = "98.41"; return true }},
	{"a property left out", Form, func(f *Folder) bool { delete(properties(features(f.Nodes)[0]), "rim_m"); return true }},
	{"latitude before longitude", Form, func(f *Folder) bool {
		at := coordinates(features(f.Nodes)[0])
		lon, _ := at[0].(float64)
		slices.Reverse(at)
		return math.Abs(lon) > 90
	}},
}
