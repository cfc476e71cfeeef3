package terrain_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// program is an independent reference in C++, which may stand beside the
// repository: its source folder, and what it was built to.
type program struct{ path string }

// findProgram builds the reference; nil where its source, which is no part of the
// repository, is not there. One that is named by CURBFALL_TERRAIN_REFERENCE must
// be, and so must a compiler for it: .ci/setup installs one.
func findProgram(t testing.TB) *program {
	t.Helper()
	folder, named := os.LookupEnv("CURBFALL_TERRAIN_REFERENCE")
	if !named {
		folder = filepath.Join("..", "..", "shared", "tools", "terrain_oracle")
		if _, err := os.Stat(folder); os.IsNotExist(err) {
			return nil
		}
	}
	p := &program{filepath.Join(t.TempDir(), "reference")}
	source := filepath.Join(folder, "terrain_oracle.cpp")
	if out, err := exec.Command("g++", "-O3", "-march=native", "-std=c++17", "-w", "-DNO_GDAL", "-o", p.path, source, "-pthread").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return p
}

// judgement is what the reference says of a surface.
type judgement struct {
	filled []float32
	dir    []uint8
	acc    []uint32
	shares []float64
	spot   []uint32    // by cell: the row of spots, from 1
	spots  [][]float64 // see the columns below
	stands []float32   // m, of the storm
	mass   struct{ In, Ponded, Lost float64 }
}

// Columns of a judgement's spots.
const (
	spotLevel = iota + 1
	spotCells
	spotVolume
	spotDepth
)

// judge asks the reference; runoff is in metres on every cell.
func (p *program) judge(t *testing.T, s surface, runoff float64) *judgement {
	t.Helper()
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	write(t, path("z"), s.Z)
	cmd := exec.Command(p.path, path("z"), "--raw", strconv.Itoa(s.Cols), strconv.Itoa(s.Rows), "--cell", "1",
		"--steps", "fill_std,fill_radix,onepass_radix,fill_strips,d8,accum,accum_strips,mfd,dep,fsm",
		"--threads", "3", "--runoff", fmt.Sprint(runoff), "--out", path("o"))
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", s.name, err)
	}
	n := len(s.Z)
	j := &judgement{
		filled: load[float32](t, path("o_fill.f32"), n), dir: load[uint8](t, path("o_d8.u8"), n), acc: load[uint32](t, path("o_acc.u32"), n),
		shares: load[float64](t, path("o_mfd.f64"), n), spot: load[uint32](t, path("o_dep.u32"), n), stands: load[float32](t, path("o_pond.f32"), n),
	}
	for dec := json.NewDecoder(bytes.NewReader(out)); dec.More(); { // the storm's line is the last
		if err := dec.Decode(&j.mass); err != nil {
			t.Fatalf("%s: %v", s.name, err)
		}
	}
	table, err := os.ReadFile(path("o_dep.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		spot := make([]float64, len(row))
		for k, text := range row {
			if spot[k], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		j.spots = append(j.spots, spot)
	}
	return j
}

// Tolerances, as shares: sums in another order; shares by pow and by exp and
// log; depths printed in nine digits.
const (
	sumTolerance   = 1e-9
	shareTolerance = 1e-6
	digitTolerance = 1e-7
)

// standTolerance is what a pond's level may differ by, m: the reference keeps
// depths in float32.
const standTolerance = 1e-5

func near(a, b, share float64) bool { return math.Abs(a-b) <= share*max(math.Abs(a), math.Abs(b)) }

// Everything a surface is asked for is what an independent C++ reference says:
// levels, directions, counts, shares, low spots and ponds, on drawn grids of all
// kinds, surfaces with a formula and two real rasters.
func TestIndependentReference(t *testing.T) {
	p := findProgram(t)
	if p == nil {
		t.Skip("the source of the independent C++ reference, no part of the repository, is not beside it; name its folder in CURBFALL_TERRAIN_REFERENCE")
	}
	needPython(t, "numpy, matplotlib")
	rng := rand.New(rand.NewPCG(79, 83))
	surfaces := append(formulas(), samples(t)...)
	for n := range 250 {
		surfaces = append(surfaces, drawn(rng, n%drawnKinds, n))
	}
	spots, ponds := 0, 0
	for k, s := range surfaces {
		runoff := []float64{0.02, 0.2, 0.7, 2, 5, 1e7, 0}[k%7]
		j, a := p.judge(t, s, runoff), solve(s.Grid)
		for i := range s.Z {
			if s.Void(i) {
				j.filled[i] = float32(math.NaN())
			}
		}
		if i := firstUnequal(a.filled.Z, j.filled); i >= 0 {
			t.Fatalf("%s: cell %d filled to %v, the reference %v", s.name, i, a.filled.Z[i], j.filled[i])
		}
		if i := firstUnequal(a.dir, j.dir); i >= 0 {
			t.Fatalf("%s: cell %d drains to %d, the reference %d", s.name, i, a.dir[i], j.dir[i])
		}
		if i := firstUnequal(a.acc, j.acc); i >= 0 {
			t.Fatalf("%s: %d cells drain through cell %d, the reference %d", s.name, a.acc[i], i, j.acc[i])
		}
		for i, parts := range flow.Disperse(a.filled, a.dir, func(int) float64 { return 1 }) {
			if got := float64(parts) / flow.Parts; !s.Void(i) && !near(got, j.shares[i], shareTolerance) {
				t.Fatalf("%s: %v cells drain through cell %d in shares, the reference %v", s.name, got, i, j.shares[i])
			}
		}
		compareSpots(t, s, a, j)
		spots += len(a.spots)
		ponds += compareStorm(t, s, a, j, runoff)
	}
	if spots < 2000 || ponds < 500 {
		t.Fatalf("%d low spots, %d ponds compared: the draw has lost its grip", spots, ponds)
	}
}

func compareSpots(t *testing.T, s surface, a answers, j *judgement) {
	t.Helper()
	if len(a.spots) != len(j.spots) {
		t.Fatalf("%s: %d low spots, the reference %d", s.name, len(a.spots), len(j.spots))
	}
	for _, spot := range a.spots {
		row := j.spot[spot.Cells[0]]
		for _, i := range spot.Cells {
			if j.spot[i] != row || row == 0 {
				t.Fatalf("%s: cells %d and %d are in one low spot, of the reference in %d and %d", s.name, spot.Cells[0], i, row, j.spot[i])
			}
		}
		w := j.spots[row-1]
		if float32(w[spotLevel]) != float32(spot.SpillElevation) || w[spotCells] != float64(len(spot.Cells)) ||
			!near(w[spotVolume], spot.Volume, sumTolerance) || !near(w[spotDepth], spot.Depth, digitTolerance) {
			t.Fatalf("%s: low spot at cell %d spills at %v, %d cells, %v m3, %v m deep; the reference %v", s.name, spot.Cells[0],
				spot.SpillElevation, len(spot.Cells), spot.Volume, spot.Depth, w)
		}
	}
}

// compareStorm compares what stands, and returns how many ponds: cell by cell
// where no elevations are equal. Among equal passes water may go either way; then
// its mass, the brim and what endless runoff leaves are compared.
func compareStorm(t *testing.T, s surface, a answers, j *judgement, runoff float64) (ponds int) {
	t.Helper()
	r, err := storm.Run(depression.Build(s.Grid, nil), storm.Water{Runoff: func(int) float64 { return runoff }})
	if err != nil {
		t.Fatal(err)
	}
	if !near(r.In, r.Ponded+r.Lost, sumTolerance) || !near(r.In, j.mass.In, digitTolerance) {
		t.Fatalf("%s: %v m3 in, %v ponded, %v lost; the reference %+v", s.name, r.In, r.Ponded, r.Lost, j.mass)
	}
	exact := tieFree(s.Grid)
	for i, d := range r.Depth {
		brim := a.filled.Z[i] - s.Z[i]
		switch {
		case s.Void(i):
		case float64(d) > float64(brim)+standTolerance || runoff == 0 && d != 0 || runoff > 1e6 && d != brim:
			t.Fatalf("%s: %v m of runoff stand %v m deep on cell %d, brim full %v", s.name, runoff, d, i, brim)
		case exact && math.Abs(float64(d-j.stands[i])) > standTolerance:
			t.Fatalf("%s: %v m of runoff stand %v m deep on cell %d, the reference %v", s.name, runoff, d, i, j.stands[i])
		}
	}
	if exact {
		ponds = len(r.Ponds)
	}
	return ponds
}

func tieFree(g *grid.Grid) bool {
	known := make(map[float32]bool, len(g.Z))
	for _, z := range g.Z {
		if known[z] {
			return false
		}
		known[z] = z == z
	}
	return true
}

// A plane has no low spots; a cone and a paraboloid of radius R and depth D hold
// pi R R D / 3 and pi R R D / 2, but for the steps of the cells at their rim.
func TestFormulas(t *testing.T) {
	const rimTolerance = 0.01
	for _, s := range formulas() {
		a := solve(s.Grid)
		switch s.name {
		case "plane":
			if len(a.spots) != 0 {
				t.Errorf("%s: %d low spots", s.name, len(a.spots))
			}
			for i, n := range a.acc {
				if c, r := s.Cell(i); r > 0 && r < s.Rows-1 && c > 0 && c < s.Cols-1 && int(n) != s.Cols-1-c {
					t.Fatalf("%s: %d cells drain through column %d", s.name, n, c)
				}
			}
		case "cone", "paraboloid":
			want := math.Pi * radius * radius * depth / 3
			if s.name == "paraboloid" {
				want = math.Pi * radius * radius * depth / 2
			}
			if len(a.spots) == 0 || !near(a.spots[0].Volume, want, rimTolerance) || !near(a.spots[0].SpillElevation, 100+depth, rimTolerance/100) {
				t.Errorf("%s: %+v, by formula %v m3", s.name, a.spots, want)
			}
		}
	}
}
