package grid

import "slices"

// RowReader gives a field of values, one a cell, that is kept by whole rows
// elsewhere than in memory.
type RowReader[T any] interface {
	ReadRows(first int, into []T) error
}

// RowWriter takes such a field.
type RowWriter[T any] interface {
	WriteRows(first int, from []T) error
}

// Rows keeps such a field.
type Rows[T any] interface {
	RowReader[T]
	RowWriter[T]
}

// Banded is a grid too large for memory: it is worked on in bands of Height
// rows, 1 or more, one after the other. What comes out must not depend on where
// they meet.
type Banded struct {
	Frame
	Cols, Rows, Height int
}

// Bands returns the bands, top to bottom.
func (b *Banded) Bands() (bands []Band) {
	for first := 0; first < b.Rows; first += b.Height {
		bands = append(bands, Band{first, min(b.Rows, first+b.Height)})
	}
	return bands
}

// Load returns a band of elevations, with some rows more on either side as far
// as the grid goes, and which of its rows are the band's own. The elevations
// stand in room where that is large enough; nil makes new room.
func (b *Banded) Load(z RowReader[float32], band Band, more int, room []float32) (g *Grid, own Band, err error) {
	first, end := max(0, band.First-more), min(b.Rows, band.End+more)
	cells := (end - first) * b.Cols
	g = &Grid{Frame: b.Frame, Cols: b.Cols, Rows: end - first, Z: slices.Grow(room[:0], cells)[:cells]}
	g.Frame.Row[0] -= float64(first)
	return g, Band{band.First - first, band.End - first}, z.ReadRows(first, g.Z)
}
