package vector

import (
	"archive/zip"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"

	"curbfall/io/crs"
	"curbfall/routing/constraint"
)

// converted writes site lines in another format with OGR, as a user would.
func converted(t *testing.T, text, name string, switches ...string) string {
	t.Helper()
	godal.RegisterAll()
	dir := t.TempDir()
	from, to := filepath.Join(dir, "from.geojson"), filepath.Join(dir, name)
	if err := os.WriteFile(from, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	ds, err := godal.Open(from, godal.VectorOnly())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = ds.Close() }()
	out, err := ds.VectorTranslate(to, switches, quiet)
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return to
}

func siteOf(t *testing.T, file, system string) (*constraint.Site, []string) {
	t.Helper()
	lines, err := Read(file)
	if err != nil {
		t.Fatal(err)
	}
	to, err := crs.Parse(system)
	if err != nil {
		t.Fatal(err)
	}
	s, notices, err := lines.Site(to, 1, Trunk{0.3, 2.5})
	if err != nil {
		t.Fatal(err)
	}
	return s, notices
}

// apart is how far two lines with the same corners lie apart, m.
func apart(t *testing.T, a, b []orb.Point) (most float64) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%d corners and %d", len(a), len(b))
	}
	for i := range a {
		most = math.Max(most, math.Hypot(a[i][0]-b[i][0], a[i][1]-b[i][1]))
	}
	return most
}

// The same lines in any format, in degrees, metres or feet, are the same site.
// Latitude comes first in EPSG:4326 and 4269 by the letter; files have it
// second.
func TestFormats(t *testing.T) {
	const (
		lot  = `{"type": "Feature", "properties": {"kind": "lot", "id": "L"}, "geometry": {"type": "Polygon", "coordinates": [[[-80.68671234567,28.0330],[-80.6865,28.0330],[-80.6865,28.03312345678],[-80.68671234567,28.0330]]]}}`
		roof = `{"type": "Feature", "properties": {"kind": "roof", "id": "R", "finished_floor": 8.5}, "geometry": {"type": "Polygon", "coordinates": [[[-80.6866,28.03301],[-80.6865,28.03301],[-80.6865,28.0331],[-80.6866,28.03301]]]}}`
		curb = `{"type": "Feature", "properties": {"kind": "curb", "id": "C", "type": "rolled", "gutter_elevation": [7.25, 7.5, 8]}, "geometry": {"type": "LineString", "coordinates": [[-80.687,28.0329],[-80.6866,28.0329],[-80.686,28.0329]]}}`
	)
	text := func(f ...string) string {
		return `{"type": "FeatureCollection", "features": [` + strings.Join(f, ",") + `]}`
	}
	plain := filepath.Join(t.TempDir(), "site.geojson")
	if err := os.WriteFile(plain, []byte(text(lot, roof, curb)), 0o600); err != nil {
		t.Fatal(err)
	}
	const system = "EPSG:26917"
	want, _ := siteOf(t, plain, system)
	for _, c := range []struct {
		name, file, text string
		switches         []string
		roof, curb       bool
	}{
		{"GeoPackage in degrees", "a.gpkg", text(lot, roof, curb), []string{"-f", "GPKG"}, true, true},
		{"GeoPackage in NAD83 degrees", "b.gpkg", text(lot, roof, curb), []string{"-f", "GPKG", "-t_srs", "EPSG:4269"}, true, true},
		{"GeoPackage in metres", "c.gpkg", text(lot, roof, curb), []string{"-f", "GPKG", "-t_srs", system}, true, true},
		{"GeoPackage in US survey feet", "d.gpkg", text(lot, roof, curb), []string{"-f", "GPKG", "-t_srs", "EPSG:2236"}, true, true},
		{"GeoPackage, Web Mercator", "e.gpkg", text(lot, roof, curb), []string{"-f", "GPKG", "-t_srs", "EPSG:3857"}, true, true},
		{"Shapefile in degrees", "f.shp", text(lot), []string{"-f", "ESRI Shapefile"}, false, false},
		{"Shapefile in metres", "g.shp", text(lot), []string{"-f", "ESRI Shapefile", "-t_srs", system}, false, false},
		{"Shapefile in US survey feet", "h.shp", text(lot), []string{"-f", "ESRI Shapefile", "-t_srs", "EPSG:2236"}, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, notices := siteOf(t, converted(t, c.text, c.file, c.switches...), system)
			if len(notices) > 0 {
				t.Errorf("notices: %v", notices)
			}
			ring := got.Lots[0].Area[0]
			if ring.Orientation() != want.Lots[0].Area[0].Orientation() {
				ring.Reverse() // a Shapefile's outlines run clockwise
			}
			// 0.1 mm: what the way through another system and back may cost.
			if d := apart(t, ring, want.Lots[0].Area[0]); d > 1e-4 {
				t.Errorf("lot lies %.6f m off", d)
			}
			if got.Lots[0].ID != "L" {
				t.Errorf("id %q", got.Lots[0].ID)
			}
			if c.roof && got.Roofs[0].FinishedFloor != 8.5 {
				t.Errorf("finished floor %v", got.Roofs[0].FinishedFloor)
			}
			if !c.curb {
				return
			}
			if d := apart(t, got.Curbs[0].Line, want.Curbs[0].Line); d > 1e-4 || !reflect.DeepEqual(got.Curbs[0].Gutter, want.Curbs[0].Gutter) {
				t.Errorf("curb lies %.6f m off, gutters %v", d, got.Curbs[0].Gutter)
			}
		})
	}
}

// A column that is empty for one feature is not 0 there.
func TestEmptyColumn(t *testing.T) {
	s, _ := siteOf(t, converted(t, collection(utm, lotLines,
		drawn(`"kind": "inlet", "id": "a", "rim": 7.5`, "Point", "[500001,4400001]"),
		drawn(`"kind": "inlet", "id": "b", "rim": null`, "Point", "[500002,4400001]")), "a.gpkg", "-f", "GPKG"), "EPSG:26915")
	if s.Inlets[0].Rim != 7.5 || !math.IsNaN(s.Inlets[1].Rim) {
		t.Errorf("rims %v and %v, want 7.5 and none", s.Inlets[0].Rim, s.Inlets[1].Rim)
	}
}

// A table without a coordinate system is refused.
func TestNoSystem(t *testing.T) {
	file := converted(t, collection(utm, lotLines), "a.shp", "-f", "ESRI Shapefile")
	if err := os.Remove(strings.TrimSuffix(file, ".shp") + ".prj"); err != nil {
		t.Fatal(err)
	}
	if _, err := Read(file); err == nil || !strings.Contains(err.Error(), "no coordinate system") || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
}

// dataFile returns the path of real lines, or skips where the shelf of real
// data is not beside the repository.
func dataFile(t *testing.T, name string) string {
	t.Helper()
	p := filepath.Join("..", "..", "..", "shared", "data", name)
	if _, err := os.Stat(p); err != nil {
		t.Skipf("real lines %s are not here: %v", name, err)
	}
	return p
}

// The same lines in degrees and in metres are the same to 1 mm, and through a
// GeoPackage too.
func TestRealLines(t *testing.T) {
	degrees := dataFile(t, "fl-subdivision-site.geojson")
	a, _ := siteOf(t, degrees, "EPSG:26917")
	b, _ := siteOf(t, dataFile(t, "fl-subdivision-site-epsg26917.geojson"), "EPSG:26917")
	text, err := os.ReadFile(degrees)
	if err != nil {
		t.Fatal(err)
	}
	c, _ := siteOf(t, converted(t, string(text), "a.gpkg", "-f", "GPKG"), "EPSG:26917")
	if len(a.Lots) != 5 || len(a.Roofs) != 5 || len(a.Curbs) != 2 {
		t.Fatalf("%d lots, %d roofs, %d curbs", len(a.Lots), len(a.Roofs), len(a.Curbs))
	}
	for name, other := range map[string]*constraint.Site{"metres": b, "GeoPackage": c} {
		most := 0.0
		for i := range a.Lots {
			most = math.Max(most, apart(t, a.Lots[i].Area[0], other.Lots[i].Area[0]))
			most = math.Max(most, apart(t, a.Roofs[i].Outline[0], other.Roofs[i].Outline[0]))
		}
		for i := range a.Curbs {
			most = math.Max(most, apart(t, a.Curbs[i].Line, other.Curbs[i].Line))
		}
		if most > 1e-3 {
			t.Errorf("%s: %.5f m apart", name, most)
		}
	}
}

// GeoJSON in an archive is read as it is beside it.
func TestReadInArchive(t *testing.T) {
	path := filepath.Join(t.TempDir(), "site.zip")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	archive := zip.NewWriter(f)
	w, err := archive.Create("site.geojson")
	if err == nil {
		_, err = w.Write([]byte(collection(utm, lotLines)))
	}
	if err := errors.Join(err, archive.Close(), f.Close()); err != nil {
		t.Fatal(err)
	}
	lines, err := Read("/vsizip/" + path + "/site.geojson")
	if err != nil || len(lines.features) != 1 || lines.features[0].id != "lot-1" {
		t.Errorf("%v, %v, want lot-1", lines, err)
	}
	if _, err := Read("/vsizip/" + path + "/gone.geojson"); err == nil || !strings.Contains(err.Error(), "cannot be read") {
		t.Errorf("a file that is not there: %v", err)
	}
}
