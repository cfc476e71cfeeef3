package vector

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
	"curbfall/io/spelling"
	"curbfall/io/units"
	"curbfall/routing/constraint"
)

// Lines is a site file as read, in its own coordinates.
type Lines struct {
	File     string
	System   *crs.System
	features []feature
}

// Read reads a site lines file: GeoJSON, or anything else OGR reads.
func Read(file string) (*Lines, error) {
	read := readOGR
	switch strings.ToLower(filepath.Ext(file)) {
	case ".geojson", ".json":
		read = readGeoJSON
	}
	features, system, err := read(file)
	if err != nil {
		return nil, err
	}
	if len(features) == 0 {
		return nil, &Error{file, "has no features; draw a lot, a roof and a curb at least"}
	}
	return &Lines{file, system, features}, nil
}

// Features writes the features as they were read, the same ones always alike: what
// tells one site from another where no file does.
func (l *Lines) Features(w io.Writer) error {
	for _, f := range l.features {
		if err := json.NewEncoder(w).Encode([]any{f.id, f.properties, f.geometry}); err != nil {
			return err
		}
	}
	return nil
}

// Middle returns the middle of all lines as longitude and latitude.
func (l *Lines) Middle() (orb.Point, error) {
	b := l.features[0].geometry.Bound()
	for _, f := range l.features[1:] {
		b = b.Union(f.geometry.Bound())
	}
	wgs, err := crs.WGS84()
	if err != nil {
		return orb.Point{}, err
	}
	m, err := crs.NewMover(l.System, wgs)
	if err != nil {
		return orb.Point{}, &Error{l.File, err.Error()}
	}
	defer m.Close()
	c := b.Center()
	p, err := m.Move(orb.Point{c[0] * l.System.MetresPerUnit, c[1] * l.System.MetresPerUnit})
	if err != nil {
		return p, &Error{l.File, err.Error()}
	}
	return p, nil
}

// Trunk is what is taken of trees' diameters, m.
type Trunk struct {
	Assumed float64 // of a tree without one
	Most    float64 // more is another unit's number, as a bare 14 for 14 in
}

// Site returns the lines in site metres. metresPerZ tells the raster's foot.
// Notices are things reported while the rest is still done.
func (l *Lines) Site(system *crs.System, metresPerZ float64, trunk Trunk) (*constraint.Site, []string, error) {
	mover, err := crs.NewMover(l.System, system)
	if err != nil {
		return nil, nil, &Error{l.File, err.Error()}
	}
	defer mover.Close()
	b := &builder{site: &constraint.Site{}, ids: map[string]bool{}, trunk: trunk}
	deep := 0
	for i := range l.features {
		f := l.features[i]
		if f.deep {
			deep++
		}
		if f.geometry, err = moved(mover, f.geometry, l.System.MetresPerUnit); err != nil {
			return nil, nil, &Error{l.File, fmt.Sprintf("%s: %v", f.name(), err)}
		}
		if err := b.add(newReader(&f, footOf(metresPerZ))); err != nil {
			return nil, nil, &Error{l.File, err.Error()}
		}
	}
	b.tellApart()
	if deep > 0 {
		b.notice("%s with a third coordinate: it is not used, levels come from the raster and from properties", units.Counted(deep, "feature"))
	}
	if len(b.site.Lots) == 0 {
		return nil, nil, &Error{l.File, "has no lot; draw its outline as a Polygon of kind lot"}
	}
	return b.site, b.notices, nil
}

// drawnTo is what lines are drawn to, m: longitudes and latitudes are written to a
// tenth of a millimetre or so, and the same lot in two files is the same lot.
const drawnTo = 0.25e-3

func moved(m *crs.Mover, g orb.Geometry, unit float64) (orb.Geometry, error) {
	one := func(p orb.Point) (orb.Point, error) {
		q, err := m.Move(orb.Point{p[0] * unit, p[1] * unit})
		return orb.Point{math.Round(q[0]/drawnTo) * drawnTo, math.Round(q[1]/drawnTo) * drawnTo}, err
	}
	several := func(list []orb.Point) ([]orb.Point, error) {
		out := make([]orb.Point, len(list))
		for i, p := range list {
			q, err := one(p)
			if err != nil {
				return nil, err
			}
			out[i] = q
		}
		return out, nil
	}
	switch g := g.(type) {
	case orb.Point:
		return one(g)
	case orb.LineString:
		out, err := several(g)
		return orb.LineString(out), err
	case orb.Polygon:
		var p orb.Polygon
		for _, r := range g {
			out, err := several(r)
			if err != nil {
				return nil, err
			}
			p = append(p, out)
		}
		return p, nil
	}
	return nil, fmt.Errorf("geometry %s", g.GeoJSONType())
}

// hidden tells whether a text holds what a terminal or a table takes for a command.
func hidden(text string) bool {
	return strings.ContainsFunc(text, func(c rune) bool { return unicode.In(c, unicode.Cc, unicode.Zl, unicode.Zp) })
}

// builder fills a site feature by feature.
type builder struct {
	site    *constraint.Site
	ids     map[string]bool
	trunk   Trunk
	notices []string
}

func (b *builder) notice(format string, args ...any) {
	b.notices = append(b.notices, oneLine(fmt.Sprintf(format, args...)))
}

// shapes are the geometry each kind wants.
var shapes = map[string]string{
	"lot": "Polygon", "roof": "Polygon", "curb": "LineString", "downspout": "Point", "inlet": "Point",
	"channel_drain": "LineString", "outlet": "Point", "walk": "Polygon", "driveway": "Polygon", "patio": "Polygon",
	"tree": "Point", "utility": "LineString", "keep_out": "Polygon", "easement": "Polygon",
	"building_opening": "Point", "culvert": "LineString",
}

// later are known kinds that nothing uses yet.
var later = map[string]bool{"shot": true, "benchmark": true, "planned_pipe": true, "existing_pipe": true}

func (b *builder) add(r *reader) error {
	want, ok := shapes[r.kind]
	if later[r.kind] {
		b.notice("%s is %s, which nothing uses yet: left out", r.name(), article(r.kind))
		return nil
	}
	if !ok {
		switch kind := r.properties["kind"].(type) {
		case nil:
			b.notice("%s has no kind: left out", r.name())
		case string:
			b.notice("%s has kind %q, which is not known: left out%s", r.name(), brief(kind), meant(kind))
		default:
			b.notice("%s has kind %s, which is no text: left out", r.name(), quote(kind))
		}
		return nil
	}
	if got := r.geometry.GeoJSONType(); got != want {
		return fmt.Errorf("%s is %s drawn as %s, want %s", r.name(), article(r.kind), got, want)
	}
	if r.id == "" {
		r.id = fmt.Sprintf("%s-%d", r.kind, r.index)
		b.notice("%s (feature number %d) has no id: called %s", article(r.kind), r.index, r.id)
	}
	if hidden(r.id) {
		return fmt.Errorf("%s (feature number %d) has an id with a control character in it, such as a line break; take it out", r.kind, r.index)
	}
	if key := r.kind + " " + r.id; b.ids[key] {
		return fmt.Errorf("two features of kind %s have the id %q; give each its own", r.kind, brief(r.id))
	} else {
		b.ids[key] = true
	}
	switch g := r.geometry.(type) {
	case orb.Point:
		b.point(r, g)
	case orb.LineString:
		b.line(r, g)
	case orb.Polygon:
		b.area(r, g)
	}
	if r.err != nil {
		return r.err
	}
	for _, k := range r.unknown() {
		b.notice("%s (%s): property %q is not known: not used", brief(r.id), r.kind, brief(k))
	}
	return nil
}

// slips is how many letters of a word may be wrong for it to be recognized; of a
// short one, half.
const slips = 3

// meant names, after a sentence, the known kind that another was likely meant to be.
func meant(kind string) string {
	known := append(slices.Sorted(maps.Keys(shapes)), slices.Sorted(maps.Keys(later))...)
	blanks := strings.NewReplacer(" ", "_", "-", "_")
	if near, changed := spelling.Nearest(blanks.Replace(kind), known); changed <= min(len(near)/2, slips) {
		return "; the nearest known one is " + near
	}
	return ""
}

func (b *builder) area(r *reader, p orb.Polygon) {
	s := b.site
	switch r.kind {
	case "lot":
		s.Lots = append(s.Lots, constraint.Lot{ID: r.id, Area: p})
	case "roof":
		s.Roofs = append(s.Roofs, constraint.Roof{ID: r.id, Outline: p, RunoffCoeff: r.share("runoff_coeff"), FinishedFloor: r.elevation("finished_floor")})
	case "walk", "driveway", "patio":
		s.Paved = append(s.Paved, constraint.Paved{ID: r.id, Kind: constraint.PavedKind(r.kind), Area: p, Thickness: r.length("thickness"), CoverMin: r.length("cover_min"),
			Gravel: r.word("surface", "paved", "gravel") == "gravel"})
	case "keep_out":
		s.KeepOuts = append(s.KeepOuts, constraint.KeepOut{ID: r.id, Area: p})
	case "easement":
		s.Easements = append(s.Easements, constraint.Easement{ID: r.id, Area: p, Forbid: r.word("rule", "ask", "forbid") == "forbid"})
	}
}

func (b *builder) line(r *reader, l orb.LineString) {
	s := b.site
	drawn := l
	l = slices.Compact(slices.Clone(l)) // a position drawn twice is one
	if len(l) < 2 {
		r.fail("its positions are all the same; draw a line")
		return
	}
	switch r.kind {
	case "curb":
		c := constraint.Curb{ID: r.id, Line: l, Type: constraint.CurbType(r.word("type", "vertical", "rolled", "edge_of_pavement")),
			Gutter: atVertices(r.elevations("gutter_elevation", len(drawn)), drawn), Height: r.length("curb_height")}
		if c.Type == "" {
			c.Type, c.TypeAssumed = constraint.VerticalCurb, true
		}
		switch r.word("street_side", "left", "right") {
		case "left":
			c.StreetSide = constraint.Left
		case "right":
			c.StreetSide = constraint.Right
		}
		s.Curbs = append(s.Curbs, c)
	case "channel_drain":
		s.ChannelDrains = append(s.ChannelDrains, constraint.ChannelDrain{ID: r.id, Line: l, Rim: r.elevation("rim")})
	case "utility":
		u := constraint.Utility{ID: r.id, Type: r.word("type"), Line: l, Top: r.elevation("top"), Depth: r.length("depth"),
			OutsideDiameter: r.length("outside_diameter"), Clearance: r.length("clearance")}
		if constraint.Given(u.Top) && constraint.Given(u.Depth) {
			r.fail("top and depth are both given; keep one")
		}
		if !constraint.Given(u.OutsideDiameter) && (constraint.Given(u.Top) || constraint.Given(u.Depth)) {
			b.notice("utility %s has no outside_diameter: taken as a thin line", r.id)
		}
		s.Utilities = append(s.Utilities, u)
	case "culvert":
		s.Culverts = append(s.Culverts, constraint.Culvert{ID: r.id, Line: l})
	}
}

// tellApart calls those of several kinds that have one id otherwise, all but the
// first: they are nodes, and pipes name their ends by id.
func (b *builder) tellApart() {
	type node struct {
		kind string
		id   *string
	}
	var nodes []node
	s := b.site
	for k := range s.Downspouts {
		nodes = append(nodes, node{"downspout", &s.Downspouts[k].ID})
	}
	for k := range s.Inlets {
		nodes = append(nodes, node{"inlet", &s.Inlets[k].ID})
	}
	for k := range s.ChannelDrains {
		nodes = append(nodes, node{"channel_drain", &s.ChannelDrains[k].ID})
	}
	for k := range s.Outlets {
		nodes = append(nodes, node{"outlet", &s.Outlets[k].ID})
	}
	taken, first := map[string]bool{}, map[string]string{}
	for _, n := range nodes {
		taken[*n.id] = true
	}
	for _, n := range nodes {
		id := *n.id
		if kind, twice := first[id]; twice {
			for taken[*n.id] {
				*n.id = n.kind + "-" + *n.id
			}
			b.notice("%s %s has the id of %s: called %s, since pipes name their ends by it", n.kind, id, article(kind), *n.id)
			taken[*n.id] = true
			continue
		}
		first[id] = n.kind
	}
}

// atVertices drops the levels of positions drawn twice.
func atVertices(levels []float64, drawn orb.LineString) []float64 {
	if len(levels) < 2 {
		return levels
	}
	var kept []float64
	for i, v := range levels {
		if i == 0 || drawn[i] != drawn[i-1] {
			kept = append(kept, v)
		}
	}
	return kept
}

func (b *builder) point(r *reader, p orb.Point) {
	s := b.site
	switch r.kind {
	case "downspout":
		s.Downspouts = append(s.Downspouts, constraint.Downspout{ID: r.id, At: p, Roof: r.word("roof"), Share: r.share("share")})
	case "inlet":
		s.Inlets = append(s.Inlets, constraint.Inlet{ID: r.id, At: p, Rim: r.elevation("rim"), GrateOpenArea: r.area("grate_open_area"), GratePerimeter: r.length("perimeter")})
	case "outlet":
		o := constraint.Outlet{ID: r.id, At: p, Type: constraint.OutletType(r.word("type", "curb_face", "emitter", "daylight", "storm_inlet")), Invert: r.elevation("invert")}
		if o.Type == "" {
			o.Type = constraint.CurbFace
			b.notice("outlet %s has no type: taken as curb_face", r.id)
		}
		s.Outlets = append(s.Outlets, o)
	case "tree":
		t := constraint.Tree{ID: r.id, At: p, TrunkDiameter: r.lengthUpTo("trunk_diameter", b.trunk.Most)}
		if t.TrunkDiameter == 0 {
			r.fail("%s: no trunk; give its diameter, or leave it out to have one assumed", r.written("trunk_diameter"))
		}
		if !constraint.Given(t.TrunkDiameter) {
			t.TrunkDiameter, t.Assumed = b.trunk.Assumed, true
		}
		s.Trees = append(s.Trees, t)
	case "building_opening":
		o := constraint.Opening{ID: r.id, At: p, Elevation: r.elevation("elevation"), Height: r.length("height")}
		if constraint.Given(o.Elevation) == constraint.Given(o.Height) {
			r.fail("wants an elevation, or a height above ground; one of the two")
		}
		s.Openings = append(s.Openings, o)
	}
}
