package raster

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
	"curbfall/terrain/grid"
)

// Window is the part of a raster that was read.
type Window struct {
	*grid.Grid
	Col, Row int             // of the grid's first cell in the raster, row from the north
	Whole    bool            // all of the raster
	untagged map[float64]int // cells by a value taken as no data
}

// untagged are values that mean no data in rasters that do not say so; common
// practice, no source.
var untagged = []float64{-9999, -99999, -999999, -32768, -32767}

// highestUntagged is the highest of them.
var highestUntagged = slices.Max(untagged)

// hugeElevation is beyond any elevation, m: the 3.4e38 of a missing tag.
const hugeElevation = 1e30

// Read reads the cells within margin metres of a box of site metres. The box
// must lie in the raster; the margin is cut at its edge. Where ground is
// unknown at a side of the window that is not the raster's own, the window is
// made larger: the unknown patch may be closed further out.
func (d *Dataset) Read(box orb.Bound, margin float64) (*Window, error) {
	part, err := d.part(box, margin)
	if err != nil {
		return nil, err
	}
	if err := d.covers(part.frame, box, "the site"); err != nil {
		return nil, err
	}
	for {
		w, err := d.readPart(part)
		if err != nil {
			return nil, err
		}
		cut := d.cutVoids(w)
		if cut == 0 {
			d.countUntagged(w.untagged)
			return w, nil
		}
		margin *= 2
		if part, err = d.part(box, margin); err != nil || part.cols*part.rows > growMost {
			d.notice("%s: ground unknown at %d places reaches beyond the window read and was left unknown; whether known ground closes it further out was not looked for", d.Path, cut)
			d.countUntagged(w.untagged)
			return w, nil
		}
	}
}

// Covers refuses a box of site metres that does not lie in the raster, by the name
// of what it is the box of.
func (d *Dataset) Covers(box orb.Bound, name string) error {
	part, err := d.part(box, 0)
	if err != nil {
		return err
	}
	return d.covers(part.frame, box, name)
}

func (d *Dataset) covers(frame grid.Frame, box orb.Bound, name string) error {
	c0, r0, c1, r1 := cells(frame, box)
	east, south := float64(d.Cols-1), float64(d.Rows-1)
	if c1 < 0 || r1 < 0 || c0 > east || r0 > south {
		return d.errorf("%s lies outside the raster; check the coordinate systems of both, or give a raster that covers it", name)
	}
	var beyond []string
	for _, side := range []struct {
		edge        string
		cells, cell float64 // beyond the outermost centres; m
	}{{"west", -c0, frame.CellX}, {"east", c1 - east, frame.CellX}, {"north", -r0, frame.CellY}, {"south", r1 - south, frame.CellY}} {
		if side.cells > beyondCentre {
			beyond = append(beyond, fmt.Sprintf("%s beyond the %s edge", metres((side.cells-0.5)*side.cell), side.edge))
		}
	}
	if len(beyond) > 0 {
		return d.errorf("covers only part of %s, which reaches %s; give a raster that covers all of the lot", name, strings.Join(beyond, " and "))
	}
	return nil
}

// metres is a length as people read it, a senseless one short.
func metres(m float64) string {
	const senseless = 1e6
	if m < senseless {
		return fmt.Sprintf("%.1f m", m)
	}
	return fmt.Sprintf("%.3g m", m)
}

// beyondCentre is how far a site may reach beyond the outermost cell centres, in
// cells: to the raster's edge, and a rounding more. The ground there is unknown.
const beyondCentre = 0.5 + 1e-6

// growMost is the size up to which a window grows for a void it cuts, cells:
// 480 MB while it is read.
const growMost = 40e6

// part is a range of the raster's cells, row from the north.
type part struct {
	frame                grid.Frame // of the whole raster's cells
	col, row, cols, rows int
}

// part returns the cells within margin metres of a box, as far as the raster
// goes.
func (d *Dataset) part(box orb.Bound, margin float64) (part, error) {
	if d.Site == nil {
		return part{}, d.errorf("is in degrees and no site is settled; give the site lines")
	}
	box = box.Pad(margin)
	frame, err := d.frame(box)
	if err != nil {
		return part{}, err
	}
	c0, r0, c1, r1 := cells(frame, box)
	p := part{frame: frame, col: max(0, int(math.Floor(c0))), row: max(0, int(math.Floor(r0)))}
	p.cols, p.rows = min(d.Cols, int(math.Ceil(c1))+1)-p.col, min(d.Rows, int(math.Ceil(r1))+1)-p.row
	return p, nil
}

// cutVoids counts the window's voids that reach a side of it that is not the
// raster's own, but no side that is: those may be closed all the same.
func (d *Dataset) cutVoids(w *Window) (cut int) {
	if w.Whole {
		return 0
	}
	for _, v := range w.Voids() {
		if !v.Open {
			continue
		}
		inside, own := false, false
		for _, i := range v.Cells {
			if c, r := w.Cell(i); c == 0 || r == 0 || c == w.Cols-1 || r == w.Rows-1 {
				more := d.More(w, i)
				inside, own = inside || more, own || !more
			}
		}
		if inside && !own {
			cut++
		}
	}
	return cut
}

// More tells whether a cell of a window lies at a side of it beyond which the
// raster goes on.
func (d *Dataset) More(w *Window, cell int) bool {
	c, r := w.Cell(cell)
	return c == 0 && w.Col > 0 || r == 0 && w.Row > 0 ||
		c == w.Cols-1 && w.Col+w.Cols < d.Cols || r == w.Rows-1 && w.Row+w.Rows < d.Rows
}

// Cells is how many cells lie within margin metres of a box of site metres.
func (d *Dataset) Cells(box orb.Bound, margin float64) (int, error) {
	p, err := d.part(box, margin)
	return p.cols * p.rows, err
}

// ReadAll reads the whole raster.
func (d *Dataset) ReadAll() (*Window, error) {
	all, err := d.whole()
	if err != nil {
		return nil, err
	}
	w, err := d.readPart(all)
	if err != nil {
		return nil, err
	}
	d.countUntagged(w.untagged)
	return w, nil
}

// whole is all of the raster.
func (d *Dataset) whole() (part, error) {
	if d.Site == nil {
		if err := d.SetSite(d.Middle()[0], d.Middle()[1]); err != nil {
			return part{}, err
		}
	}
	box, err := d.bound()
	if err != nil {
		return part{}, err
	}
	frame, err := d.frame(box)
	return part{frame, 0, 0, d.Cols, d.Rows}, err
}

// Banded is the whole raster, to be worked on in bands of some rows.
func (d *Dataset) Banded(height int) (*grid.Banded, error) {
	all, err := d.whole()
	return &grid.Banded{Frame: all.frame, Cols: d.Cols, Rows: d.Rows, Height: height}, err
}

// ReadBands reads the whole raster band by band into rows kept elsewhere.
func (d *Dataset) ReadBands(ctx context.Context, b *grid.Banded, into grid.RowWriter[float32]) error {
	known, untagged := 0, map[float64]int{}
	for _, band := range b.Bands() {
		if err := ctx.Err(); err != nil {
			return err
		}
		g, n, err := d.readCells(part{b.Frame, 0, band.First, d.Cols, band.End - band.First}, untagged)
		if err != nil {
			return err
		}
		known += n
		if err := into.WriteRows(band.First, g.Z); err != nil {
			return err
		}
	}
	if known == 0 {
		return d.allUnknown(b.Cols * b.Rows)
	}
	d.countUntagged(untagged)
	return nil
}

// own is the raster's box in its own coordinates, degrees or metres.
func (d *Dataset) own() orb.Bound {
	m := d.System.MetresPerUnit
	x0, y0 := d.gt[0]*m, d.gt[3]*m
	return orb.MultiPoint{{x0, y0}, {x0 + d.gt[1]*float64(d.Cols)*m, y0 + d.gt[5]*float64(d.Rows)*m}}.Bound()
}

// Holds tells whether a place given by longitude and latitude lies in the raster's
// box.
func (d *Dataset) Holds(lon, lat float64) bool {
	m, err := fromLonLat(d.System)
	if err != nil {
		return false
	}
	defer m.Close()
	p, err := m.Move(orb.Point{lon, lat})
	return err == nil && d.own().Contains(p)
}

// fromLonLat moves longitude and latitude to a system.
func fromLonLat(to *crs.System) (*crs.Mover, error) {
	wgs, err := crs.WGS84()
	if err != nil {
		return nil, err
	}
	return crs.NewMover(wgs, to)
}

// bound is the raster's box in site metres.
func (d *Dataset) bound() (orb.Bound, error) {
	box := d.own()
	if !d.System.Geographic {
		return box, nil
	}
	mover, err := crs.NewMover(d.System, d.Site)
	if err != nil {
		return box, d.errorf("%v", err)
	}
	defer mover.Close()
	var corners orb.MultiPoint
	for _, p := range [4]orb.Point{box.Min, box.Max, {box.Min[0], box.Max[1]}, {box.Max[0], box.Min[1]}} {
		q, err := mover.Move(p)
		if err != nil {
			return box, d.errorf("%v", err)
		}
		corners = append(corners, q)
	}
	return corners.Bound(), nil
}

// cells is the range of continuous cells a box of site metres takes.
func cells(f grid.Frame, box orb.Bound) (c0, r0, c1, r1 float64) {
	c0, r0, c1, r1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range [4]orb.Point{box.Min, box.Max, {box.Min[0], box.Max[1]}, {box.Max[0], box.Min[1]}} {
		c, r := f.ToCell(p[0], p[1])
		c0, c1, r0, r1 = math.Min(c0, c), math.Max(c1, c), math.Min(r0, r), math.Max(r1, r)
	}
	return c0, r0, c1, r1
}

// north is the raster's north edge and its cell height, positive southward, in
// its own units.
func (d *Dataset) north() (y, cell float64) {
	if d.gt[5] < 0 {
		return d.gt[3], -d.gt[5]
	}
	return d.gt[3] + d.gt[5]*float64(d.Rows), d.gt[5]
}

// frame maps site metres to the whole raster's cells, row 0 northernmost.
func (d *Dataset) frame(box orb.Bound) (grid.Frame, error) {
	north, height := d.north()
	m := d.System.MetresPerUnit
	if !d.System.Geographic {
		f := grid.NewFrame((d.gt[0]+d.gt[1]/2)*m, (north-height/2)*m, d.gt[1]*m, height*m)
		f.MetresPerZ, f.CRS = d.MetresPerZ, d.Site.WKT
		return f, nil
	}
	f := grid.Frame{MetresPerZ: d.MetresPerZ, CRS: d.Site.WKT}
	mover, err := crs.NewMover(d.Site, d.System)
	if err != nil {
		return f, d.errorf("%v", err)
	}
	defer mover.Close()
	err = d.fit(&f, mover, box, north, height)
	return f, err
}

// readPart reads a range of cells, some of which must be known.
func (d *Dataset) readPart(p part) (*Window, error) {
	untagged := map[float64]int{}
	g, known, err := d.readCells(p, untagged)
	if err != nil {
		return nil, err
	}
	if known == 0 {
		return nil, d.allUnknown(p.cols * p.rows)
	}
	return &Window{Grid: g, Col: p.col, Row: p.row, Whole: p.cols == d.Cols && p.rows == d.Rows, untagged: untagged}, nil
}

func (d *Dataset) allUnknown(cells int) error {
	return d.errorf("has no elevation in the window read: all %d cells are nodata; give a raster with data there", cells)
}

// rowsAtOnce is how many rows are read at once, in the wide numbers they are
// judged in.
const rowsAtOnce = tileRows

// readCells reads a range of cells, and tells how many are known.
func (d *Dataset) readCells(p part, untagged map[float64]int) (g *grid.Grid, known int, err error) {
	g = &grid.Grid{Frame: p.frame, Cols: p.cols, Rows: p.rows, Z: make([]float32, p.cols*p.rows)}
	g.Frame.Col[0] -= float64(p.col)
	g.Frame.Row[0] -= float64(p.row)
	room := make([]float64, p.cols*min(p.rows, rowsAtOnce))
	for first := 0; first < p.rows; first += rowsAtOnce {
		rows := min(rowsAtOnce, p.rows-first)
		fileRow := p.row + first
		if d.southUp() {
			fileRow = d.Rows - fileRow - rows
		}
		raw := room[:p.cols*rows]
		err = again(func() error {
			return d.ds.Bands()[0].Read(p.col, fileRow, raw, p.cols, rows, d.cache(), remote, quiet)
		}, d.Path)
		if err != nil {
			return nil, 0, d.unread(err)
		}
		for r := range rows {
			row := r
			if d.southUp() {
				row = rows - 1 - r
			}
			known += d.elevations(raw[r*p.cols:(r+1)*p.cols], g.Z[(first+row)*p.cols:], untagged)
		}
	}
	return g, known, nil
}

// southUp tells whether the file's first row is the southernmost.
func (d *Dataset) southUp() bool { return d.gt[5] > 0 }

// elevations turns what the file holds into elevations, and tells how many are
// known.
func (d *Dataset) elevations(raw []float64, into []float32, untagged map[float64]int) (known int) {
	for i, z := range raw {
		if d.void(z, untagged) {
			into[i] = float32(math.NaN())
			continue
		}
		into[i] = float32(z*d.scale + d.offset)
		known++
	}
	return known
}

// void tells whether a cell holds no elevation, and counts the values that say
// so without the file's own word for it.
func (d *Dataset) void(z float64, count map[float64]int) bool {
	if d.hasNodata && float32(z) == float32(d.nodata) {
		return true
	}
	return !(z > highestUntagged && z <= hugeElevation) && unlikely(z, count)
}

// unlikely is void for what is no common elevation.
func unlikely(z float64, count map[float64]int) bool {
	if math.IsNaN(z) {
		return true
	}
	if math.Abs(z) > hugeElevation || slices.Contains(untagged, z) {
		count[z]++
		return true
	}
	return false
}

// countUntagged reports voids the file does not call nodata.
func (d *Dataset) countUntagged(untagged map[float64]int) {
	for _, z := range slices.Sorted(maps.Keys(untagged)) {
		d.notice("%s: %d cells hold %.6g, which the file does not name as nodata: taken as unknown ground", d.Path, untagged[z], z)
	}
}
