package vector

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

// invented is one layer of each kind, with what is missing as NaN and nil, in
// site metres of a system in US survey feet.
func invented() []Layer {
	square := func(x, y, s float64) orb.Ring {
		return orb.Ring{{x, y}, {x + s, y}, {x + s, y + s}, {x, y + s}, {x, y}}
	}
	return []Layer{
		LowSpots([]LowSpot{{ID: "low-1", Outline: orb.Polygon{square(300000, 200000, 9), square(300003, 200003, 2)}, Depth: 0.1, Area: 77, Volume: 3, SpillElevation: 30, ContributingArea: 400, TouchesEdge: true}}),
		{Name: "pipes", Geometry: "LineString", Features: []Feature{
			{orb.LineString{{300000, 200000}, {300012.5, 200000}}, []Property{{"id", "p1"}, {"length_m", 12.5}, {"cover_min_m", math.NaN()}, {"material", "SDR 35"}}},
			{orb.LineString{{300012.5, 200000}, {300012.5, 200010}}, []Property{{"id", "p2"}, {"length_m", 10.0}, {"cover_min_m", 0.2}, {"material", nil}}},
		}},
		{Name: "crossings", Geometry: "Point"},
		{Name: "nodes", Geometry: "Point", Features: []Feature{{orb.Point{300000, 200000}, []Property{{"id", "n1"}, {"assumed", true}, {"roof", nil}}}}},
	}
}

func feetSystem(t *testing.T) *crs.System {
	t.Helper()
	s, err := crs.Parse("EPSG:2264") // US survey feet
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestGeoPackageReopens(t *testing.T) {
	file := filepath.Join(t.TempDir(), "design.gpkg")
	system := feetSystem(t)
	layers := invented()
	if err := WriteGeoPackage(file, system, layers); err != nil {
		t.Fatal(err)
	}
	ds, err := godal.Open(file, godal.VectorOnly())
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	found := map[string]godal.Layer{}
	for _, l := range ds.Layers() {
		found[l.Name()] = l
	}
	for _, want := range layers {
		l, ok := found[want.Name]
		if !ok {
			t.Errorf("no layer %s", want.Name)
			continue
		}
		if n, _ := l.FeatureCount(); n != len(want.Features) {
			t.Errorf("%s has %d features, want %d", want.Name, n, len(want.Features))
		}
		if ref := l.SpatialRef(); ref == nil || ref.AuthorityCode("") != "2264" {
			t.Errorf("%s is not in the project's system", want.Name)
		}
	}
	if n, _ := found["layer_styles"].FeatureCount(); n != len(layers) {
		t.Errorf("%d styles, want %d", n, len(layers))
	}
	pipes := found["pipes"]
	f := pipes.NextFeature()
	defer f.Close()
	if v := f.Fields()["length_m"].Float(); v != 12.5 {
		t.Errorf("length %v, want 12.5", v)
	}
	b, err := f.Geometry().Bounds()
	if err != nil {
		t.Fatal(err)
	}
	// 300000 m is 984250 US survey feet exactly: 3937/1200 feet a metre (EPSG:9003).
	if math.Abs(b[0]-984250) > 1e-6 || math.Abs(b[2]-b[0]-12.5*3937/1200) > 1e-6 {
		t.Errorf("pipe spans %v, want feet from 984250", b)
	}
}

// What does not apply is NULL, not 0 nor an empty word.
func TestGeoPackageNull(t *testing.T) {
	file := filepath.Join(t.TempDir(), "design.gpkg")
	if err := WriteGeoPackage(file, feetSystem(t), invented()); err != nil {
		t.Fatal(err)
	}
	ds, err := godal.Open(file, godal.VectorOnly())
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	for _, where := range []string{
		"pipes WHERE cover_min_m IS NULL AND id = 'p1'", "pipes WHERE material IS NULL AND id = 'p2'",
		"nodes WHERE roof IS NULL AND assumed = 1", "low_spots WHERE parent IS NULL",
	} {
		rows, err := ds.ExecuteSQL("SELECT count(*) AS n FROM " + where)
		if err != nil {
			t.Fatal(err)
		}
		f := rows.NextFeature()
		if n := f.Fields()["n"].Int(); n != 1 {
			t.Errorf("%d rows of %s, want 1", n, where)
		}
		f.Close()
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestGeoPackageSameBytes(t *testing.T) {
	dir := t.TempDir()
	var was []byte
	for i, name := range []string{"a.gpkg", "b.gpkg"} {
		if i > 0 {
			time.Sleep(1100 * time.Millisecond) // a stamp in seconds would show
		}
		file := filepath.Join(dir, name)
		if err := WriteGeoPackage(file, feetSystem(t), invented()); err != nil {
			t.Fatal(err)
		}
		now, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 && !bytes.Equal(was, now) {
			t.Error("the same layers give other bytes a second later")
		}
		was = now
	}
}
