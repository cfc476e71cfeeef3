package lowspot_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/grid"
)

// python is Debian's, which has the reference libraries.
const python = "/usr/bin/python3"

// Low spots are the 8-connected components of scipy's ndimage where the filled
// surface stands above the ground, with their cells, volumes and depths.
func TestReferenceLibrary(t *testing.T) {
	if out, err := exec.Command(python, "-c", "import numpy, scipy").CombinedOutput(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("scipy is missing: %s", out)
		}
		t.Skip("scipy is not installed: .ci/setup installs it")
	}
	dir := t.TempDir()
	write := func(name string, z []float32) {
		var b bytes.Buffer
		if err := binary.Write(&b, binary.LittleEndian, z); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	rng := rand.New(rand.NewPCG(61, 62))
	var list bytes.Buffer
	grids := map[string]*grid.Grid{}
	for n := range 200 {
		g := grid.New(grid.NewFrame(0, 0, 1, 1), 3+rng.IntN(30), 3+rng.IntN(30))
		for i := range g.Z {
			g.Z[i] = float32(rng.NormFloat64())
			if n%3 == 1 {
				g.Z[i] = float32(rng.IntN(4))
			}
			if n%3 == 2 && rng.IntN(15) == 0 {
				g.Z[i] = float32(math.NaN())
			}
		}
		name := fmt.Sprintf("g%d", n)
		grids[name] = g
		write(name+".z", g.Z)
		write(name+".fill", fill.Depressions(g).Z)
		fmt.Fprintln(&list, name, g.Rows, g.Cols)
	}
	if err := os.WriteFile(filepath.Join(dir, "grids.txt"), list.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, filepath.Join("testdata", "reference.py"), dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	type key struct {
		name  string
		first int
	}
	type spot struct {
		cells         int
		volume, depth float64
	}
	want := map[key]spot{}
	for lines := bytes.NewReader(out); ; {
		var k key
		var s spot
		if _, err := fmt.Fscan(lines, &k.name, &k.first, &s.cells, &s.volume, &s.depth); err != nil {
			break
		}
		want[k] = s
	}
	found := 0
	for name, g := range grids {
		spots, _ := find(g)
		for _, s := range spots {
			found++
			w, ok := want[key{name, s.Cells[0]}]
			if !ok || w.cells != len(s.Cells) || math.Abs(w.volume-s.Volume) > 1e-9*w.volume || w.depth != s.Depth {
				t.Fatalf("%s: %d cells from %d, %v m3, %v m deep; scipy %+v", name, len(s.Cells), s.Cells[0], s.Volume, s.Depth, w)
			}
		}
	}
	if found != len(want) || found < 1000 {
		t.Fatalf("%d low spots, scipy has %d", found, len(want))
	}
}
