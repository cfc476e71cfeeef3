package raster

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
	"curbfall/terrain/grid"
)

// fitSide is the number of points a side of the net a frame in degrees is
// fitted to.
const fitSide = 7

// fitTolerance is how far the fit may lie from the true cell, cells: on a 10 %
// slope of 3 m cells that is 0.03 mm of ground.
const fitTolerance = 1e-4

// fit sets the quadratic maps of a frame by least squares over a box, and
// refuses a box too wide for them.
func (d *Dataset) fit(f *grid.Frame, mover *crs.Mover, box orb.Bound, north, height float64) error {
	c := box.Center()
	f.X0, f.Y0 = c[0], c[1]
	const fine = 2*fitSide - 1 // the net with the points between
	var terms [][6]float64
	var col, row []float64
	var places [][4]float64 // dx, dy, col, row over the fine net
	for i := range fine {
		for j := range fine {
			dx := (float64(i)/(fine-1) - 0.5) * (box.Max[0] - box.Min[0])
			dy := (float64(j)/(fine-1) - 0.5) * (box.Max[1] - box.Min[1])
			p, err := mover.Move(orb.Point{c[0] + dx, c[1] + dy})
			if err != nil {
				return d.errorf("%v", err)
			}
			x, y := (p[0]-d.gt[0])/d.gt[1]-0.5, (north-p[1])/height-0.5
			places = append(places, [4]float64{dx, dy, x, y})
			if i%2 == 0 && j%2 == 0 {
				terms = append(terms, [6]float64{1, dx, dy, dx * dx, dx * dy, dy * dy})
				col, row = append(col, x), append(row, y)
			}
		}
	}
	f.Col, f.Row = leastSquares(terms, col), leastSquares(terms, row)
	off := 0.0
	for _, p := range places {
		x, y := f.ToCell(f.X0+p[0], f.Y0+p[1])
		off = math.Max(off, math.Max(math.Abs(x-p[2]), math.Abs(y-p[3])))
	}
	if off > fitTolerance {
		return d.errorf("is in degrees, and %.1f by %.1f km of it is too wide for one plane (off by %.2g cells, more than %.2g); cut it with gdal_translate -projwin, or project it with gdalwarp",
			(box.Max[0]-box.Min[0])/1000, (box.Max[1]-box.Min[1])/1000, off, fitTolerance)
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
