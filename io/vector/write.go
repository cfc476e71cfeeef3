package vector

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

// Property is one property of a written feature: a number, a word, a truth or
// nil. A number that is NaN is written as null.
type Property struct {
	Name  string
	Value any
}

// Feature is one feature to be written, in site metres.
type Feature struct {
	Geometry   orb.Geometry
	Properties []Property // in this order
}

// Layer is a named list of features of one geometry type.
type Layer struct {
	Name     string
	Geometry string // Point, LineString or Polygon
	Features []Feature
}

// Writer turns site metres into longitude and latitude.
type Writer struct{ mover *crs.Mover }

// NewWriter returns a writer for lines in a system of site metres.
func NewWriter(site *crs.System) (*Writer, error) {
	wgs, err := crs.WGS84()
	if err != nil {
		return nil, err
	}
	m, err := crs.NewMover(site, wgs)
	if err != nil {
		return nil, err
	}
	return &Writer{m}, nil
}

// Close releases the writer.
func (w *Writer) Close() { w.mover.Close() }

// LonLat returns the longitude and latitude of a point in site metres.
func (w *Writer) LonLat(p orb.Point) (orb.Point, error) { return w.mover.Move(p) }

// WriteGeoJSON writes a layer as RFC 7946 GeoJSON, one feature a line, always
// the same bytes for the same features.
func (w *Writer) WriteGeoJSON(folder string, l Layer) error {
	var b strings.Builder
	b.WriteString("{\"type\": \"FeatureCollection\", \"features\": [")
	for i, f := range l.Features {
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("\n{\"type\": \"Feature\", \"properties\": ")
		writeProperties(&b, f.Properties)
		b.WriteString(", \"geometry\": ")
		if err := w.writeGeometry(&b, f.Geometry); err != nil {
			return err
		}
		b.WriteString("}")
	}
	b.WriteString("\n]}\n")
	return os.WriteFile(filepath.Join(folder, l.Name+".geojson"), []byte(b.String()), 0o644)
}

func writeProperties(b *strings.Builder, list []Property) {
	b.WriteString("{")
	for i, p := range list {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(b, "%s: %s", strconv.Quote(p.Name), jsonValue(p.Value))
	}
	b.WriteString("}")
}

// decimals keeps metres to a hundredth of a millimetre and more.
const decimals = 7

func jsonValue(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "null"
		}
		s := strconv.FormatFloat(v, 'f', decimals, 64)
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
		if s == "-0" {
			return "0"
		}
		return s
	case int:
		return strconv.Itoa(v)
	case bool:
		return strconv.FormatBool(v)
	case string:
		return quoteJSON(v)
	}
	panic(fmt.Sprintf("no way to write a %T", v))
}

// quoteJSON quotes a string; strconv's escapes are Go's, not JSON's.
func quoteJSON(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func (w *Writer) writeGeometry(b *strings.Builder, g orb.Geometry) error {
	fmt.Fprintf(b, `{"type": %q, "coordinates": `, g.GeoJSONType())
	defer b.WriteString("}")
	switch g := g.(type) {
	case orb.Point:
		return w.writePoint(b, g)
	case orb.LineString:
		return w.writePoints(b, g)
	case orb.Polygon:
		return w.writeRings(b, g)
	case orb.MultiPolygon:
		b.WriteString("[")
		for i, p := range g {
			if i > 0 {
				b.WriteString(", ")
			}
			if err := w.writeRings(b, p); err != nil {
				return err
			}
		}
		b.WriteString("]")
		return nil
	}
	return fmt.Errorf("no way to write a %s", g.GeoJSONType())
}

func (w *Writer) writeRings(b *strings.Builder, p orb.Polygon) error {
	b.WriteString("[")
	for i, r := range p {
		if i > 0 {
			b.WriteString(", ")
		}
		// The right-hand rule: outer rings counter-clockwise, holes clockwise.
		r = append(orb.Ring(nil), r...)
		if want := orb.CCW; r.Orientation() != map[bool]orb.Orientation{true: want, false: -want}[i == 0] {
			r.Reverse()
		}
		if err := w.writePoints(b, orb.LineString(r)); err != nil {
			return err
		}
	}
	b.WriteString("]")
	return nil
}

func (w *Writer) writePoints(b *strings.Builder, list orb.LineString) error {
	b.WriteString("[")
	for i, p := range list {
		if i > 0 {
			b.WriteString(", ")
		}
		if err := w.writePoint(b, p); err != nil {
			return err
		}
	}
	b.WriteString("]")
	return nil
}

// writePoint writes ten decimals of a degree: a hundredth of a millimetre.
func (w *Writer) writePoint(b *strings.Builder, p orb.Point) error {
	q, err := w.mover.Move(p)
	if err != nil {
		return err
	}
	fmt.Fprintf(b, "[%.10f, %.10f]", q[0], q[1])
	return nil
}
