package vector

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

// Error is a site file that cannot be used: one line with what to do.
type Error struct{ File, Says string }

func (e *Error) Error() string { return e.File + ": " + e.Says }

// feature is one feature as read: geometry still in the file's coordinates.
type feature struct {
	index      int // from 1, in the file's order
	id         string
	kind       string
	properties map[string]any
	geometry   orb.Geometry
}

// name is how an error names a feature.
func (f *feature) name() string {
	if f.id != "" {
		return fmt.Sprintf("feature %q", f.id)
	}
	return fmt.Sprintf("feature number %d", f.index)
}

type rawFeature struct {
	Type       string          `json:"type"`
	ID         any             `json:"id"`
	Properties map[string]any  `json:"properties"`
	Geometry   json.RawMessage `json:"geometry"`
}

type rawCollection struct {
	Type     string          `json:"type"`
	Features []rawFeature    `json:"features"`
	CRS      json.RawMessage `json:"crs"`
}

// readGeoJSON reads the features of a GeoJSON file and its coordinate system.
func readGeoJSON(file string) ([]feature, *crs.System, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, &Error{file, fmt.Sprintf("cannot be read: %v; name the site lines file", errors.Unwrap(err))}
	}
	return decode(file, data)
}

// decode is readGeoJSON for bytes in hand.
func decode(file string, data []byte) ([]feature, *crs.System, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // a byte order mark
	var c rawCollection
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, nil, &Error{file, "is not JSON: " + jsonPlace(data, err) + "; save the site lines as GeoJSON"}
	}
	if c.Type != "FeatureCollection" {
		return nil, nil, &Error{file, fmt.Sprintf("has type %q, want FeatureCollection; save the site lines as a GeoJSON FeatureCollection", c.Type)}
	}
	system, err := systemOf(c.CRS)
	if err != nil {
		return nil, nil, &Error{file, err.Error()}
	}
	var list []feature
	for i, r := range c.Features {
		f, err := r.feature(i + 1)
		if err != nil {
			return nil, nil, &Error{file, err.Error()}
		}
		if err := f.checkDegrees(system, len(c.CRS) > 0); err != nil {
			return nil, nil, &Error{file, err.Error()}
		}
		list = append(list, f)
	}
	return list, system, nil
}

// jsonPlace says what is wrong with a JSON text and on which line.
func jsonPlace(data []byte, err error) string {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		line := 1 + bytes.Count(data[:min(len(data), int(syntax.Offset))], []byte("\n"))
		return fmt.Sprintf("line %d: %v", line, err)
	}
	return err.Error()
}

// The names a crs member may have.
var (
	crs84 = map[string]bool{"CRS84": true, "OGC:CRS84": true, "urn:ogc:def:crs:OGC:1.3:CRS84": true, "urn:ogc:def:crs:OGC::CRS84": true}
	epsg  = regexp.MustCompile(`^(?:EPSG:|urn:ogc:def:crs:EPSG:[^:]*:)(\d+)$`)
)

// systemOf returns the coordinate system of a legacy crs member; RFC 7946's
// where there is none.
func systemOf(raw json.RawMessage) (*crs.System, error) {
	if len(raw) == 0 || string(raw) == "null" {
		return crs.WGS84()
	}
	var member struct {
		Type       string `json:"type"`
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	}
	if err := json.Unmarshal(raw, &member); err != nil || member.Properties.Name == "" {
		return nil, fmt.Errorf("has a crs member without a name: %s; write {\"type\": \"name\", \"properties\": {\"name\": \"EPSG:26917\"}}", brief(raw))
	}
	name := member.Properties.Name
	if crs84[name] {
		return crs.WGS84()
	}
	code := epsg.FindStringSubmatch(name)
	if code == nil { // nothing else is asked about: a name may be an address
		return nil, fmt.Errorf("has crs %q, which is not known; use an EPSG code, or longitude and latitude without crs", brief([]byte(name)))
	}
	name = "EPSG:" + code[1]
	s, err := crs.Parse(name)
	if err != nil {
		return nil, fmt.Errorf("has crs %q, which is not known; use an EPSG code, or longitude and latitude without crs", member.Properties.Name)
	}
	return s, nil
}

func (r *rawFeature) feature(index int) (feature, error) {
	f := feature{index: index, properties: r.Properties}
	if r.Type != "Feature" {
		return f, fmt.Errorf("feature number %d has type %q, want Feature", index, r.Type)
	}
	if f.properties == nil {
		f.properties = map[string]any{}
	}
	f.id = text(f.properties["id"])
	if f.id == "" {
		f.id = text(r.ID)
	}
	f.kind, _ = f.properties["kind"].(string)
	if len(r.Geometry) == 0 || string(r.Geometry) == "null" {
		return f, fmt.Errorf("%s has no geometry; draw it, or take it out", f.name())
	}
	var g struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	}
	if err := json.Unmarshal(r.Geometry, &g); err != nil {
		return f, fmt.Errorf("%s has a geometry that is no object", f.name())
	}
	var err error
	f.geometry, err = geometry(g.Type, g.Coordinates)
	if err != nil {
		return f, fmt.Errorf("%s: %w", f.name(), err)
	}
	return f, nil
}

func text(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return ""
}

// geometry reads one geometry strictly.
func geometry(kind string, raw json.RawMessage) (orb.Geometry, error) {
	switch kind {
	case "Point":
		var p []*float64
		if err := json.Unmarshal(raw, &p); err != nil {
			return nil, fmt.Errorf("coordinates %s are no position", brief(raw))
		}
		return position(p)
	case "LineString":
		points, err := positions(raw)
		if err != nil {
			return nil, err
		}
		if len(points) < 2 {
			return nil, fmt.Errorf("line of %d positions, want 2 or more", len(points))
		}
		return orb.LineString(points), nil
	case "Polygon", "MultiPolygon":
		if kind == "MultiPolygon" {
			var parts []json.RawMessage
			if err := json.Unmarshal(raw, &parts); err != nil || len(parts) != 1 {
				return nil, fmt.Errorf("multipolygon of %d parts, want 1; split it into features of their own", len(parts))
			}
			raw = parts[0]
		}
		return polygon(raw)
	}
	return nil, fmt.Errorf("geometry type %q; use Point, LineString or Polygon", kind)
}

func position(p []*float64) (orb.Point, error) {
	if len(p) < 2 {
		return orb.Point{}, fmt.Errorf("position of %d number, want 2", len(p))
	}
	if p[0] == nil || p[1] == nil {
		return orb.Point{}, fmt.Errorf("position with a null in it, want two numbers")
	}
	if x, y := *p[0], *p[1]; !math.IsInf(x+y, 0) {
		return orb.Point{x, y}, nil
	}
	return orb.Point{}, fmt.Errorf("position is not finite")
}

// briefly is how much of a bad text an error repeats.
const briefly = 80

// brief is a text on one line, cut where it is long.
func brief(raw []byte) string {
	line := strings.Join(strings.Fields(string(raw)), " ")
	if len(line) > briefly {
		line = line[:briefly] + "..."
	}
	return line
}

func positions(raw json.RawMessage) ([]orb.Point, error) {
	var list [][]*float64
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, fmt.Errorf("coordinates are no list of positions")
	}
	var points []orb.Point
	for _, p := range list {
		q, err := position(p)
		if err != nil {
			return nil, err
		}
		points = append(points, q)
	}
	return points, nil
}

func polygon(raw json.RawMessage) (orb.Geometry, error) {
	var rings []json.RawMessage
	if err := json.Unmarshal(raw, &rings); err != nil || len(rings) == 0 {
		return nil, fmt.Errorf("polygon without rings")
	}
	var p orb.Polygon
	for _, r := range rings {
		points, err := positions(r)
		if err != nil {
			return nil, err
		}
		points = slices.Compact(points)
		if len(points) < 4 {
			return nil, fmt.Errorf("ring of %d positions, want 4 or more", len(points))
		}
		if first, last := points[0], points[len(points)-1]; first != last {
			return nil, fmt.Errorf("ring is open: it starts at %v and ends at %v; repeat the first position at the end", first, last)
		}
		p = append(p, points)
	}
	if at, ok := selfCrossing(p[0]); ok {
		return nil, fmt.Errorf("outline crosses itself near %.7f %.7f; draw it so that it does not", at[0], at[1])
	}
	return p, nil
}

// selfCrossing returns where a ring's sides cross each other.
func selfCrossing(r orb.Ring) (orb.Point, bool) {
	for i := 1; i < len(r); i++ {
		for j := i + 2; j < len(r); j++ {
			if i == 1 && j == len(r)-1 {
				continue // neighbours round the end
			}
			if at, ok := crossing(r[i-1], r[i], r[j-1], r[j]); ok {
				return at, true
			}
		}
	}
	return orb.Point{}, false
}

func crossing(a, b, p, q orb.Point) (orb.Point, bool) {
	side := func(o, e, x orb.Point) float64 { return (e[0]-o[0])*(x[1]-o[1]) - (e[1]-o[1])*(x[0]-o[0]) }
	s, t := side(p, q, a), side(p, q, b)
	for _, x := range []orb.Point{a, b} { // a corner on another side
		if side(p, q, x) == 0 && (x[0]-p[0])*(x[0]-q[0])+(x[1]-p[1])*(x[1]-q[1]) <= 0 {
			return x, true
		}
	}
	if s*t >= 0 || side(a, b, p)*side(a, b, q) >= 0 {
		return orb.Point{}, false
	}
	f := s / (s - t)
	return orb.Point{a[0] + f*(b[0]-a[0]), a[1] + f*(b[1]-a[1])}, true
}

// checkDegrees refuses positions that cannot be longitude and latitude.
func (f *feature) checkDegrees(system *crs.System, named bool) error {
	if !system.Geographic {
		return nil
	}
	b := f.geometry.Bound()
	if b.Min[0] < -180 || b.Max[0] > 180 || b.Min[1] < -90 || b.Max[1] > 90 {
		hint := "name their coordinate system in a crs member, or save as longitude and latitude"
		if named {
			hint = "the crs member names degrees; name the system they are in"
		}
		return fmt.Errorf("%s lies at %.3f %.3f, which is no longitude and latitude; are these metres? %s", f.name(), b.Min[0], b.Min[1], hint)
	}
	return nil
}
