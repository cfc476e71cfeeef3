package vector

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

// Error is a site file that cannot be used: one line with what to do.
type Error struct{ File, Says string }

func (e *Error) Error() string { return oneLine(e.File + ": " + e.Says) }

// oneLine is a text with every run of white space made one blank.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// briefly is how much of a bad text an error repeats, characters.
const briefly = 80

// brief is a text on one line, cut where it is long.
func brief(text string) string {
	line := []rune(oneLine(text))
	if len(line) > briefly {
		return string(line[:briefly]) + "..."
	}
	return string(line)
}

// feature is one feature as read: geometry still in the file's coordinates.
type feature struct {
	index      int // from 1, in the file's order
	id         string
	kind       string
	properties map[string]any
	geometry   orb.Geometry
	deep       bool // some position has a third number, left out
}

// name is how an error names a feature.
func (f *feature) name() string {
	if f.id != "" {
		return fmt.Sprintf("feature %q", brief(f.id))
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
	if strings.HasPrefix(file, virtual) {
		data, err := readVirtual(file)
		if err != nil {
			return nil, nil, &Error{file, fmt.Sprintf("cannot be read: %s; name the site lines file", brief(err.Error()))}
		}
		return decode(file, data)
	}
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
		return nil, nil, &Error{file, jsonFault(data, err) + "; save the site lines as GeoJSON"}
	}
	if c.Type != "FeatureCollection" {
		return nil, nil, &Error{file, fmt.Sprintf("has type %q, want FeatureCollection; save the site lines as a GeoJSON FeatureCollection", brief(c.Type))}
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

// article is a word with "a" or "an" before it.
func article(word string) string {
	if word != "" && strings.ContainsRune("aeiou", rune(word[0])) {
		return "an " + word
	}
	return "a " + word
}

// jsonFault says what is wrong with a JSON text and on which line.
func jsonFault(data []byte, err error) string {
	line := func(offset int64) int { return 1 + bytes.Count(data[:min(len(data), int(offset))], []byte("\n")) }
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		return fmt.Sprintf("is not JSON: line %d: %v", line(syntax.Offset), err)
	case errors.As(err, &kind) && kind.Field != "":
		return fmt.Sprintf("is not GeoJSON: line %d: %s is %s", line(kind.Offset), kind.Field, article(kind.Value))
	case errors.As(err, &kind):
		return fmt.Sprintf("is not GeoJSON: line %d: it is %s", line(kind.Offset), article(kind.Value))
	}
	return "is not JSON: " + err.Error()
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
		return nil, fmt.Errorf("has a crs member without a name: %s; write {\"type\": \"name\", \"properties\": {\"name\": \"EPSG:26917\"}}", brief(string(raw)))
	}
	name := member.Properties.Name
	if crs84[name] {
		return crs.WGS84()
	}
	code := epsg.FindStringSubmatch(name)
	if code == nil { // nothing else is asked about: a name may be an address
		return nil, fmt.Errorf("has crs %q, which is not known; use an EPSG code, or longitude and latitude without crs", brief(name))
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
		return f, fmt.Errorf("feature number %d has type %q, want Feature", index, brief(r.Type))
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
	f.geometry, f.deep, err = geometry(g.Type, g.Coordinates)
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
		asks := "are these metres? " + hint
		if b.Min[0] >= -90 && b.Max[0] <= 90 && b.Min[1] >= -180 && b.Max[1] <= 180 {
			asks = "are longitude and latitude swapped? write longitude first"
		}
		return fmt.Errorf("%s lies at %s %s, which is no longitude and latitude; %s", f.name(), fixed(b.Min[0], 3), fixed(b.Min[1], 3), asks)
	}
	return nil
}
