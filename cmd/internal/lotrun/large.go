package lotrun

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"runtime/debug"

	"curbfall/io/raster"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// What a cell takes at the peak, bytes: of ground looked at whole, measured on
// noise of 4 and of 16 million cells; of a band, twice what its widest step
// keeps, since memory let go is not free at once.
const (
	wholeCell = 140
	bandCell  = 80
)

// leastLimit is what the program needs at any rate, bytes: below it memory would
// be looked for all the time.
const leastLimit = 64 << 20

// alignedRows is the height of the tiles in a written raster: bands of so many
// rows fill tiles whole.
const alignedRows = 256

// tooLarge tells whether a raster takes more memory than it may, and refuses one
// that is more than can be done at all.
func tooLarge(d *raster.Dataset, out Output) (bool, error) {
	if d.Cols > grid.MaxCells/d.Rows {
		return false, &InputError{fmt.Sprintf("%s: has %d x %d cells, more than the %d that can be counted; cut it with gdal_translate -srcwin", d.Path, d.Cols, d.Rows, grid.MaxCells)}
	}
	if out.Memory == 0 || d.Cols*d.Rows <= out.Memory/wholeCell {
		return false, nil
	}
	if !out.Rasters {
		return false, &InputError{fmt.Sprintf("%s: has %d x %d cells, %s of memory to look at whole, more than --memory %s; give --site for the ground round its lots, --rasters for the grids alone, or more --memory",
			d.Path, d.Cols, d.Rows, memoryWords(d.Cols*d.Rows*wholeCell), memoryWords(out.Memory))}
	}
	if out.Memory/bandCell < d.Cols {
		return false, &InputError{fmt.Sprintf("%s: has rows of %d cells, %s of memory each, more than --memory %s; give more", d.Path, d.Cols, memoryWords(d.Cols*bandCell), memoryWords(out.Memory))}
	}
	return true, nil
}

func memoryWords(bytes int) string {
	const mebi, gibi = 1 << 20, 1 << 30
	if bytes < gibi {
		return fmt.Sprintf("%.3g MiB", float64(bytes)/mebi)
	}
	return fmt.Sprintf("%.3g GiB", float64(bytes)/gibi)
}

// bandHeight is how many rows of a raster are worked on at once.
func bandHeight(cols, memory int) int {
	rows := memory / bandCell / cols
	if rows > alignedRows {
		rows -= rows % alignedRows
	}
	return rows
}

// large is Terrain for a raster too large to be looked at whole.
func (g *given) large(ctx context.Context, out Output, f *folder) (*Finished, error) {
	if err := g.largeRasters(ctx, f.making, out.Memory); err != nil {
		return nil, err
	}
	summary, err := g.terrainSummary(f, terrainCounts{})
	if err != nil {
		return nil, err
	}
	return &Finished{Feasible: true, Summary: summary, Report: fmt.Sprintf("The grids of %d x %d cells, in %s.\n", g.dem.Cols, g.dem.Rows, out.Folder) + noteLines(g.notes, out.Units)}, nil
}

// largeRasters writes the grids of a raster too large to be looked at whole, and
// says what was left out.
func (g *given) largeRasters(ctx context.Context, folder string, memory int) (err error) {
	// GDAL's cache of blocks lies beside what is ours.
	before := debug.SetMemoryLimit(max(leastLimit, int64(memory)/4*3))
	defer debug.SetMemoryLimit(before)
	b, err := g.dem.Banded(bandHeight(g.dem.Cols, memory))
	if err != nil {
		return err
	}
	ground, err := newScratch[float32](folder, b.Cols)
	if err != nil {
		return err
	}
	defer ground.close()
	filled, err := newScratch[float32](folder, b.Cols)
	if err != nil {
		return err
	}
	defer filled.close()
	dir, err := newScratch[uint8](folder, b.Cols)
	if err != nil {
		return err
	}
	defer dir.close()
	for _, step := range []func() error{
		func() error { return g.dem.ReadBands(ctx, b, ground) },
		func() error { return b.FillVoidsBanded(ctx, ground) },
		func() error { return fill.Banded(ctx, b, ground, filled) },
		func() error { return flow.DirectionsBanded(ctx, b, filled, dir) },
		func() error { return g.writeLevels(ctx, b, folder, ground, filled) },
		func() error { return g.writeWays(ctx, b, folder, dir) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	g.notes = append(g.notes, g.dem.Notices...)
	g.notes = append(g.notes, fmt.Sprintf("%d x %d cells were worked in bands of %d rows for --memory %s: the grids alone; low spots, flow paths, overflow and ponding need the ground whole: give --site for the ground round its lots, or --memory %s",
		b.Cols, b.Rows, b.Height, memoryWords(memory), memoryWords(b.Cols*b.Rows*wholeCell)))
	return nil
}

// writeLevels writes filled.tif and ponding_depth.tif.
func (g *given) writeLevels(ctx context.Context, b *grid.Banded, folder string, ground, filled grid.RowReader[float32]) (err error) {
	level, err := raster.Create[float32](g.dem, filepath.Join(folder, filledRaster), math.NaN())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, level.Close()) }()
	depth, err := raster.Create[float32](g.dem, filepath.Join(folder, depthRaster), math.NaN())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, depth.Close()) }()
	for _, band := range b.Bands() {
		if err := ctx.Err(); err != nil {
			return err
		}
		bare, _, err := b.Load(ground, band, 0, nil)
		if err != nil {
			return err
		}
		full, _, err := b.Load(filled, band, 0, nil)
		if err != nil {
			return err
		}
		levels, depths := standingLevels(bare, full)
		if err := errors.Join(level.WriteRows(band.First, levels), depth.WriteRows(band.First, depths)); err != nil {
			return err
		}
	}
	return nil
}

// writeWays writes flow_direction.tif and contributing_area.tif.
func (g *given) writeWays(ctx context.Context, b *grid.Banded, folder string, dir grid.RowReader[uint8]) (err error) {
	way, err := raster.Create[uint8](g.dem, filepath.Join(folder, directionRaster), flow.Void)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, way.Close()) }()
	for _, band := range b.Bands() {
		rows := make([]uint8, (band.End-band.First)*b.Cols)
		if err := errors.Join(ctx.Err(), dir.ReadRows(band.First, rows)); err != nil {
			return err
		}
		if err := way.WriteRows(band.First, rows); err != nil {
			return err
		}
	}
	acc, err := raster.Create[uint32](g.dem, filepath.Join(folder, areaRaster), 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, acc.Close()) }()
	return flow.AccumulateBanded(ctx, b, dir, acc)
}
