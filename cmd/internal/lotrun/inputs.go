package lotrun

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/atlas"
	"curbfall/io/criteria"
	"curbfall/io/raster"
	"curbfall/io/report"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/grid"
)

// Inputs names what is read.
type Inputs struct {
	DEM          string
	Site         string // may be empty for Terrain
	Lot          string // id; may be empty where the site has one lot
	VerticalUnit string // m, us-ft, ft, or empty
	Criteria     string // file, or empty: the shipped ones
}

// given is everything read and judged, ready to be designed on.
type given struct {
	in       Inputs
	criteria design.Criteria
	dem      *raster.Dataset
	header   int // of the raster's notices, those that its header gave rise to
	window   *raster.Window
	ground   *grid.Grid // the window with its closed voids filled
	voids    []grid.Void
	lines    *vector.Lines // as read
	site     *constraint.Site
	lot      int
	notes    []string
	rainfall *atlas.Table // nil where none is given
}

// anyLot asks for no lot more than for another; no feature can have this id.
const anyLot = "\x00any"

// margin is how much ground is read beyond the lot at first, m, and drawn: enough
// for the curb, its gutter, and the water that comes from next door.
const margin = 40

// read reads and judges the inputs of one lot.
func read(in Inputs) (*given, error) {
	g := &given{in: in}
	if err := g.readAll(); err != nil {
		g.close()
		return nil, asInput(err)
	}
	return g, nil
}

func (g *given) readAll() (err error) {
	if err := g.readCriteria(); err != nil {
		return err
	}
	if g.dem, err = raster.Open(g.in.DEM, g.in.VerticalUnit); err != nil {
		return err
	}
	lines, err := vector.Read(g.in.Site)
	if err != nil {
		return err
	}
	g.lines = lines
	middle, err := lines.Middle()
	if err != nil {
		return err
	}
	if lines.System.Geographic && !g.dem.Holds(middle[0], middle[1]) && g.dem.Holds(middle[1], middle[0]) {
		return &InputError{fmt.Sprintf("%s: lies round longitude %.3f, latitude %.3f, outside the raster, and inside it the other way round; are longitude and latitude swapped? write longitude first", g.in.Site, middle[0], middle[1])}
	}
	if err := g.dem.SetSite(middle[0], middle[1]); err != nil {
		return err
	}
	if err := g.dem.NoteStretch(middle[0], middle[1]); err != nil {
		return err
	}
	g.header = len(g.dem.Notices)
	limits := &g.criteria.Limits
	site, notices, err := lines.Site(g.dem.Site, g.dem.MetresPerZ, vector.Trunk{Assumed: limits.TrunkDiameterAssumed, Most: limits.TrunkDiameterMax})
	if err != nil {
		return err
	}
	g.site, g.notes = site, append(g.notes, notices...)
	if err := g.pickLot(); err != nil {
		return err
	}
	if err := g.wholeLot(); err != nil {
		return err
	}
	if err := g.readGround(margin); err != nil {
		return err
	}
	low, high := g.ground.Range()
	if err := vector.CheckElevations(g.in.Site, near(site, g.site.Lots[g.lot]), low, high, limits.ElevationWindow); err != nil {
		return err
	}
	g.suspectModel()
	g.notes = append(g.notes, site.Odd(g.ground, g.criteria.Limits, g.judged())...)
	return nil
}

// readCriteria reads the criteria, and the rainfall table they name.
func (g *given) readCriteria() (err error) {
	g.criteria = criteria.Default()
	if g.in.Criteria != "" {
		if g.criteria, g.notes, err = criteria.Load(g.in.Criteria); err != nil {
			return err
		}
	}
	return g.readRainfall()
}

// judged lists the lots asked about, all of them where none is.
func (g *given) judged() []int {
	if g.in.Lot != anyLot {
		return []int{g.lot}
	}
	all := make([]int, len(g.site.Lots))
	for k := range all {
		all[k] = k
	}
	return all
}

// readGround reads the ground within so many metres of the lots. What was odd
// about an earlier, smaller window is said of this one alone.
func (g *given) readGround(reach float64) (err error) {
	g.dem.Notices = g.dem.Notices[:g.header]
	for _, l := range g.asked() {
		if err := g.dem.Covers(l.Area.Bound(), "lot "+l.ID); err != nil {
			return err
		}
	}
	if g.window, err = g.dem.Read(g.bound(), reach); err != nil {
		return err
	}
	g.voids = g.window.Voids()
	g.ground = g.window.FillVoids(g.voids)
	return nil
}

// asked are the lot asked about, or all lots where none is.
func (g *given) asked() []constraint.Lot {
	if g.in.Lot == anyLot {
		return g.site.Lots
	}
	return g.site.Lots[g.lot : g.lot+1]
}

// bound is the box of the lots asked about.
func (g *given) bound() orb.Bound {
	b := g.site.Lots[g.lot].Area.Bound()
	for _, l := range g.asked() {
		b = b.Union(l.Area.Bound())
	}
	return b
}

// near keeps the lines whose levels the window can judge: those of other lots
// far off may stand on other ground.
func near(s *constraint.Site, lot constraint.Lot) *constraint.Site {
	box := lot.Area.Bound().Pad(margin)
	n := *s
	n.Curbs = slices.DeleteFunc(slices.Clone(s.Curbs), func(c constraint.Curb) bool { return !c.Line.Bound().Intersects(box) })
	n.Roofs = slices.DeleteFunc(slices.Clone(s.Roofs), func(r constraint.Roof) bool { return !r.Outline.Bound().Intersects(box) })
	n.Inlets = slices.DeleteFunc(slices.Clone(s.Inlets), func(i constraint.Inlet) bool { return !box.Contains(i.At) })
	n.Outlets = slices.DeleteFunc(slices.Clone(s.Outlets), func(o constraint.Outlet) bool { return !box.Contains(o.At) })
	n.Utilities = slices.DeleteFunc(slices.Clone(s.Utilities), func(u constraint.Utility) bool { return !u.Line.Bound().Intersects(box) })
	n.Openings = slices.DeleteFunc(slices.Clone(s.Openings), func(o constraint.Opening) bool { return !box.Contains(o.At) })
	return &n
}

func (g *given) pickLot() error {
	ids := make([]string, len(g.site.Lots))
	for i, l := range g.site.Lots {
		ids[i] = l.ID
	}
	if g.in.Lot == anyLot {
		return nil
	}
	if g.in.Lot == "" {
		if len(ids) > 1 {
			return &InputError{fmt.Sprintf("%s: has %d lots; choose one with --lot: %s", g.in.Site, len(ids), strings.Join(ids, ", "))}
		}
		return nil
	}
	g.lot = slices.Index(ids, g.in.Lot)
	if g.lot < 0 {
		return &InputError{fmt.Sprintf("%s: has no lot %q; it has: %s", g.in.Site, g.in.Lot, strings.Join(ids, ", "))}
	}
	return nil
}

// wholeLot refuses a lot asked about that has a hole: its setback, and the water over
// its line, are the outline's alone. Where all lots are looked at it is said, and of
// other lots no more than their area is asked.
func (g *given) wholeLot() error {
	for _, k := range g.judged() {
		l := &g.site.Lots[k]
		if len(l.Area) < 2 {
			continue
		}
		says := fmt.Sprintf("lot %s has a hole in it, which no lot to be designed can have: draw its outline alone, and what lies in the hole as keep_out", l.ID)
		if len(g.site.Lots) == 1 || g.in.Lot != anyLot {
			return &InputError{g.in.Site + ": " + says}
		}
		g.notes = append(g.notes, says)
	}
	return nil
}

func (g *given) close() {
	if g.dem != nil {
		g.dem.Close()
	}
}

// asInput turns an error of a reader into unusable input.
func asInput(err error) error {
	var r *raster.Error
	var v *vector.Error
	var c *criteria.Error
	var t *atlas.Error
	var i *InputError
	switch {
	case errors.As(err, &i):
		return i
	case errors.As(err, &t):
		return &InputError{err.Error()}
	case errors.As(err, &r), errors.As(err, &v), errors.As(err, &c):
		return &InputError{err.Error()}
	}
	return err
}

// digest names an input with the hash of its bytes; for one that is no local
// file, of what was read of it. read is nil for what is always a file.
func digest(path string, read func(io.Writer) error) (report.Input, error) {
	h := sha256.New()
	err := copyFile(h, path)
	if info, missing := os.Stat(path); read != nil && (missing != nil || info.IsDir()) {
		h.Reset()
		err = read(h)
	}
	return report.Input{Path: path, SHA256: hex.EncodeToString(h.Sum(nil))}, err
}

func copyFile(w io.Writer, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	_, err = io.Copy(w, f)
	return err
}

// elevations writes the elevations of the window, or of the whole of a raster
// too large to be looked at so.
func (g *given) elevations(ctx context.Context) func(io.Writer) error {
	if g.window != nil {
		return func(w io.Writer) error { return binary.Write(w, binary.LittleEndian, g.window.Z) }
	}
	return func(w io.Writer) error {
		defer func(said []string) { g.dem.Notices = said }(g.dem.Notices) // they have been heard
		b, err := g.dem.Banded(alignedRows)
		if err != nil {
			return err
		}
		return g.dem.ReadBands(ctx, b, rowsTo{w})
	}
}

// rowsTo writes rows one after the other.
type rowsTo struct{ to io.Writer }

// WriteRows writes rows that follow those before.
func (r rowsTo) WriteRows(_ int, from []float32) error {
	return binary.Write(r.to, binary.LittleEndian, from)
}

// digests names every input; one that lies in the folder in the making by
// where it will be.
func (g *given) digests(ctx context.Context, f *folder) ([]report.Input, error) {
	dem, err := digest(g.in.DEM, g.elevations(ctx))
	if err != nil {
		return nil, err
	}
	list := []report.Input{dem}
	for _, path := range []string{g.in.Site, g.in.Criteria, g.rainfallFile()} {
		if path == "" {
			continue
		}
		var read func(io.Writer) error
		if path == g.in.Site { // a folder or an archive too
			read = g.lines.Features
		}
		d, err := digest(path, read)
		if err != nil {
			return nil, err
		}
		list = append(list, d)
	}
	for i := range list {
		if rest, ok := strings.CutPrefix(list[i].Path, f.making); ok {
			list[i].Path = f.target + rest
		}
	}
	return list, nil
}
