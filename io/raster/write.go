package raster

import (
	"fmt"
	"math"

	"github.com/airbusgeo/godal"

	"curbfall/terrain/grid"
)

// Value is what a cell of a written raster holds.
type Value interface{ ~float32 | ~uint8 | ~uint32 }

// Write writes values, one a cell of a window read from d, as a GeoTIFF on the
// raster's own grid and coordinate system.
func Write[T Value](d *Dataset, w *Window, path string, values []T, nodata float64) error {
	north, height := d.north()
	gt := [6]float64{d.gt[0] + d.gt[1]*float64(w.Col), d.gt[1], 0, north - height*float64(w.Row), 0, -height}
	return write(path, w.Cols, w.Rows, gt, d.System.WKT, values, nodata)
}

// WriteGround writes a grid of projected site metres as a GeoTIFF.
func WriteGround(path string, g *grid.Grid, system string) error {
	x, y := g.ToSite(-0.5, -0.5)
	gt := [6]float64{x, g.CellX, 0, y, 0, -g.CellY}
	return write(path, g.Cols, g.Rows, gt, system, g.Z, math.NaN())
}

func write[T Value](path string, cols, rows int, gt [6]float64, system string, values []T, nodata float64) (err error) {
	Register()
	kind := godal.Float32
	switch any(values).(type) {
	case []uint8:
		kind = godal.Byte
	case []uint32:
		kind = godal.UInt32
	}
	ds, err := godal.Create(godal.GTiff, path, 1, kind, cols, rows, godal.CreationOption("COMPRESS=DEFLATE", "TILED=YES"), quiet)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	defer func() {
		if e := ds.Close(quiet); err == nil && e != nil {
			err = fmt.Errorf("%s: %w", path, e)
		}
	}()
	ref, err := godal.NewSpatialRef(system)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	defer ref.Close()
	if err := ds.SetSpatialRef(ref, quiet); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := ds.SetGeoTransform(gt, quiet); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := ds.SetNoData(nodata, quiet); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := ds.Bands()[0].Write(0, 0, values, cols, rows, quiet); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}
