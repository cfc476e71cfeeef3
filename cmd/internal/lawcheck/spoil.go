package lawcheck

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
)

// Folder is a printed folder and its site file in hand, to be spoiled.
type Folder struct {
	Pipes, Nodes, Summary, Site map[string]any
	crossings                   []byte
}

// Load reads a printed folder and the site lines it was designed for.
func Load(sitePath, outDir string) (*Folder, error) {
	f := &Folder{}
	for path, to := range map[string]*map[string]any{
		sitePath:                               &f.Site,
		filepath.Join(outDir, "pipes.geojson"): &f.Pipes,
		filepath.Join(outDir, "nodes.geojson"): &f.Nodes,
		filepath.Join(outDir, "summary.json"):  &f.Summary,
	} {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(data, to); err != nil {
			return nil, err
		}
	}
	var err error
	f.crossings, err = os.ReadFile(filepath.Join(outDir, "crossings.geojson"))
	return f, err
}

// Write writes the folder into a directory, with the site as site.geojson
// beside it, and returns the site's path.
func (f *Folder) Write(dir string) (string, error) {
	sitePath := filepath.Join(dir, "site.geojson")
	for name, what := range map[string]any{
		"site.geojson": f.Site, "pipes.geojson": f.Pipes, "nodes.geojson": f.Nodes, "summary.json": f.Summary,
		"crossings.geojson": json.RawMessage(f.crossings),
	} {
		data, err := json.Marshal(what)
		if err != nil {
			return "", err
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			return "", err
		}
	}
	return sitePath, nil
}

func features(layer map[string]any) []map[string]any {
	var list []map[string]any
	raw, _ := layer["features"].([]any)
	for _, f := range raw {
		if m, ok := f.(map[string]any); ok {
			list = append(list, m)
		}
	}
	return list
}

func properties(f map[string]any) map[string]any {
	p, _ := f["properties"].(map[string]any)
	return p
}

func coordinates(f map[string]any) []any {
	g, _ := f["geometry"].(map[string]any)
	c, _ := g["coordinates"].([]any)
	return c
}

// number is a numeric property, NaN where it is none.
func number(f map[string]any, key string) float64 {
	if v, ok := properties(f)[key].(float64); ok {
		return v
	}
	return math.NaN()
}

// add raises numeric properties.
func add(f map[string]any, by float64, keys ...string) {
	for _, k := range keys {
		properties(f)[k] = number(f, k) + by
	}
}

// limit returns the entry of a limit in the summary, an empty one where it is
// not printed.
func (f *Folder) limit(name string) map[string]any {
	list, _ := f.Summary["limits"].([]any)
	for _, l := range list {
		if m, ok := l.(map[string]any); ok && m["name"] == "limits."+name {
			return m
		}
	}
	return map[string]any{}
}

func (f *Folder) limitValue(name string) float64 {
	if v, ok := f.limit(name)["value"].(float64); ok {
		return v
	}
	return math.NaN()
}

// node returns a node by its id, nil where there is none.
func (f *Folder) node(id any) map[string]any {
	for _, n := range features(f.Nodes) {
		if properties(n)["id"] == id {
			return n
		}
	}
	return nil
}

// toCurbFace is the pipe that ends at an outlet through a curb, nil where none does.
func (f *Folder) toCurbFace() map[string]any {
	for _, p := range features(f.Pipes) {
		if n := f.node(properties(p)["to_node"]); n != nil && properties(n)["outlet_type"] == "curb_face" {
			return p
		}
	}
	return nil
}

// upper is the longest pipe that does not end at an outlet, nil where all do.
func (f *Folder) upper() map[string]any {
	var best map[string]any
	for _, p := range features(f.Pipes) {
		n := f.node(properties(p)["to_node"])
		if n != nil && properties(n)["kind"] != "outlet" && (best == nil || number(p, "length_m") > number(best, "length_m")) {
			best = p
		}
	}
	return best
}

// pair is a pipe and the one it flows into at one level, nil where there is
// none; the second is no last pipe.
func (f *Folder) pair() (in, out map[string]any) {
	for _, p := range features(f.Pipes) {
		for _, q := range features(f.Pipes) {
			n := f.node(properties(q)["to_node"])
			if properties(p)["to_node"] == properties(q)["from_node"] && n != nil && properties(n)["kind"] != "outlet" &&
				math.Abs(number(p, "invert_down_m")-number(q, "invert_up_m")) < 0.001 {
				return p, q
			}
		}
	}
	return nil, nil
}

// turnInto turns a pipe about its lower end, at the first node of a kind, to
// an angle with the pipe that leaves there; false where there is no such node.
func (f *Folder) turnInto(kind string, degrees float64) bool {
	for _, p := range features(f.Pipes) {
		n := f.node(properties(p)["to_node"])
		if n == nil || properties(n)["kind"] != kind {
			continue
		}
		for _, q := range features(f.Pipes) {
			if properties(q)["from_node"] == properties(n)["id"] {
				f.turn(p, q, degrees*math.Pi/180)
				return true
			}
		}
	}
	return false
}

// turn moves the upper end of p so that its way makes an angle with q's.
func (f *Folder) turn(p, q map[string]any, angle float64) {
	squash := math.Cos(middle(p)[1] * math.Pi / 180)
	way := func(pipe map[string]any) (x, y, l float64) {
		var ends [2][2]float64
		line := coordinates(pipe)
		for k, end := range []any{line[0], line[len(line)-1]} {
			for i := range ends[k] {
				ends[k][i], _ = end.([]any)[i].(float64)
			}
		}
		x, y = (ends[1][0]-ends[0][0])*squash, ends[1][1]-ends[0][1]
		return x, y, math.Hypot(x, y)
	}
	x, y, l := way(q)
	_, _, long := way(p)
	x, y = (x*math.Cos(angle)-y*math.Sin(angle))*long/l, (x*math.Sin(angle)+y*math.Cos(angle))*long/l
	line := coordinates(p)
	lon, _ := line[len(line)-1].([]any)[0].(float64)
	lat, _ := line[len(line)-1].([]any)[1].(float64)
	line[0] = []any{lon - x/squash, lat - y}
}

// middle is the place halfway along a pipe in longitude and latitude.
func middle(pipe map[string]any) [2]float64 {
	line := coordinates(pipe)
	var at [2]float64
	for k := range at {
		a, _ := line[0].([]any)[k].(float64)
		b, _ := line[len(line)-1].([]any)[k].(float64)
		at[k] = (a + b) / 2
	}
	return at
}

// metresPerDegree of latitude, near enough to draw an obstacle.
const metresPerDegree = 111320.0

// draw adds a feature to the site round a place: a square, or a line or a
// point there; false where the site is not in longitude and latitude.
func (f *Folder) draw(kind, shape string, at [2]float64, half float64, more map[string]any) bool {
	if _, named := f.Site["crs"]; named {
		return false
	}
	dy := half / metresPerDegree
	dx := dy / math.Cos(at[1]*math.Pi/180)
	corner := func(x, y float64) []any { return []any{at[0] + x*dx, at[1] + y*dy} }
	var c any
	switch shape {
	case "Polygon":
		c = []any{[]any{corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1), corner(-1, -1)}}
	case "LineString":
		c = []any{corner(-1, -1), corner(1, 1)}
	default:
		c = corner(0, 0)
	}
	p := map[string]any{"kind": kind, "id": "spoil"}
	for k, v := range more {
		p[k] = v
	}
	list, _ := f.Site["features"].([]any)
	f.Site["features"] = append(list, map[string]any{"type": "Feature", "properties": p, "geometry": map[string]any{"type": shape, "coordinates": c}})
	return true
}
