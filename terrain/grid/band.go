package grid

import (
	"runtime"
	"sync"
)

// Band is a run of whole rows, First included, End not.
type Band struct{ First, End int }

// bandRows is the fewest rows worth a core of their own: under it starting one
// costs more than it saves.
const bandRows = 16

// Bands splits rows into one band a core, top to bottom. What is computed on
// bands must not depend on where they meet.
func Bands(rows int) []Band {
	n := max(1, min(runtime.GOMAXPROCS(0), rows/bandRows))
	bands := make([]Band, n)
	for k := range bands {
		bands[k] = Band{rows * k / n, rows * (k + 1) / n}
	}
	return bands
}

// OnBands calls do for every band at once, k counting them, and returns when
// all are done.
func OnBands(bands []Band, do func(k int, b Band)) {
	var wait sync.WaitGroup
	for k := 1; k < len(bands); k++ {
		wait.Go(func() { do(k, bands[k]) })
	}
	do(0, bands[0])
	wait.Wait()
}

// Seeds tells which cells of each row drain straight out, as DrainsOut does,
// quickly for whole rows; voids count among them.
type Seeds struct {
	g    *Grid
	void []bool // by row: any of its cells is void
}

// NewSeeds looks where the voids are.
func NewSeeds(g *Grid) *Seeds {
	s := &Seeds{g, make([]bool, g.Rows)}
	OnBands(Bands(g.Rows), func(_ int, b Band) {
		for r := b.First; r < b.End; r++ {
			for _, z := range g.Z[r*g.Cols : (r+1)*g.Cols] {
				if z != z {
					s.void[r] = true
					break
				}
			}
		}
	})
	return s
}

// Each calls do for the columns of a row that drain out or are void, ascending.
func (s *Seeds) Each(row int, do func(col int, void bool)) {
	g := s.g
	z := g.Z[row*g.Cols : (row+1)*g.Cols]
	first, last := row == 0, row == g.Rows-1
	if !first && !last && !s.void[row-1] && !s.void[row] && !s.void[row+1] {
		do(0, false)
		if g.Cols > 1 {
			do(g.Cols-1, false)
		}
		return
	}
	// near tells whether the column before, this one and the next have a void in
	// the three rows.
	near := func(c int) bool {
		if c >= g.Cols {
			return false
		}
		i := row*g.Cols + c
		return z[c] != z[c] || !first && g.Void(i-g.Cols) || !last && g.Void(i+g.Cols)
	}
	before, here := false, near(0)
	for c := range g.Cols {
		next := near(c + 1)
		if first || last || c == 0 || c == g.Cols-1 || before || here || next {
			do(c, z[c] != z[c])
		}
		before, here = here, next
	}
}
