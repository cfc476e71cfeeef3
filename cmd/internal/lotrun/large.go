package lotrun

import (
	"context"
	"fmt"
	"math"
	"runtime/debug"

	"curbfall/io/raster"
	"curbfall/terrain/grid"
)

// What a cell takes at the peak, bytes: of ground looked at whole, 65 to 80 measured
// on streets with curbs and on noise over a slope, 16 million cells each, more
// where low spots lie one in another all over flat ground; where its grids alone are
// made, of noise without any slope; of a band, twice what its widest step keeps, since memory let
// go is not free at once; beside a border, which is kept of all bands.
const (
	wholeCell  = 100
	gridsCell  = 24
	bandCell   = 80
	borderCell = 80
)

// atAnyRate is what the program takes without a raster, and below which memory
// would be looked for all the time, bytes.
const atAnyRate = 64 << 20

// letGo is the share of memory, in percent, that may be let go before it is looked
// for. By default it is as much again as is kept; but of rasters nearly all of it
// is in a few long lists without pointers, where looking costs next to nothing.
const letGo = 15

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

// gridsFit tells whether the grids alone of so many cells can be made in memory,
// beside a cache of blocks.
func gridsFit(cells, memory, cache int) bool { return cells <= (memory-cache-atAnyRate)/gridsCell }

// terrainGrids is Terrain for a raster too large to be looked at whole: its grids,
// and what was left out.
func (g *given) terrainGrids(ctx context.Context, out Output, f *folder) (*Finished, error) {
	cache := g.dem.BlockCache()
	before := debug.SetMemoryLimit(int64(max(atAnyRate, out.Memory-cache-atAnyRate)))
	defer debug.SetMemoryLimit(before)
	cells := g.dem.Cols * g.dem.Rows
	height, how := bandHeight(g.dem.Cols, out.Memory), "worked in bands of %d rows"
	inMemory := gridsFit(cells, out.Memory, cache)
	if inMemory {
		height, how = alignedRows, "read and written in bands of %d rows"
	}
	b, err := g.dem.Banded(height)
	if err != nil {
		return nil, err
	}
	l := &large{Banded: b, dem: g.dem, folder: f.making, progress: out.Progress}
	run := l.inBands
	if inMemory {
		run = l.inMemory
	}
	if err := run(ctx); err != nil {
		return nil, err
	}
	g.notes = append(g.notes, g.dem.Notices...)
	g.notes = append(g.notes, fmt.Sprintf("%d x %d cells were "+how+" for --memory %s: the grids alone; low spots, flow paths, overflow and ponding need the ground whole: give --site for the ground round its lots, or --memory %s",
		b.Cols, b.Rows, b.Height, memoryWords(out.Memory), memoryWords(cells*wholeCell)))
	summary, err := g.terrainSummary(ctx, f, nil, terrainCounts{})
	if err != nil {
		return nil, err
	}
	return &Finished{Feasible: true, Summary: summary, Report: fmt.Sprintf("The grids of %d x %d cells, in %s.\n", b.Cols, b.Rows, out.Folder) + noteLines(g.notes, out.Units)}, nil
}
