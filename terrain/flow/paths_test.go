package flow_test

import (
	"testing"

	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// A path starts where at least the area asked for drains: with cells of 3 m2,
// 100 m2 is reached by 34 of them, not by 33.
func TestPathsThreshold(t *testing.T) {
	const cols = 60
	g := grid.New(grid.NewFrame(0, 0, 3, 1), cols, 1)
	dir, acc := make([]uint8, cols), make([]uint32, cols)
	for i := range cols {
		g.Z[i], dir[i], acc[i] = float32(cols-i), 1, uint32(i+1)
	}
	dir[cols-1] = flow.Out
	paths := flow.Paths(g, dir, acc, 100)
	if len(paths) != 1 || len(paths[0].Line) != cols-33 || paths[0].Area != 3*cols {
		t.Fatalf("%+v", paths)
	}
}
