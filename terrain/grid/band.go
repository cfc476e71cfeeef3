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

// VoidRows tells for each row whether any of its cells is void.
func (g *Grid) VoidRows() []bool {
	void := make([]bool, g.Rows)
	OnBands(Bands(g.Rows), func(_ int, b Band) {
		for r := b.First; r < b.End; r++ {
			for _, z := range g.Z[r*g.Cols : (r+1)*g.Cols] {
				if z != z {
					void[r] = true
					break
				}
			}
		}
	})
	return void
}
