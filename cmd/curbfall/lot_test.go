package main

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/airbusgeo/godal"
)

// The small lot of the tests: its site lines are testdata/site.geojson, in
// metres of UTM zone 15N; its ground rises 6 % behind a curb at 4399998 north.
const (
	lotSystem = "EPSG:26915+5703"
	lotCells  = 160
	lotCell   = 0.5 // m
	lotWest   = 499966.0
	lotNorth  = 4400046.0
	curbNorth = 4399998.0
	streetZ   = 249.85
)

// rasterKind is one way for a raster to be.
type rasterKind struct {
	system string
	nodata bool
	turn   float64                           // the rotation terms
	stands func(east, north float64) float64 // height of what stands on the ground, m; nil for nothing
}

var rasterKinds = map[string]rasterKind{
	"plane":                {system: lotSystem},
	"all-nodata":           {system: lotSystem, nodata: true},
	"no-coordinate-system": {},
	"no-vertical-unit":     {system: "EPSG:26915"},
	"european":             {system: "EPSG:25832+5703"},
	"rotated":              {system: lotSystem, turn: 0.1},
	"hedged": {system: lotSystem, stands: func(_, north float64) float64 {
		return within(north, 4400030, 4400031)
	}},
	"roofed": {system: lotSystem, stands: func(east, north float64) float64 {
		return math.Min(within(east, 500003, 500009), within(north, 4400007, 4400012))
	}},
}

// within is the height of something 2 m high between two coordinates, 2 m; 0
// elsewhere.
func within(at, from, to float64) float64 {
	if from < at && at < to {
		return 2
	}
	return 0
}

// register makes GDAL's drivers known, once: scripts run side by side.
var register = sync.OnceFunc(godal.RegisterAll)

// writeRaster writes the lot's ground as a GeoTIFF.
func writeRaster(path string, kind rasterKind) (err error) {
	register()
	ds, err := godal.Create(godal.GTiff, path, 1, godal.Float32, lotCells, lotCells)
	if err != nil {
		return err
	}
	if kind.system != "" {
		ref, err := godal.NewSpatialRef(kind.system)
		if err != nil {
			return err
		}
		defer ref.Close()
		if err := ds.SetSpatialRef(ref); err != nil {
			return err
		}
	}
	if err := ds.SetGeoTransform([6]float64{lotWest, lotCell, kind.turn, lotNorth, kind.turn, -lotCell}); err != nil {
		return err
	}
	if err := ds.SetNoData(-9999); err != nil {
		return err
	}
	z := make([]float32, lotCells*lotCells)
	for i := range z {
		north := lotNorth - lotCell*(float64(i/lotCells)+0.5)
		switch z[i] = float32(250 + 0.06*math.Max(0, north-curbNorth)); {
		case kind.nodata:
			z[i] = -9999
		case north < curbNorth:
			z[i] = streetZ
		}
		if kind.stands != nil {
			z[i] += float32(kind.stands(lotWest+lotCell*(float64(i%lotCells)+0.5), north))
		}
	}
	if err := ds.Bands()[0].Write(0, 0, z, lotCells, lotCells); err != nil {
		return err
	}
	return ds.Close()
}

// writeLot writes the small lot into a folder: ground.tif and site.geojson.
func writeLot(folder string) error {
	site, err := os.ReadFile(filepath.Join("testdata", "site.geojson"))
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(folder, "site.geojson"), site, 0o600); err != nil {
		return err
	}
	return writeRaster(filepath.Join(folder, "ground.tif"), rasterKinds["plane"])
}

// lot is the small lot in a folder of its own: its site as text to be spoiled.
type lot struct{ folder, dem, site, text string }

func goodLot(t *testing.T) lot {
	t.Helper()
	dir := t.TempDir()
	if err := writeLot(dir); err != nil {
		t.Fatal(err)
	}
	l := lot{folder: dir, dem: filepath.Join(dir, "ground.tif"), site: filepath.Join(dir, "site.geojson")}
	data, err := os.ReadFile(l.site)
	if err != nil {
		t.Fatal(err)
	}
	l.text = string(data)
	return l
}

func (l lot) write(t *testing.T) {
	t.Helper()
	if err := os.WriteFile(l.site, []byte(l.text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func (l lot) args(more ...string) []string {
	return append([]string{"route", "--dem", l.dem, "--site", l.site, "--out", filepath.Join(l.folder, "out")}, more...)
}

// runQuietly runs the program in process and returns its status and what it
// said.
func runQuietly(t *testing.T, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	capture := func(f **os.File) func() string {
		old := *f
		tmp, err := os.CreateTemp(t.TempDir(), "out")
		if err != nil {
			t.Fatal(err)
		}
		*f = tmp
		return func() string {
			*f = old
			_, _ = tmp.Seek(0, io.SeekStart)
			data, _ := io.ReadAll(tmp)
			_ = tmp.Close()
			return string(data)
		}
	}
	out, errs := capture(&os.Stdout), capture(&os.Stderr)
	status = run(args)
	return status, out(), errs()
}

// leftovers returns folders in the making that were left behind.
func leftovers(folder string) []string {
	left, _ := filepath.Glob(filepath.Join(folder, ".*making*"))
	return left
}
