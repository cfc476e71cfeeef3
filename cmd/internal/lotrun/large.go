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
// keeps, since memory let go is not free at once; beside a border, which is kept
// of all bands.
const (
	wholeCell  = 140
	bandCell   = 80
	borderCell = 80
)

// atAnyRate is what the program takes without a raster, what GDAL needs for its
// cache of blocks, and below which memory would be looked for all the time, bytes.
const atAnyRate = 64 << 20

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
	if least := leastMemory(d.Cols, d.Rows); out.Memory < least {
		return false, &InputError{fmt.Sprintf("%s: has %d x %d cells, %s of memory at least, more than --memory %s; give more", d.Path, d.Cols, d.Rows, memoryWords(least), memoryWords(out.Memory))}
	}
	return true, nil
}

// leastMemory is where the borders take a quarter of the memory: with less the
// bands are flatter and the borders more.
func leastMemory(cols, rows int) int {
	return int(math.Ceil(float64(cols) * math.Sqrt(4*2*bandCell*borderCell*float64(rows))))
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

// terrainByBands is Terrain for a raster too large to be looked at whole: its
// grids, and what was left out.
func (g *given) terrainByBands(ctx context.Context, out Output, f *folder) (*Finished, error) {
	cache := max(atAnyRate, out.Memory/8)
	before := debug.SetMemoryLimit(int64(max(atAnyRate, out.Memory-cache-atAnyRate)))
	defer debug.SetMemoryLimit(before)
	b, err := g.dem.Banded(bandHeight(g.dem.Cols, out.Memory))
	if err != nil {
		return nil, err
	}
	l := &large{Banded: b, dem: g.dem, cache: cache, folder: f.making, progress: out.Progress}
	if err := l.run(ctx); err != nil {
		return nil, err
	}
	g.notes = append(g.notes, g.dem.Notices...)
	g.notes = append(g.notes, fmt.Sprintf("%d x %d cells were worked in bands of %d rows for --memory %s: the grids alone; low spots, flow paths, overflow and ponding need the ground whole: give --site for the ground round its lots, or --memory %s",
		b.Cols, b.Rows, b.Height, memoryWords(out.Memory), memoryWords(b.Cols*b.Rows*wholeCell)))
	summary, err := g.terrainSummary(f, terrainCounts{})
	if err != nil {
		return nil, err
	}
	return &Finished{Feasible: true, Summary: summary, Report: fmt.Sprintf("The grids of %d x %d cells, in %s.\n", b.Cols, b.Rows, out.Folder) + noteLines(g.notes, out.Units)}, nil
}

// large is a raster worked on in bands.
type large struct {
	*grid.Banded
	dem            *raster.Dataset
	cache          int    // GDAL's, of blocks, bytes
	folder         string // where the grids go
	ground, filled scratch[float32]
	dir            scratch[uint8]
	doing          string
	progress       func(doing string, row, rows int)
}

// run writes the grids.
func (l *large) run(ctx context.Context) error {
	defer l.ground.close()
	defer l.filled.close()
	defer l.dir.close()
	if err := errors.Join(l.ground.open(l.folder, l.Cols, l.tell), l.filled.open(l.folder, l.Cols, l.tell), l.dir.open(l.folder, l.Cols, l.tell)); err != nil {
		return err
	}
	for _, step := range []struct {
		doing string
		do    func() error
	}{
		{"reading", func() error { return l.dem.ReadBands(ctx, l.Banded, l.cache, &l.ground) }},
		{"filling voids", func() error { return l.FillVoidsBanded(ctx, &l.ground) }},
		{"filling depressions", func() error { return fill.Banded(ctx, l.Banded, &l.ground, &l.filled) }},
		{"finding directions", func() error { return flow.DirectionsBanded(ctx, l.Banded, &l.filled, &l.dir) }},
		{"writing levels", func() error { return l.writeLevels(ctx) }},
		{"writing directions", func() error { return l.writeDirections(ctx) }},
		{"counting what drains", func() error { return l.writeAreas(ctx) }},
	} {
		l.doing = step.doing
		l.tell(0)
		if err := step.do(); err != nil {
			return err
		}
	}
	return nil
}

// tell says which row is next.
func (l *large) tell(row int) {
	if l.progress != nil {
		l.progress(l.doing, row, l.Rows)
	}
}

// writeLevels writes filled.tif and ponding_depth.tif.
func (l *large) writeLevels(ctx context.Context) (err error) {
	level, err := raster.Create[float32](l.dem, filepath.Join(l.folder, filledRaster), math.NaN())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, level.Close()) }()
	depth, err := raster.Create[float32](l.dem, filepath.Join(l.folder, depthRaster), math.NaN())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, depth.Close()) }()
	for _, band := range l.Bands() {
		if err := ctx.Err(); err != nil {
			return err
		}
		bare, _, err := l.Load(&l.ground, band, 0, nil)
		if err != nil {
			return err
		}
		full, _, err := l.Load(&l.filled, band, 0, nil)
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

// writeDirections writes flow_direction.tif.
func (l *large) writeDirections(ctx context.Context) (err error) {
	way, err := raster.Create[uint8](l.dem, filepath.Join(l.folder, directionRaster), flow.Void)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, way.Close()) }()
	for _, band := range l.Bands() {
		rows := make([]uint8, (band.End-band.First)*l.Cols)
		if err := errors.Join(ctx.Err(), l.dir.ReadRows(band.First, rows)); err != nil {
			return err
		}
		if err := way.WriteRows(band.First, rows); err != nil {
			return err
		}
	}
	return nil
}

// writeAreas writes contributing_area.tif.
func (l *large) writeAreas(ctx context.Context) (err error) {
	area, err := raster.Create[uint32](l.dem, filepath.Join(l.folder, areaRaster), 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, area.Close()) }()
	return flow.AccumulateBanded(ctx, l.Banded, &l.dir, area)
}
