package lotrun

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"curbfall/io/raster"
	"curbfall/terrain/grid"
)

// terraces writes ground in steps with pits, closed voids and open ones.
func terraces(t *testing.T, path, system string, cols, rows int) {
	t.Helper()
	rng := rand.New(rand.NewPCG(71, 72))
	g := grid.New(grid.NewFrame(500000, 4400000, 0.5, 0.5), cols, rows)
	for i := range g.Z {
		c, r := g.Cell(i)
		if rng.IntN(60) > 0 && math.Hypot(float64(c-30), float64(r%100-50)) > 6 {
			g.Z[i] = float32(math.Round(4*(9+0.02*float64(c)+math.Sin(float64(r)/20)+0.3*rng.NormFloat64())) / 4)
		}
	}
	if err := raster.WriteGround(path, g, system); err != nil {
		t.Fatal(err)
	}
}

// values reads a raster's cells, exact for numbers below 2^24.
func values(t *testing.T, path string) []float32 {
	t.Helper()
	d, err := raster.Open(path, "m")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	w, err := d.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return w.Z
}

// sameGrids compares two folders' grids cell by cell.
func sameGrids(t *testing.T, what, folder, whole string) {
	t.Helper()
	for _, name := range []string{filledRaster, depthRaster, directionRaster, areaRaster} {
		want, got := values(t, filepath.Join(whole, name)), values(t, filepath.Join(folder, name))
		for i := range want {
			if got[i] != want[i] && (got[i] == got[i] || want[i] == want[i]) {
				t.Fatalf("%s, %s, cell %d: %v, of the whole %v", what, name, i, got[i], want[i])
			}
		}
	}
}

// The grids of a raster worked on in bands, or in memory for themselves alone, are
// those of the whole, cell by cell, whatever the bands' height, in metres and in
// feet.
func TestLargeRasters(t *testing.T) {
	const cols, rows = 90, 700
	for system, unit := range map[string]string{"EPSG:26915+5703": "", "EPSG:26915": "us-ft"} {
		folder := t.TempDir()
		in := Inputs{DEM: filepath.Join(folder, "ground.tif"), VerticalUnit: unit}
		terraces(t, in.DEM, system, cols, rows)
		whole := filepath.Join(folder, "whole")
		if _, err := Terrain(context.Background(), in, Output{Folder: whole, Rasters: true}); err != nil {
			t.Fatal(err)
		}
		for _, height := range []int{80, 128, 512} {
			out := Output{Folder: filepath.Join(folder, "bands"), Overwrite: true, Rasters: true, Memory: height * cols * bandCell}
			done, err := Terrain(context.Background(), in, out)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(done.Report, "in bands of") || !strings.Contains(done.Summary, `"low_spots": null`) {
				t.Fatalf("memory for %d rows: %s%s", height, done.Report, done.Summary)
			}
			sameGrids(t, fmt.Sprintf("%s, memory for %d rows", system, height), out.Folder, whole)
		}
		alone := filepath.Join(folder, "alone")
		gridsInMemory(t, in, alone)
		sameGrids(t, system+", in memory", alone, whole)
	}
}

// gridsInMemory makes the grids as it is done of a raster of a million cells.
func gridsInMemory(t *testing.T, in Inputs, folder string) {
	t.Helper()
	d, err := raster.Open(in.DEM, in.VerticalUnit)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	b, err := d.Banded(alignedRows)
	if err != nil {
		t.Fatal(err)
	}
	l := &large{Banded: b, dem: d, folder: folder}
	if err := l.inMemory(context.Background()); err == nil || !strings.Contains(err.Error(), filledRaster) {
		t.Fatalf("written to a folder that is not there: %v", err)
	}
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := l.inMemory(context.Background()); err != nil {
		t.Fatal(err)
	}
}

// A raster that is no local file has the same hash looked at whole and in bands.
func TestLargeDigest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ground.tif")
	terraces(t, path, "EPSG:26915+5703", 60, 600)
	d, err := raster.Open("/vsisubfile/0,"+path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	g := &given{in: Inputs{DEM: d.Path}, dem: d}
	bands, err := g.digests(context.Background(), &folder{making: "none"})
	if err != nil {
		t.Fatal(err)
	}
	if g.window, err = d.ReadAll(); err != nil {
		t.Fatal(err)
	}
	whole, err := g.digests(context.Background(), &folder{making: "none"})
	if err != nil || bands[0] != whole[0] {
		t.Errorf("in bands %v, whole %v, %v", bands, whole, err)
	}
}

// Bands are for what memory does not take beside GDAL's cache and the program.
func TestGridsFit(t *testing.T) {
	const gibi = 1 << 30
	for _, tt := range []struct {
		cells, memory int
		fits          bool
	}{
		{1, gibi + atAnyRate, false}, {1, gibi + atAnyRate + gridsCell, true}, {2, gibi + atAnyRate + gridsCell, false},
		{(8*gibi - gibi - atAnyRate) / gridsCell, 8 * gibi, true}, {(8*gibi-gibi-atAnyRate)/gridsCell + 1, 8 * gibi, false},
	} {
		if gridsFit(tt.cells, tt.memory, gibi) != tt.fits {
			t.Errorf("%+v", tt)
		}
	}
}

// A stop between bands leaves nothing behind, as do a raster with no ground and
// too little memory.
func TestLargeLeavesNothing(t *testing.T) {
	folder := t.TempDir()
	in := Inputs{DEM: filepath.Join(folder, "ground.tif")}
	terraces(t, in.DEM, "EPSG:26915+5703", 50, 100)
	out := Output{Folder: filepath.Join(folder, "out"), Rasters: true, Memory: 30 * 50 * bandCell}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Terrain(ctx, in, out); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if err := raster.WriteGround(in.DEM, grid.New(grid.NewFrame(500000, 4400000, 1, 1), 50, 100), "EPSG:26915+5703"); err != nil {
		t.Fatal(err)
	}
	var refused *InputError
	if _, err := Terrain(context.Background(), in, out); !errors.As(err, &refused) || !strings.Contains(err.Error(), "all 5000 cells are nodata") {
		t.Errorf("no ground: %v", err)
	}
	out.Memory = leastMemory(50, 100) - 1
	if _, err := Terrain(context.Background(), in, out); !errors.As(err, &refused) || !strings.Contains(err.Error(), "0.108 MiB of memory at least, more than --memory 0.108 MiB; give more") {
		t.Errorf("too little memory: %v", err)
	}
	if left, _ := os.ReadDir(folder); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}
