package surface_test

import (
	"math"
	"testing"

	"curbfall/terrain/grid"
	"curbfall/terrain/surface"
)

// A tilted plane of 99 %, then of 101 %, in cells that are not square and in
// feet; then level ground with one wall, whose two columns of cells are the
// steep ones, and a void, whose neighbours are not counted.
func TestSteepShare(t *testing.T) {
	plane := func(slope float64) *grid.Grid {
		f := grid.NewFrame(0, 0, 0.5, 0.25)
		f.MetresPerZ = 0.3048
		g := grid.New(f, 30, 20)
		for i := range g.Z {
			c, r := g.Cell(i)
			g.Z[i] = float32((100 + slope*(0.6*0.5*float64(c)+0.8*0.25*float64(r))) / f.MetresPerZ)
		}
		return g
	}
	if below, above := surface.SteepShare(plane(0.99)), surface.SteepShare(plane(1.01)); below != 0 || above != 1 {
		t.Errorf("%v of a plane of 99 %%, %v of one of 101 %%", below, above)
	}
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), 42, 12)
	for i := range g.Z {
		if c, _ := g.Cell(i); c < 20 {
			g.Z[i] = 1.1
		} else {
			g.Z[i] = 0
		}
	}
	if got := surface.SteepShare(g); got != 2.0/40 {
		t.Errorf("%v of the ground with a wall", got)
	}
	g.Z[g.Index(5, 5)] = float32(math.NaN())
	if got := surface.SteepShare(g); got != 20.0/(400-4) { // the void itself is judged by its neighbours
		t.Errorf("%v with a void", got)
	}
	if got := surface.SteepShare(grid.New(grid.NewFrame(0, 0, 1, 1), 5, 5)); got != 0 {
		t.Errorf("%v of no ground at all", got)
	}
}

// A street of houses, 12 by 10 m and 5 m high on 1,000 m2 each, is a surface model
// in cells of any size; lots with 10 m of wall 1 m high are not.
func TestHousesAndWalls(t *testing.T) {
	for _, cell := range []float64{0.05, 0.1, 0.25, 0.5, 1, 2} {
		n := int(100 / cell)
		houses, walls := grid.New(grid.NewFrame(cell/2, 100-cell/2, cell, cell), n, n), grid.New(grid.NewFrame(cell/2, 100-cell/2, cell, cell), n, n)
		for i := range houses.Z {
			c, r := houses.Cell(i)
			x, y := math.Mod((float64(c)+0.5)*cell, 20), math.Mod((float64(r)+0.5)*cell, 50)
			houses.Z[i], walls.Z[i] = 10, 10
			if 4 < x && x < 16 && 20 < y && y < 30 {
				houses.Z[i] = 15
			}
			if r > n/2 {
				walls.Z[i] = 11
			}
		}
		if got := surface.SteepShare(houses); got < surface.WalledShare {
			t.Errorf("houses in cells of %v m: %v", cell, got)
		}
		if got := surface.SteepShare(walls); got >= surface.WalledShare {
			t.Errorf("walls in cells of %v m: %v", cell, got)
		}
	}
}
