// Package grid holds an elevation raster in memory: its cells, where they lie
// in site metres, and the ground between their centres.
//
// A grid of three columns and two rows, row 0 northernmost. Continuous cell
// coordinates (col, row) are whole numbers at cell centres:
//
//	row 0   (0,0)---(1,0)---(2,0)
//	          |       |       |      ground between centres is bilinear
//	row 1   (0,1)---(1,1)---(2,1)
package grid

import "math"

// Grid is a raster of elevations. Z is in the raster's own vertical unit, so
// that a filled elevation stays an exact copy of an input value whatever the
// unit; Frame.MetresPerZ turns it into metres.
type Grid struct {
	Frame
	Cols, Rows int
	// Z has len Cols*Rows, row-major, row 0 northernmost, NaN where void.
	Z []float32
}

// MaxCells is the most cells a grid may have: places of cells are kept in 32
// bits wherever there is one a cell.
const MaxCells = 1<<32 - 1

// New returns a grid of void cells. It panics on more than MaxCells of them.
func New(frame Frame, cols, rows int) *Grid {
	if rows > 0 && cols > MaxCells/rows {
		panic("grid: more cells than MaxCells")
	}
	g := &Grid{Frame: frame, Cols: cols, Rows: rows, Z: make([]float32, cols*rows)}
	for i := range g.Z {
		g.Z[i] = float32(math.NaN())
	}
	return g
}

// Index returns the position of a cell in Z; the cell must lie in the grid.
func (g *Grid) Index(col, row int) int { return row*g.Cols + col }

// Cell returns the column and row of position i in Z.
func (g *Grid) Cell(i int) (col, row int) { return i % g.Cols, i / g.Cols }

// Contains tells whether the cell lies in the grid.
func (g *Grid) Contains(col, row int) bool {
	return col >= 0 && row >= 0 && col < g.Cols && row < g.Rows
}

// Elevation returns the elevation of a cell in metres, NaN where void.
func (g *Grid) Elevation(i int) float64 { return float64(g.Z[i]) * g.MetresPerZ }

// Void tells whether the cell at position i has no elevation.
func (g *Grid) Void(i int) bool { return g.Z[i] != g.Z[i] }

// Range returns the lowest and highest elevation in metres, NaN for a grid of
// voids alone.
func (g *Grid) Range() (low, high float64) {
	low, high = math.NaN(), math.NaN()
	for i := range g.Z {
		z := g.Elevation(i)
		if math.IsNaN(z) {
			continue
		}
		if !(low <= z) {
			low = z
		}
		if !(high >= z) {
			high = z
		}
	}
	return low, high
}

// Clone returns a copy that shares nothing with g.
func (g *Grid) Clone() *Grid {
	c := *g
	c.Z = append([]float32(nil), g.Z...)
	return &c
}
