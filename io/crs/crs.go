// Package crs knows coordinate systems: metres per unit, the vertical unit
// where one is declared, and the way between longitude and latitude and site
// metres.
//
//	raster in metres or feet   site metres = its coordinates in metres
//	raster in degrees          site metres = the UTM zone of the site
package crs

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
)

// System is a coordinate system.
type System struct {
	ref *godal.SpatialRef
	// Name is what the system calls itself.
	Name string
	// WKT is the system in full.
	WKT string
	// Geographic tells that coordinates are degrees.
	Geographic bool
	// MetresPerUnit is the length of one horizontal unit; 1 for degrees.
	MetresPerUnit float64
	// MetresPerVertical is the length of one vertical unit, NaN where the system
	// has no vertical part.
	MetresPerVertical float64
}

// written are the ways a system may be written: WKT, or EPSG codes with a
// vertical one behind a plus. PROJ would take addresses and file names too, and
// go and fetch them.
var written = regexp.MustCompile(`^\s*[A-Z_]+\s*\[|^EPSG:\d+(\+\d+)?$`)

// named is how much of a text an error repeats, characters.
const named = 60

// Parse returns the system written as WKT, "EPSG:26917" or "EPSG:26917+5703".
// Anything else, an unknown code, or a system that is neither geographic nor
// projected is an error of one line.
func Parse(text string) (*System, error) {
	short := []rune(strings.Join(strings.Fields(text), " "))
	short = short[:min(len(short), named)]
	if !written.MatchString(text) {
		return nil, fmt.Errorf("unknown coordinate system %q", string(short))
	}
	ref, err := godal.NewSpatialRef(text)
	if err != nil {
		return nil, fmt.Errorf("unknown coordinate system %q", string(short))
	}
	return newSystem(ref)
}

func newSystem(ref *godal.SpatialRef) (*System, error) {
	wkt, err := ref.WKT()
	if err != nil || wkt == "" {
		return nil, fmt.Errorf("coordinate system without a definition")
	}
	s := &System{ref: ref, WKT: wkt, Geographic: ref.Geographic(), MetresPerUnit: 1, MetresPerVertical: math.NaN()}
	for _, node := range []string{"COMPD_CS", "PROJCS", "GEOGCS", "LOCAL_CS"} {
		if name, ok := ref.AttrValue(node, 0); ok {
			s.Name = name
			break
		}
	}
	if !s.Geographic {
		if !ref.Projected() {
			return nil, fmt.Errorf("coordinate system %q is neither geographic nor projected", s.Name)
		}
		if s.MetresPerUnit, err = number(ref, "PROJCS|UNIT"); err != nil {
			return nil, fmt.Errorf("coordinate system %q: %w", s.Name, err)
		}
	}
	if _, ok := ref.AttrValue("VERT_CS", 0); ok {
		if s.MetresPerVertical, err = number(ref, "VERT_CS|UNIT"); err != nil {
			return nil, fmt.Errorf("coordinate system %q, vertical part: %w", s.Name, err)
		}
	}
	return s, nil
}

func number(ref *godal.SpatialRef, node string) (float64, error) {
	text, ok := ref.AttrValue(node, 1)
	if !ok {
		return 0, fmt.Errorf("no %s", node)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v > 0) {
		return 0, fmt.Errorf("%s is %q, not a length", node, text)
	}
	return v, nil
}

// UTM returns the UTM zone of a place given in degrees, on the datum of the
// system: NAD83 and ETRS89 keep theirs, anything else is taken on WGS 84.
func (s *System) UTM(lon, lat float64) (*System, error) {
	zone := min(60, int(math.Floor((lon+180)/6))+1)
	datum, _ := s.ref.AttrValue("GEOGCS", 0)
	base := 32600
	switch {
	case lat < 0:
		base = 32700
	case strings.HasPrefix(datum, "NAD83") && zone <= 23:
		base = 26900
	case strings.HasPrefix(datum, "ETRS89") && zone >= 28 && zone <= 38:
		base = 25800
	}
	return Parse(fmt.Sprintf("EPSG:%d", base+zone))
}

// Mover carries points from one system to another. It serves one goroutine.
type Mover struct {
	transform *godal.Transform
	from, to  *System
}

// NewMover returns the way from one system to another. Points are in metres
// for projected systems, whatever their unit, and degrees of longitude and
// latitude for geographic ones.
func NewMover(from, to *System) (*Mover, error) {
	t, err := godal.NewTransform(from.ref, to.ref)
	if err != nil {
		return nil, fmt.Errorf("no way from %s to %s: %w", from.Name, to.Name, err)
	}
	return &Mover{t, from, to}, nil
}

// Close releases the mover.
func (m *Mover) Close() { m.transform.Close() }

// Move returns the point in the other system.
func (m *Mover) Move(p orb.Point) (orb.Point, error) {
	x, y := []float64{p[0] / m.from.MetresPerUnit}, []float64{p[1] / m.from.MetresPerUnit}
	if err := m.transform.TransformEx(x, y, nil, nil); err != nil || math.IsInf(x[0], 0) || math.IsNaN(x[0]+y[0]) {
		return orb.Point{}, fmt.Errorf("%v lies outside what %s covers", p, m.to.Name)
	}
	return orb.Point{x[0] * m.to.MetresPerUnit, y[0] * m.to.MetresPerUnit}, nil
}

// WGS84 is longitude and latitude as RFC 7946 has them.
func WGS84() (*System, error) { return Parse("EPSG:4326") }
