package grid

import (
	"context"
	"slices"
)

// FillVoidsBanded is FillVoids(Voids()) for a grid too large for memory, in
// place. It may hold the rows of the tallest closed void and its band at once.
//
// Cost: one reading of the grid, and one more and a writing where voids are
// closed; 24 bytes a run of void cells in a row.
func (b *Banded) FillVoidsBanded(ctx context.Context, z Rows[float32]) error {
	v := &voidRuns{cols: b.Cols, rows: b.Rows}
	for _, band := range b.Bands() {
		if err := ctx.Err(); err != nil {
			return err
		}
		g, _, err := b.Load(z, band, 0, nil)
		if err != nil {
			return err
		}
		for r := range g.Rows {
			v.row(band.First+r, g.Z[r*g.Cols:(r+1)*g.Cols])
		}
	}
	closed := v.closed()
	for _, band := range b.Bands() {
		n := slices.IndexFunc(closed, func(void []run) bool { return void[0].row >= band.End })
		if n < 0 {
			n = len(closed)
		}
		if n == 0 {
			continue
		}
		if err := b.fillRuns(ctx, z, band.First, closed[:n]); err != nil {
			return err
		}
		closed = closed[n:]
	}
	return nil
}

// fillRuns fills voids that begin at or below a row, no more than a band's
// height of rows between the first cells of any two.
func (b *Banded) fillRuns(ctx context.Context, z Rows[float32], first int, voids [][]run) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	end := 0
	for _, void := range voids {
		end = max(end, void[len(void)-1].row+1)
	}
	g, _, err := b.Load(z, Band{first, end}, 1, nil)
	if err != nil {
		return err
	}
	first = max(0, first-1)
	for _, void := range voids {
		var cells []int
		for _, r := range void {
			for c := r.from; c < r.to; c++ {
				cells = append(cells, g.Index(c, r.row-first))
			}
		}
		g.fillVoid(Void{Cells: cells})
	}
	return z.WriteRows(first, g.Z)
}

// run is void cells side by side.
type run struct{ row, from, to int }

// voidRuns gathers voids row by row.
type voidRuns struct {
	cols, rows int
	runs       []run
	joined     []int // by run: toward the first run of its void
	open       []bool
	above      int // the first run of the row above that may touch another
	here       int // the first run of the row at hand
}

// row takes in the next row.
func (v *voidRuns) row(row int, z []float32) {
	v.above, v.here = v.here, len(v.runs)
	for c := 0; c < len(z); c++ {
		if z[c] == z[c] {
			continue
		}
		from := c
		for c < len(z) && z[c] != z[c] {
			c++
		}
		n := len(v.runs)
		v.runs = append(v.runs, run{row, from, c})
		v.joined = append(v.joined, n)
		v.open = append(v.open, row == 0 || row == v.rows-1 || from == 0 || c == v.cols)
		for v.above < v.here && v.runs[v.above].to < from {
			v.above++
		}
		for k := v.above; k < v.here && v.runs[k].from <= c; k++ {
			v.join(k, n) // beside it, corners included
		}
	}
}

func (v *voidRuns) first(k int) int {
	for v.joined[k] != k {
		v.joined[k] = v.joined[v.joined[k]]
		k = v.joined[k]
	}
	return k
}

func (v *voidRuns) join(a, b int) {
	a, b = v.first(a), v.first(b)
	a, b = min(a, b), max(a, b)
	v.joined[b] = a
	v.open[a] = v.open[a] || v.open[b]
}

// closed lists the runs of each closed void, voids and runs in the order of
// their first cells.
func (v *voidRuns) closed() (voids [][]run) {
	at := map[int]int{}
	for k, r := range v.runs {
		f := v.first(k)
		if v.open[f] {
			continue
		}
		if f == k {
			at[k] = len(voids)
			voids = append(voids, nil)
		}
		voids[at[f]] = append(voids[at[f]], r)
	}
	return voids
}
