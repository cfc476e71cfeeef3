package flow_test

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
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// python is Debian's, which has the reference libraries.
const python = "/usr/bin/python3"

// needReference skips where the reference libraries are not installed; in CI
// they must be.
func needReference(t *testing.T) {
	t.Helper()
	if out, err := exec.Command(python, "-c", "import numpy, scipy, skimage, matplotlib").CombinedOutput(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("scikit-image, scipy or matplotlib is missing: %s", out)
		}
		t.Skip("scikit-image, scipy or matplotlib is not installed: .ci/setup installs them")
	}
}

// randomGrid draws relief of one of four kinds: rough, whole numbers full of
// flats, smooth, and rough with voids.
func randomGrid(rng *rand.Rand, kind int) *grid.Grid {
	cols, rows := 3+rng.IntN(30), 3+rng.IntN(30)
	g := grid.New(grid.NewFrame(0, 0, 1, 1+rng.Float64()), cols, rows)
	for i := range g.Z {
		c, r := g.Cell(i)
		switch kind {
		case 1:
			g.Z[i] = float32(rng.IntN(5)) - 2
		case 2:
			g.Z[i] = float32(math.Sin(float64(c)*0.7) + math.Cos(float64(r)*0.5) + 0.01*rng.Float64())
		default:
			g.Z[i] = float32(rng.NormFloat64())
		}
		if kind == 3 && rng.IntN(12) == 0 {
			g.Z[i] = float32(math.NaN())
		}
	}
	return g
}

func write(t *testing.T, path string, v any) {
	t.Helper()
	var b bytes.Buffer
	if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func load[T float32 | float64](t *testing.T, path string, n int) []T {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]T, n)
	if err := binary.Read(bytes.NewReader(data), binary.LittleEndian, out); err != nil {
		t.Fatal(err)
	}
	return out
}

// Filling is grey reconstruction by erosion (scikit-image), accumulation by one
// way and by shares the solution of a sparse linear system (scipy), on 1,000
// random grids; filling also on the elevation sample that Debian's
// python-matplotlib-data ships.
func TestReferenceLibraries(t *testing.T) {
	needReference(t)
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(31, 37))
	var list bytes.Buffer
	grids := map[string]*grid.Grid{}
	filled := map[string]*grid.Grid{}
	counts, parts := map[string][]uint32{}, map[string][]uint64{}
	for n := range 1000 {
		name := fmt.Sprintf("g%d", n)
		g := randomGrid(rng, n%4)
		if low, _ := g.Range(); math.IsNaN(low) {
			continue
		}
		f := fill.Depressions(g)
		d := flow.Directions(f)
		grids[name], filled[name], counts[name] = g, f, flow.Accumulate(f, d)
		parts[name] = flow.Disperse(f, d, whole)
		write(t, filepath.Join(dir, name+".z"), g.Z)
		write(t, filepath.Join(dir, name+".dir"), d)
		fmt.Fprintln(&list, name, g.Rows, g.Cols, g.CellY)
	}
	fmt.Fprintln(&list, "jacksboro", 0, 0, 0)
	if err := os.WriteFile(filepath.Join(dir, "grids.txt"), list.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, filepath.Join("testdata", "reference.py"), dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v", err)
	}
	for name, g := range grids {
		for i, want := range load[float32](t, filepath.Join(dir, name+".fill"), len(g.Z)) {
			if got := filled[name].Z[i]; got != want && !(got != got && want != want) {
				t.Fatalf("%s cell %d filled to %v, scikit-image %v", name, i, got, want)
			}
		}
		for i, want := range load[float64](t, filepath.Join(dir, name+".acc"), len(g.Z)) {
			if !g.Void(i) && math.Abs(float64(counts[name][i])-want) > 1e-6 {
				t.Fatalf("%s cell %d drains %d cells, scipy %v", name, i, counts[name][i], want)
			}
		}
		for i, want := range load[float64](t, filepath.Join(dir, name+".mfd"), len(g.Z)) {
			if got := float64(parts[name][i]) / flow.Parts; !g.Void(i) && math.Abs(got-want) > 1e-6 {
				t.Fatalf("%s cell %d drains %v cells in shares, scipy %v", name, i, got, want)
			}
		}
	}
	var name string
	var rows, cols int
	if _, err := fmt.Sscan(string(out), &name, &rows, &cols); err != nil {
		t.Fatal(err)
	}
	g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
	copy(g.Z, load[float32](t, filepath.Join(dir, "jacksboro.z"), rows*cols))
	f := fill.Depressions(g)
	raised := 0
	for i, want := range load[float32](t, filepath.Join(dir, "jacksboro.fill"), rows*cols) {
		if f.Z[i] != want {
			t.Fatalf("jacksboro cell %d filled to %v, scikit-image %v", i, f.Z[i], want)
		}
		if want > g.Z[i] {
			raised++
		}
	}
	if raised == 0 {
		t.Error("nothing was filled on the real raster: the test has lost its grip")
	}
}

// Laws on random grids: filled is never below the input and is an input value,
// filling twice changes nothing, every way leaves the grid, and what drains out
// adds up to all there is.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 43))
	for n := range 400 {
		g := randomGrid(rng, n%4)
		f := fill.Depressions(g)
		values := map[float32]bool{}
		for _, z := range g.Z {
			values[z] = true
		}
		again := fill.Depressions(f)
		d := flow.Directions(f)
		acc := flow.Accumulate(f, d)
		out, known := 0, 0
		for i := range f.Z {
			if g.Void(i) {
				continue
			}
			known++
			if f.Z[i] < g.Z[i] || !values[f.Z[i]] || again.Z[i] != f.Z[i] {
				t.Fatalf("grid %d cell %d: %v filled to %v, again to %v", n, i, g.Z[i], f.Z[i], again.Z[i])
			}
			j, steps := i, 0
			for k := flow.Next(f, d, j); k >= 0; k = flow.Next(f, d, j) {
				if f.Z[k] > f.Z[j] || f.Void(k) {
					t.Fatalf("grid %d: water climbs from %v to %v", n, f.Z[j], f.Z[k])
				}
				j = k
				if steps++; steps > len(f.Z) {
					t.Fatalf("grid %d: water from cell %d goes in a circle", n, i)
				}
			}
			if c, r := f.Cell(j); !f.DrainsOut(c, r) {
				t.Fatalf("grid %d: water from cell %d stops inside", n, i)
			}
			if flow.Next(f, d, i) < 0 {
				out += int(acc[i])
			}
		}
		if out != known {
			t.Fatalf("grid %d: %d cells drain out of %d", n, out, known)
		}
	}
}
