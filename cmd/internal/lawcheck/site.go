package lawcheck

import (
	"encoding/json"
	"fmt"
	"math"
	"os"

	"github.com/paulmach/orb"
)

// feature is one site line in grid metres.
type feature struct {
	id, kind   string
	properties map[string]any
	point      orb.Point
	line       orb.LineString
	area       orb.Polygon
}

// site is the site lines by kind, in the file's order.
type site struct {
	byKind map[string][]*feature
	foot   float64
	middle orb.Point // longitude and latitude
}

type rawGeometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

type rawSite struct {
	CRS *struct {
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	} `json:"crs"`
	Features []struct {
		ID         any            `json:"id"`
		Properties map[string]any `json:"properties"`
		Geometry   rawGeometry    `json:"geometry"`
	} `json:"features"`
}

// readSite reads the lines as drawn; place moves them into grid metres.
func readSite(path string) (*site, string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, "", err
	}
	var raw rawSite
	if err := json.Unmarshal(data, &raw); err != nil {
		return nil, "", fmt.Errorf("%s: %w", path, err)
	}
	s := &site{byKind: map[string][]*feature{}}
	bound := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for n, r := range raw.Features {
		f := &feature{properties: r.Properties, kind: word(r.Properties["kind"]), id: word(r.Properties["id"])}
		if f.id == "" {
			f.id = word(r.ID)
		}
		if f.id == "" {
			f.id = fmt.Sprintf("%s-%d", f.kind, n+1)
		}
		if err := f.shape(r.Geometry); err != nil {
			return nil, "", fmt.Errorf("%s: feature %d: %w", path, n+1, err)
		}
		f.each(func(p orb.Point) orb.Point { bound = bound.Extend(p); return p })
		s.byKind[f.kind] = append(s.byKind[f.kind], f)
	}
	s.middle = bound.Center()
	system := lonLat
	if raw.CRS != nil {
		system = raw.CRS.Properties.Name
	}
	return s, system, nil
}

// lonLat is the system of RFC 7946.
const lonLat = "EPSG:4326"

func word(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		return fmt.Sprint(v)
	}
	return ""
}

func (f *feature) shape(g rawGeometry) error {
	switch g.Type {
	case "Point":
		return json.Unmarshal(g.Coordinates, &f.point)
	case "LineString":
		return json.Unmarshal(g.Coordinates, &f.line)
	case "Polygon":
		return json.Unmarshal(g.Coordinates, &f.area)
	case "MultiPolygon":
		var parts []orb.Polygon
		if err := json.Unmarshal(g.Coordinates, &parts); err != nil || len(parts) != 1 {
			return fmt.Errorf("multipolygon of %d parts: %w", len(parts), err)
		}
		f.area = parts[0]
		return nil
	}
	return fmt.Errorf("geometry %q", g.Type)
}

// each replaces every position.
func (f *feature) each(do func(orb.Point) orb.Point) {
	if f.line == nil && f.area == nil {
		f.point = do(f.point)
	}
	for k := range f.line {
		f.line[k] = do(f.line[k])
	}
	for _, r := range f.area {
		for k := range r {
			r[k] = do(r[k])
		}
	}
}

// place moves all lines into grid metres.
func (s *site) place(m *mover) error {
	var failed error
	for _, list := range s.byKind {
		for _, f := range list {
			f.each(func(p orb.Point) orb.Point {
				q, err := m.move(p)
				if err != nil {
					failed = err
				}
				return q
			})
		}
	}
	return failed
}

func (f *feature) number(key string) (float64, bool) {
	v, ok := f.properties[key].(float64)
	return v, ok
}

// length is a length property in metres, by its key or with a unit's ending.
func (f *feature) length(key string) (float64, bool) {
	for _, e := range []struct {
		ending string
		metres float64
	}{{"", 1}, {"_in", 0.0254}, {"_ft", 0.3048}, {"_mm", 0.001}} {
		if v, ok := f.number(key + e.ending); ok {
			return v * e.metres, true
		}
	}
	return 0, false
}

// level is an elevation property in metres.
func (s *site) level(f *feature, key string) (float64, bool) {
	if v, ok := f.number(key); ok {
		return v, true
	}
	v, ok := f.number(key + "_ft")
	return v * s.foot, ok
}

// levels is an elevation for each vertex of a line, nil where none is given.
func (s *site) levels(f *feature, key string) []float64 {
	if v, ok := s.level(f, key); ok {
		list := make([]float64, len(f.line))
		for k := range list {
			list[k] = v
		}
		return list
	}
	for _, e := range []struct {
		key    string
		metres float64
	}{{key, 1}, {key + "_ft", s.foot}} {
		given, ok := f.properties[e.key].([]any)
		if !ok || len(given) != len(f.line) {
			continue
		}
		var list []float64
		for _, v := range given {
			x, _ := v.(float64)
			list = append(list, x*e.metres)
		}
		return list
	}
	return nil
}
