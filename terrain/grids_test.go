package terrain_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
)

// python is Debian's, which has the reference libraries.
const python = "/usr/bin/python3"

// needPython skips where a reference library is not installed; in CI it must be.
func needPython(t *testing.T, libraries string) {
	t.Helper()
	if out, err := exec.Command(python, "-c", "import "+libraries).CombinedOutput(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s: one is missing: %s", libraries, out)
		}
		t.Skipf("%s: one is not installed: .ci/setup installs them", libraries)
	}
}

// surface is ground to be compared on.
type surface struct {
	name string
	*grid.Grid
}

// shaped makes square cells of a formula.
func shaped(name string, cols, rows int, z func(c, r int) float64) surface {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
	for i := range g.Z {
		g.Z[i] = float32(z(g.Cell(i)))
	}
	return surface{name, g}
}

const drawnKinds = 5

// drawn draws relief: rough, whole numbers full of flats, smooth, rough with
// voids, and pits within pits.
func drawn(rng *rand.Rand, kind, n int) surface {
	cols, rows := 3+rng.IntN(22), 3+rng.IntN(22)
	u, v := float64(cols)*rng.Float64(), float64(rows)*rng.Float64()
	return shaped(fmt.Sprintf("%s %d", [drawnKinds]string{"rough", "whole numbers", "smooth", "voids", "pits in pits"}[kind], n), cols, rows, func(c, r int) float64 {
		switch kind {
		case 1:
			return float64(rng.IntN(5)) - 2
		case 2:
			return math.Sin(float64(c)*0.7) + math.Cos(float64(r)*0.5) + 0.01*rng.Float64()
		case 3:
			if rng.IntN(12) == 0 {
				return math.NaN()
			}
		case 4:
			return 0.3*math.Hypot(float64(c)-u, float64(r)-v) + math.Sin(1.3*float64(c))*math.Sin(1.1*float64(r)) + 0.2*rng.NormFloat64()
		}
		return rng.NormFloat64()
	})
}

// The middle, the radius and the depth of the hollows with a formula.
const middle, radius, depth = 30, 20.0, 2.0

func fromMiddle(c, r int) float64 { return math.Hypot(float64(c-middle), float64(r-middle)) }

// hollow is a hollow of depth in ground that falls away from its rim.
func hollow(name string, profile func(share float64) float64) surface {
	return shaped(name, 2*middle+1, 2*middle+1, func(c, r int) float64 {
		d := fromMiddle(c, r)
		if d > radius {
			return 100 + depth - 0.001*(d-radius)
		}
		return 100 + depth*profile(d/radius)
	})
}

// formulas are surfaces whose answers are known.
func formulas() []surface {
	return []surface{
		shaped("plane", 61, 40, func(c, _ int) float64 { return 50 + 0.02*float64(c) }),
		shaped("tilted plane", 40, 61, func(c, r int) float64 { return 50 + 0.02*float64(c) + 0.013*float64(r) }),
		hollow("cone", func(s float64) float64 { return s }),
		hollow("paraboloid", func(s float64) float64 { return s * s }),
		shaped("nested pits", 2*middle+1, 2*middle+1, func(c, r int) float64 {
			if d := fromMiddle(c, r); d >= 22 {
				return 15 + 0.2*(22-d)
			}
			x, y := float64(c-middle), float64(r-middle)
			return 10 + min(5, ((x+8)*(x+8)+y*y)/40, ((x-8)*(x-8)+y*y)/60+0.05)
		}),
	}
}

// samples are the real rasters that Debian's python-matplotlib-data ships: 344
// by 403 cells of hills in whole metres, and 91 by 120 of a coast.
func samples(t *testing.T) (list []surface) {
	t.Helper()
	dir := t.TempDir()
	cmd := exec.Command(python, filepath.Join("testdata", "samples.py"), dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(out)) {
		var name string
		var rows, cols int
		if _, err := fmt.Sscan(line, &name, &rows, &cols); err != nil {
			t.Fatal(err)
		}
		g := grid.New(grid.NewFrame(0, 0, 1, 1), cols, rows)
		copy(g.Z, load[float32](t, filepath.Join(dir, name+".z"), len(g.Z)))
		list = append(list, surface{name, g})
	}
	return list
}

// answers are what the engine says of a surface.
type answers struct {
	filled *grid.Grid
	dir    []uint8
	acc    []uint32
	spots  []lowspot.LowSpot
}

func solve(g *grid.Grid) answers {
	f := fill.Depressions(g)
	dir := flow.Directions(f)
	spots, _ := lowspot.Find(g, f, dir, lowspot.Least{})
	return answers{f, dir, flow.Accumulate(f, dir), spots}
}

func write(t testing.TB, path string, v any) {
	t.Helper()
	var b bytes.Buffer
	if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func load[T any](t *testing.T, path string, n int) []T {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]T, n)
	if err := binary.Read(bytes.NewReader(data), binary.LittleEndian, out); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return out
}

// firstUnequal is where two fields differ first, voids being equal; -1 for
// nowhere.
func firstUnequal[T int32 | uint8 | uint32 | uint64 | float32](a, b []T) int {
	for k := range a {
		if a[k] != b[k] && (a[k] == a[k] || b[k] == b[k]) {
			return k
		}
	}
	return -1
}
