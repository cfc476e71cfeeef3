package grid

import "math"

// Frame says where a grid's cells lie. Site metres are the plane all lines are
// drawn in: the raster's own coordinates in metres, or the UTM zone of the
// site for a raster in degrees.
type Frame struct {
	// X0, Y0 is a site point near the middle of the window; the maps below are
	// taken about it to keep their digits.
	X0, Y0 float64
	// Col and Row map a site point to continuous cell coordinates:
	//
	//	c0 + c1 dx + c2 dy + c3 dx dx + c4 dx dy + c5 dy dy,  dx = x - X0, dy = y - Y0
	//
	// The last three are zero unless the raster is in degrees, where they carry
	// the bend of meridians over the window.
	Col, Row [6]float64
	// CellX, CellY are the cell's sides in metres at X0, Y0.
	CellX, CellY float64
	// MetresPerZ is the vertical unit of Grid.Z in metres.
	MetresPerZ float64
	// CRS is the coordinate system of site metres, opaque here (WKT).
	CRS string
}

// NewFrame returns the frame of a north-up raster whose first cell has its
// centre at x, y (site metres) and whose cells measure cellX by cellY metres.
func NewFrame(x, y, cellX, cellY float64) Frame {
	return Frame{
		X0: x, Y0: y,
		Col:   [6]float64{0, 1 / cellX},
		Row:   [6]float64{0, 0, -1 / cellY},
		CellX: cellX, CellY: cellY,
		MetresPerZ: 1,
	}
}

func eval(c *[6]float64, dx, dy float64) float64 {
	return c[0] + (c[1]+c[3]*dx+c[4]*dy)*dx + (c[2]+c[5]*dy)*dy
}

// ToCell returns the continuous cell coordinates of a site point.
func (f *Frame) ToCell(x, y float64) (col, row float64) {
	dx, dy := x-f.X0, y-f.Y0
	return eval(&f.Col, dx, dy), eval(&f.Row, dx, dy)
}

// inverseRounds is enough for Newton's method: the maps are affine but for a
// bend of parts in a million, so each round squares an error already tiny.
const inverseRounds = 3

// ToSite returns the site point at continuous cell coordinates.
func (f *Frame) ToSite(col, row float64) (x, y float64) {
	var dx, dy float64
	for range inverseRounds {
		ec, er := col-eval(&f.Col, dx, dy), row-eval(&f.Row, dx, dy)
		a := f.Col[1] + 2*f.Col[3]*dx + f.Col[4]*dy
		b := f.Col[2] + f.Col[4]*dx + 2*f.Col[5]*dy
		c := f.Row[1] + 2*f.Row[3]*dx + f.Row[4]*dy
		d := f.Row[2] + f.Row[4]*dx + 2*f.Row[5]*dy
		det := a*d - b*c
		dx += (d*ec - b*er) / det
		dy += (a*er - c*ec) / det
	}
	return f.X0 + dx, f.Y0 + dy
}

// CellArea is the plan area of one cell in square metres.
func (f *Frame) CellArea() float64 { return f.CellX * f.CellY }

// CellMax is the longer side of a cell in metres.
func (f *Frame) CellMax() float64 { return math.Max(f.CellX, f.CellY) }
