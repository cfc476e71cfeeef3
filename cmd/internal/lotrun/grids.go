package lotrun

import (
	"context"
	"errors"
	"math"
	"path/filepath"

	"curbfall/io/raster"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// large is a raster of which the grids alone are made.
type large struct {
	*grid.Banded
	dem      *raster.Dataset
	window   *raster.Window // the part of the raster it is, nil: all
	folder   string         // where the grids go
	doing    string
	progress func(doing string, row, rows int)
}

// step is one of those from a raster to its grids.
type step struct {
	doing string
	do    func() error
}

// each takes the steps.
func (l *large) each(ctx context.Context, steps []step) error {
	for _, s := range steps {
		if err := ctx.Err(); err != nil {
			return err
		}
		l.doing = s.doing
		l.tell(0)
		if err := s.do(); err != nil {
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

// inBands writes the grids of a raster that is kept on disk and worked on a band
// after the other.
func (l *large) inBands(ctx context.Context) error {
	var ground, filled scratch[float32]
	var dir scratch[uint8]
	defer ground.close()
	defer filled.close()
	defer dir.close()
	if err := errors.Join(ground.open(l.folder, l.Cols, l.tell), filled.open(l.folder, l.Cols, l.tell), dir.open(l.folder, l.Cols, l.tell)); err != nil {
		return err
	}
	return l.each(ctx, []step{
		{"reading", func() error { return l.dem.ReadBands(ctx, l.Banded, &ground) }},
		{"filling voids", func() error { return l.FillVoidsBanded(ctx, &ground) }},
		{"filling depressions", func() error { return fill.Banded(ctx, l.Banded, &ground, &filled) }},
		{"finding directions", func() error { return flow.DirectionsBanded(ctx, l.Banded, &filled, &dir) }},
		{"writing levels", func() error { return l.writeLevels(ctx, &ground, &filled) }},
		{"writing directions", func() error { return l.writeDirections(ctx, &dir) }},
		{"counting what drains", func() error {
			return l.writeAreas(func(to grid.RowWriter[uint32]) error { return flow.AccumulateBanded(ctx, l.Banded, &dir, to) })
		}},
	})
}

// inMemory writes the grids of a raster that memory takes, by whole steps. What is
// made is written while the next steps go on; each lets go of what no later one
// asks for.
func (l *large) inMemory(ctx context.Context) error {
	var ground, filled []float32
	var dir []uint8
	var w writer
	whole := func(z []float32) *grid.Grid { return &grid.Grid{Frame: l.Frame, Cols: l.Cols, Rows: l.Rows, Z: z} }
	err := l.each(ctx, []step{
		{"reading", func() error {
			ground = make([]float32, l.Cols*l.Rows)
			return l.dem.ReadBands(ctx, l.Banded, keep(l, ground))
		}},
		{"filling voids", func() error { return l.FillVoidsBanded(ctx, keep(l, ground)) }},
		{"filling depressions", func() error {
			filled = fill.Depressions(whole(ground)).Z
			bare, full := keep(l, ground), keep(l, filled)
			w.begin(func() error { return l.writeLevels(ctx, bare, full) })
			return nil
		}},
		{"finding directions", func() error {
			ground = nil
			dir = flow.Directions(whole(filled))
			ways := keep(l, dir)
			w.begin(func() error { return l.writeDirections(ctx, ways) })
			return nil
		}},
		{"counting what drains", func() error {
			filled = nil
			counts := flow.Accumulate(whole(nil), dir)
			w.begin(func() error {
				return l.writeAreas(func(to grid.RowWriter[uint32]) error { return to.WriteRows(0, counts) })
			})
			return nil
		}},
		{"writing", w.end},
	})
	return errors.Join(err, w.end())
}

// writer writes one raster after the other beside what else goes on.
type writer struct {
	last chan error // what became of those begun so far; nil where there are none
}

// begin has something written once all before it is, if that went well.
func (w *writer) begin(write func() error) {
	before, done := w.last, make(chan error, 1)
	w.last = done
	go func() {
		if before != nil {
			if err := <-before; err != nil {
				done <- err
				return
			}
		}
		done <- write()
	}()
}

// end waits until all that was begun is written.
func (w *writer) end() error {
	if w.last == nil {
		return nil
	}
	last := w.last
	w.last = nil
	return <-last
}

// writeLevels writes filled.tif and ponding_depth.tif.
func (l *large) writeLevels(ctx context.Context, ground, filled grid.RowReader[float32]) (err error) {
	level, err := raster.Create[float32](l.dem, l.window, filepath.Join(l.folder, filledRaster), raster.Kind{NoData: math.NaN(), Smooth: true})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, level.Close()) }()
	depth, err := raster.Create[float32](l.dem, l.window, filepath.Join(l.folder, depthRaster), raster.Kind{NoData: math.NaN()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, depth.Close()) }()
	for _, band := range l.Bands() {
		if err := ctx.Err(); err != nil {
			return err
		}
		bare, _, err := l.Load(ground, band, 0, nil)
		if err != nil {
			return err
		}
		full, _, err := l.Load(filled, band, 0, nil)
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
func (l *large) writeDirections(ctx context.Context, dir grid.RowReader[uint8]) (err error) {
	way, err := raster.Create[uint8](l.dem, l.window, filepath.Join(l.folder, directionRaster), raster.Kind{NoData: flow.Void})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, way.Close()) }()
	for _, band := range l.Bands() {
		rows := make([]uint8, (band.End-band.First)*l.Cols)
		if err := errors.Join(ctx.Err(), dir.ReadRows(band.First, rows)); err != nil {
			return err
		}
		if err := way.WriteRows(band.First, rows); err != nil {
			return err
		}
	}
	return nil
}

// writeAreas writes contributing_area.tif, the counts that count hands over.
func (l *large) writeAreas(count func(to grid.RowWriter[uint32]) error) (err error) {
	area, err := raster.Create[uint32](l.dem, l.window, filepath.Join(l.folder, areaRaster), raster.Kind{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, area.Close()) }()
	return count(area)
}
