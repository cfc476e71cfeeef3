package terrain_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/flow"
)

// Drainage as questions about graphs, answered by networkx on 1,000 drawn grids,
// surfaces with a formula and two real rasters. A cell is filled to the highest
// point of the way out that climbs least; directions make a graph without
// circles, its order counts what drains and its ancestors are a catchment; what
// drains to one pit hangs together, and so does a low spot.
func TestGraphs(t *testing.T) {
	needPython(t, "networkx, numpy, matplotlib")
	rng := rand.New(rand.NewPCG(71, 73))
	surfaces := append(formulas(), samples(t)...)
	for n := range 1000 {
		surfaces = append(surfaces, drawn(rng, n%drawnKinds, n))
	}
	dir := t.TempDir()
	path := func(k int, kind string) string { return filepath.Join(dir, fmt.Sprintf("%d.%s", k, kind)) }
	var list bytes.Buffer
	found := make([]answers, len(surfaces))
	looked := make([]int, len(surfaces))
	for k, s := range surfaces {
		found[k] = solve(s.Grid)
		for looked[k] = rng.IntN(len(s.Z)); s.Void(looked[k]); looked[k] = rng.IntN(len(s.Z)) {
		}
		for next := flow.Next(s.Grid, found[k].dir, looked[k]); next >= 0 && found[k].acc[looked[k]] < 10; next = flow.Next(s.Grid, found[k].dir, next) {
			looked[k] = next // down to where something has gathered
		}
		write(t, path(k, "z"), s.Z)
		write(t, path(k, "dir"), found[k].dir)
		write(t, path(k, "bare"), flow.Directions(s.Grid))
		fmt.Fprintln(&list, k, s.Rows, s.Cols, looked[k])
	}
	if err := os.WriteFile(filepath.Join(dir, "grids.txt"), list.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(python, filepath.Join("testdata", "graph.py"), dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var grip struct{ raised, up, basins, spots int }
	for k, s := range surfaces {
		n, a := len(s.Z), found[k]
		level := load[float32](t, path(k, "level"), n)
		if i := firstUnequal(a.filled.Z, level); i >= 0 {
			t.Fatalf("%s: cell %d filled to %v, networkx %v", s.name, i, a.filled.Z[i], level[i])
		}
		acc := load[uint32](t, path(k, "acc"), n)
		if i := firstUnequal(a.acc, acc); i >= 0 {
			t.Fatalf("%s: %d cells drain through cell %d, networkx %d", s.name, a.acc[i], i, acc[i])
		}
		up := load[uint8](t, path(k, "up"), n)
		if i := firstUnequal(catchment(s, a.dir, looked[k]), up); i >= 0 {
			t.Fatalf("%s: whether cell %d drains through cell %d: networkx %d", s.name, i, looked[k], up[i])
		}
		basin := load[int32](t, path(k, "basin"), n)
		if i := firstUnequal(basins(s), basin); i >= 0 {
			t.Fatalf("%s: cell %d drains to another pit than cell %d of networkx", s.name, i, basin[i])
		}
		spot := load[int32](t, path(k, "spot"), n)
		if i := firstUnequal(spots(s, a), spot); i >= 0 {
			t.Fatalf("%s: cell %d is in another low spot than cell %d of networkx", s.name, i, spot[i])
		}
		for i := range s.Z {
			if level[i] > s.Z[i] {
				grip.raised++
			}
			grip.up += int(up[i])
			if basin[i] == int32(i) {
				grip.basins++
			}
			if spot[i] == int32(i) {
				grip.spots++
			}
		}
	}
	if grip.raised < 20000 || grip.up < 5000 || grip.basins < 5000 || grip.spots < 5000 {
		t.Fatalf("%+v: the draw has lost its grip", grip)
	}
}

// catchment marks the cells that drain through one.
func catchment(s surface, dir []uint8, through int) []uint8 {
	in := make([]uint8, len(s.Z))
	for _, i := range flow.Upstream(s.Grid, dir, through) {
		in[i] = 1
	}
	return in
}

// basins gives each cell the first of those that drain to the same pit, -1 where
// water runs outside.
func basins(s surface) []int32 {
	tree := depression.Build(s.Grid, nil)
	first := make([]int32, tree.Leaves)
	of := make([]int32, len(s.Z))
	for i := len(of) - 1; i >= 0; i-- {
		if n := tree.Of[i]; n != depression.None {
			first[n] = int32(i)
		}
	}
	for i := range of {
		of[i] = -1
		if n := tree.Of[i]; n != depression.None {
			of[i] = first[n]
		}
	}
	return of
}

// spots gives each cell the first of its low spot, -1 where it is in none.
func spots(s surface, a answers) []int32 {
	of := make([]int32, len(s.Z))
	for i := range of {
		of[i] = -1
	}
	for _, spot := range a.spots {
		for _, i := range spot.Cells {
			of[i] = int32(spot.Cells[0])
		}
	}
	return of
}
