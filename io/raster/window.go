package raster

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
	"curbfall/terrain/grid"
)

// Window is the part of a raster that was read.
type Window struct {
	*grid.Grid
	Col, Row int  // of the grid's first cell in the raster, row from the north
	Whole    bool // all of the raster
}

// untagged are values that mean no data in rasters that do not say so; common
// practice, no source.
var untagged = []float64{-9999, -99999, -999999, -32768, -32767}

// hugeElevation is beyond any elevation, m: the 3.4e38 of a missing tag.
const hugeElevation = 1e30

// Read reads the cells within margin metres of a box of site metres. The box
// must lie in the raster.
func (d *Dataset) Read(box orb.Bound, margin float64) (*Window, error) {
	frame, err := d.frame(box.Pad(margin))
	if err != nil {
		return nil, err
	}
	c0, r0, c1, r1 := cells(frame, box)
	if c1 < 0 || r1 < 0 || c0 > float64(d.Cols-1) || r0 > float64(d.Rows-1) {
		return nil, d.errorf("the site lies outside the raster; check the coordinate systems of both, or give a raster that covers it")
	}
	if c0 < 0 || r0 < 0 || c1 > float64(d.Cols-1) || r1 > float64(d.Rows-1) {
		return nil, d.errorf("covers only part of the site: cells %.0f..%.0f by %.0f..%.0f wanted of 0..%d by 0..%d; give a raster that covers lots, roofs and curbs",
			math.Floor(c0), math.Ceil(c1), math.Floor(r0), math.Ceil(r1), d.Cols-1, d.Rows-1)
	}
	for {
		w, cut, err := d.readRound(box, margin)
		if err != nil || !cut || len(w.Z) > growMost {
			return w, err
		}
		margin *= 2
	}
}

// growMost is the size up to which a window grows, cells.
const growMost = 20e6

// readRound reads the cells within margin metres of a box. cut tells that a
// void reaches a side of the window that is not the raster's own: it may be
// closed all the same.
func (d *Dataset) readRound(box orb.Bound, margin float64) (w *Window, cut bool, err error) {
	frame, err := d.frame(box.Pad(margin))
	if err != nil {
		return nil, false, err
	}
	c0, r0, c1, r1 := cells(frame, box.Pad(margin))
	col, row := max(0, int(math.Floor(c0))), max(0, int(math.Floor(r0)))
	cols, rows := min(d.Cols, int(math.Ceil(c1))+1)-col, min(d.Rows, int(math.Ceil(r1))+1)-row
	g, err := d.read(frame, col, row, cols, rows)
	if err != nil {
		return nil, false, err
	}
	w = &Window{g, col, row, cols == d.Cols && rows == d.Rows}
	for _, v := range g.Voids() {
		for _, i := range v.Cells {
			c, r := g.Cell(i)
			cut = cut || c == 0 && col > 0 || r == 0 && row > 0 || c == cols-1 && col+cols < d.Cols || r == rows-1 && row+rows < d.Rows
		}
	}
	return w, cut && !w.Whole, nil
}

// ReadAll reads the whole raster.
func (d *Dataset) ReadAll() (*Window, error) {
	if d.Site == nil {
		if err := d.SetSite(d.Middle()[0], d.Middle()[1]); err != nil {
			return nil, err
		}
	}
	box, err := d.bound()
	if err != nil {
		return nil, err
	}
	frame, err := d.frame(box)
	if err != nil {
		return nil, err
	}
	g, err := d.read(frame, 0, 0, d.Cols, d.Rows)
	if err != nil {
		return nil, err
	}
	return &Window{g, 0, 0, true}, nil
}

// bound is the raster's box in site metres.
func (d *Dataset) bound() (orb.Bound, error) {
	m := d.System.MetresPerUnit
	x0, y0 := d.gt[0]*m, d.gt[3]*m
	x1, y1 := x0+d.gt[1]*float64(d.Cols)*m, y0+d.gt[5]*float64(d.Rows)*m
	box := orb.MultiPoint{{x0, y0}, {x1, y1}}.Bound()
	if !d.System.Geographic {
		return box, nil
	}
	mover, err := crs.NewMover(d.System, d.Site)
	if err != nil {
		return box, d.errorf("%v", err)
	}
	defer mover.Close()
	var corners orb.MultiPoint
	for _, p := range [4]orb.Point{{x0, y0}, {x1, y0}, {x0, y1}, {x1, y1}} {
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

// fitSide is the number of points a side of the net a frame in degrees is
// fitted to.
const fitSide = 7

// fitTolerance is how far the fit may lie from the true cell, cells: on a 10 %
// slope of 3 m cells that is 0.03 mm of ground.
const fitTolerance = 1e-4

// fit sets the quadratic maps of a frame by least squares over a box.
func (d *Dataset) fit(f *grid.Frame, mover *crs.Mover, box orb.Bound, north, height float64) error {
	c := box.Center()
	f.X0, f.Y0 = c[0], c[1]
	var terms [][6]float64
	var col, row []float64
	for i := range fitSide {
		for j := range fitSide {
			dx := (float64(i)/(fitSide-1) - 0.5) * (box.Max[0] - box.Min[0])
			dy := (float64(j)/(fitSide-1) - 0.5) * (box.Max[1] - box.Min[1])
			p, err := mover.Move(orb.Point{c[0] + dx, c[1] + dy})
			if err != nil {
				return d.errorf("%v", err)
			}
			terms = append(terms, [6]float64{1, dx, dy, dx * dx, dx * dy, dy * dy})
			col = append(col, (p[0]-d.gt[0])/d.gt[1]-0.5)
			row = append(row, (north-p[1])/height-0.5)
		}
	}
	f.Col, f.Row = leastSquares(terms, col), leastSquares(terms, row)
	for i, t := range terms {
		c, r := f.ToCell(f.X0+t[1], f.Y0+t[2])
		if off := math.Max(math.Abs(c-col[i]), math.Abs(r-row[i])); off > fitTolerance {
			return d.errorf("spans too wide a window in degrees for one plane (%.1f km; off by %.2g cells, more than %.2g); cut it, or project it", (box.Max[0]-box.Min[0])/1000, off, fitTolerance)
		}
	}
	det := math.Abs(f.Col[1]*f.Row[2] - f.Col[2]*f.Row[1])
	f.CellX = math.Hypot(f.Row[2], f.Row[1]) / det
	f.CellY = math.Hypot(f.Col[1], f.Col[2]) / det
	return nil
}

// leastSquares solves for six coefficients by scaled normal equations; the
// terms are far from dependent, so that loses no digits that matter.
func leastSquares(terms [][6]float64, values []float64) (x [6]float64) {
	var scale [6]float64
	for _, t := range terms {
		for k := range t {
			scale[k] = math.Max(scale[k], math.Abs(t[k]))
		}
	}
	var a [6][7]float64
	for i, t := range terms {
		for k := range t {
			for m := range t {
				a[k][m] += t[k] / scale[k] * t[m] / scale[m]
			}
			a[k][6] += t[k] / scale[k] * values[i]
		}
	}
	for k := range a {
		for m := k + 1; m < 6; m++ {
			if math.Abs(a[m][k]) > math.Abs(a[k][k]) {
				a[k], a[m] = a[m], a[k]
			}
		}
		for m := range a {
			if m == k {
				continue
			}
			q := a[m][k] / a[k][k]
			for n := k; n < 7; n++ {
				a[m][n] -= q * a[k][n]
			}
		}
	}
	for k := range x {
		x[k] = a[k][6] / a[k][k] / scale[k]
	}
	return x
}

// read reads a range of cells, rows counted from the north.
func (d *Dataset) read(frame grid.Frame, col, row, cols, rows int) (*grid.Grid, error) {
	fileRow := row
	if d.gt[5] > 0 {
		fileRow = d.Rows - row - rows
	}
	raw := make([]float64, cols*rows)
	err := again(func() error { return d.ds.Bands()[0].Read(col, fileRow, raw, cols, rows, quiet) }, d.Path)
	if err != nil {
		return nil, d.errorf("cannot be read: %s", firstLine(err))
	}
	frame.Col[0] -= float64(col)
	frame.Row[0] -= float64(row)
	g := grid.New(frame, cols, rows)
	known := 0
	for i, z := range raw {
		if d.void(z) {
			continue
		}
		known++
		k := i
		if d.gt[5] > 0 {
			k = (rows-1-i/cols)*cols + i%cols
		}
		g.Z[k] = float32(z*d.scale + d.offset)
	}
	if known == 0 {
		return nil, d.errorf("has no elevation in the window read: all %d cells are nodata; give a raster with data there", len(raw))
	}
	return g, nil
}

func (d *Dataset) void(z float64) bool {
	if math.IsNaN(z) || math.Abs(z) > hugeElevation || d.hasNodata && float32(z) == float32(d.nodata) {
		return true
	}
	for _, u := range untagged {
		if z == u {
			return true
		}
	}
	return false
}
