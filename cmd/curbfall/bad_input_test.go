package main

import (
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
)

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

// lot is a small good input: its files and its site as text to be spoiled.
type lot struct{ folder, dem, site, text string }

const siteText = `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:26915"}}, "features": [
{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[500000,4400000],[500012,4400000],[500012,4400015],[500000,4400015],[500000,4400000]]]}},
{"type": "Feature", "properties": {"kind": "roof", "id": "house"}, "geometry": {"type": "Polygon", "coordinates": [[[500003,4400007],[500009,4400007],[500009,4400012],[500003,4400012],[500003,4400007]]]}},
{"type": "Feature", "properties": {"kind": "curb", "id": "curb", "type": "vertical"}, "geometry": {"type": "LineString", "coordinates": [[499990,4399998],[500022,4399998]]}},
{"type": "Feature", "properties": {"kind": "downspout", "id": "ds", "roof": "house"}, "geometry": {"type": "Point", "coordinates": [500003,4400007]}}
]}`

// writeRaster writes a slope rising 6 % behind a curb at 4399998 north; change
// spoils it before it is closed.
func writeRaster(t *testing.T, path, system string, change func(ds *godal.Dataset, z []float32)) {
	t.Helper()
	godal.RegisterAll()
	const n, cell = 160, 0.5
	ds, err := godal.Create(godal.GTiff, path, 1, godal.Float32, n, n)
	if err != nil {
		t.Fatal(err)
	}
	if system != "" {
		ref, err := godal.NewSpatialRef(system)
		if err != nil {
			t.Fatal(err)
		}
		if err := ds.SetSpatialRef(ref); err != nil {
			t.Fatal(err)
		}
	}
	if err := ds.SetGeoTransform([6]float64{499966, cell, 0, 4400046, 0, -cell}); err != nil {
		t.Fatal(err)
	}
	z := make([]float32, n*n)
	for i := range z {
		north := 4400046 - cell*(float64(i/n)+0.5)
		z[i] = float32(250 + 0.06*math.Max(0, north-4399998))
		if north < 4399998 {
			z[i] = 249.85
		}
	}
	if change != nil {
		change(ds, z)
	}
	if err := ds.Bands()[0].Write(0, 0, z, n, n); err != nil {
		t.Fatal(err)
	}
	if err := ds.Close(); err != nil {
		t.Fatal(err)
	}
}

func goodLot(t *testing.T) lot {
	t.Helper()
	dir := t.TempDir()
	l := lot{dir, filepath.Join(dir, "ground.tif"), filepath.Join(dir, "site.geojson"), siteText}
	writeRaster(t, l.dem, "EPSG:26915+5703", nil)
	l.write(t)
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

func TestGoodInput(t *testing.T) {
	l := goodLot(t)
	status, stdout, stderr := runQuietly(t, l.args("--json")...)
	if status != exitDone || !json.Valid([]byte(stdout)) || stderr != "" {
		t.Fatalf("status %d\n%s\n%s", status, stdout, stderr)
	}
	if status, stdout, _ := runQuietly(t, l.args("--quiet", "--overwrite")...); status != exitDone || stdout != "" {
		t.Errorf("quiet: status %d, said %q", status, stdout)
	}
}

// Every bad input ends with status 2, one line that says what and where, and
// nothing written.
func TestBadInput(t *testing.T) {
	swap := func(old, new string) func(*testing.T, *lot) []string {
		return func(t *testing.T, l *lot) []string {
			if !strings.Contains(l.text, old) {
				t.Fatalf("the site text has no %q", old)
			}
			l.text = strings.Replace(l.text, old, new, 1)
			l.write(t)
			return nil
		}
	}
	raster := func(system string, change func(ds *godal.Dataset, z []float32)) func(*testing.T, *lot) []string {
		return func(t *testing.T, l *lot) []string { writeRaster(t, l.dem, system, change); return nil }
	}
	criteria := func(text string) func(*testing.T, *lot) []string {
		return func(t *testing.T, l *lot) []string {
			file := filepath.Join(l.folder, "c.yaml")
			if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			return []string{"--criteria", file}
		}
	}
	drop := func(id string) func(*testing.T, *lot) []string {
		return func(t *testing.T, l *lot) []string {
			var kept []string
			for _, line := range strings.Split(l.text, "\n") {
				if !strings.Contains(line, `"id": "`+id+`"`) {
					kept = append(kept, line)
				}
			}
			l.text = strings.ReplaceAll(strings.Join(kept, "\n"), "}},\n]}", "}}\n]}")
			l.write(t)
			return nil
		}
	}
	const second = `{"type": "Feature", "properties": {"kind": "lot", "id": "lot-2"}, "geometry": {"type": "Polygon", "coordinates": [[[500012,4400000],[500020,4400000],[500020,4400015],[500012,4400015],[500012,4400000]]]}},
{"type": "Feature", "properties": {"kind": "roof"`
	addLot := swap(`{"type": "Feature", "properties": {"kind": "roof"`, second)
	point := func(properties, coordinates string) func(*testing.T, *lot) []string {
		return swap("\n]}", ",\n"+`{"type": "Feature", "properties": {`+properties+`}, "geometry": {"type": "Point", "coordinates": `+coordinates+`}}`+"\n]}")
	}
	for _, c := range []struct {
		name  string
		spoil func(*testing.T, *lot) []string
		want  []string
	}{
		{"missing raster", func(_ *testing.T, l *lot) []string { _ = os.Remove(l.dem); return nil }, []string{"ground.tif"}},
		{"missing site", func(_ *testing.T, l *lot) []string { _ = os.Remove(l.site); return nil }, []string{"site.geojson"}},
		{"not a raster", func(_ *testing.T, l *lot) []string { _ = os.WriteFile(l.dem, []byte("no"), 0o600); return nil }, []string{"ground.tif", "raster"}},
		{"several lots", addLot, []string{"--lot", "lot-1, lot-2"}},
		{"unknown lot", func(*testing.T, *lot) []string { return []string{"--lot", "lot-9"} }, []string{"lot-9", "lot-1"}},
		{"all nodata", raster("EPSG:26915+5703", func(_ *godal.Dataset, z []float32) {
			for i := range z {
				z[i] = -9999
			}
		}), []string{"nodata"}},
		{"no coordinate system", raster("", nil), []string{"no coordinate system"}},
		{"no vertical unit", raster("EPSG:26915", nil), []string{"--vertical-unit"}},
		{"rotated", raster("EPSG:26915+5703", func(ds *godal.Dataset, _ []float32) {
			_ = ds.SetGeoTransform([6]float64{499966, 0.5, 0.1, 4400046, 0.1, -0.5})
		}), []string{"rotated", "0.1"}},
		{"outside the raster", func(t *testing.T, l *lot) []string {
			l.text = strings.ReplaceAll(l.text, "4400", "4410")
			l.write(t)
			return nil
		}, []string{"outside the raster"}},
		{"half outside", func(t *testing.T, l *lot) []string {
			l.text = strings.ReplaceAll(l.text, "4400015", "4400115")
			l.write(t)
			return nil
		}, []string{"part of the site"}},
		{"not JSON", swap(`{"type": "FeatureCollection"`, `{"type" "FeatureCollection"`), []string{"not JSON", "line 1"}},
		{"no geometry", swap(`"geometry": {"type": "Point", "coordinates": [500003,4400007]}`, `"geometry": null`), []string{"ds", "no geometry"}},
		{"open ring", swap(`,[500000,4400000]]]`, `]]`), []string{"lot-1", "ring is open"}},
		{"self-crossing lot", swap(`[500012,4400000],[500012,4400015]`, `[500012,4400015],[500012,4400000]`), []string{"lot-1", "crosses itself"}},
		{"one number", swap(`[500003,4400007]}}`+"\n", `[500003]}}`+"\n"), []string{"ds", "1 number"}},
		{"NaN", swap(`[500003,4400007]}}`+"\n", `[NaN,4400007]}}`+"\n"), []string{"not JSON", "line 5"}},
		{"null coordinate", swap(`[500003,4400007]}}`+"\n", `[null,4400007]}}`+"\n"), []string{"ds"}},
		{"metres without crs", swap(`"crs": {"type": "name", "properties": {"name": "EPSG:26915"}}, `, ``), []string{"longitude and latitude", "crs"}},
		{"unknown crs", swap(`EPSG:26915`, `EPSG:1`), []string{"EPSG:1", "not known"}},
		{"crs that is an address", swap(`EPSG:26915`, `http://127.0.0.1:9/x`), []string{"not known"}},
		{"no curb, no outlet", drop("curb"), []string{"no curb and no outlet"}},
		{"nothing to drain", func(t *testing.T, l *lot) []string { drop("house")(t, l); return drop("ds")(t, l) }, []string{"nothing to drain"}},
		{"unknown criteria key", criteria("limits:\n  cover_mni: 6 in\n"), []string{"c.yaml:2", "cover_mni", "limits.cover_min"}},
		{"limit with a wrong unit", criteria("limits:\n  cover_min: 6 %\n"), []string{"c.yaml:2", "limits.cover_min", "length"}},
		{"negative limit", criteria("limits:\n  cover_min: -6 in\n"), []string{"c.yaml:2", "limits.cover_min"}},
		{"trunk of 14 m", point(`"kind": "tree", "id": "oak", "trunk_diameter": 14`, "[500001,4400002]"), []string{"oak", "14", "trunk_diameter_in"}},
		{"elevation 30 m off", point(`"kind": "inlet", "id": "low", "rim": 820`, "[500001,4400002]"), []string{"low", "820", "rim_ft"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := goodLot(t)
			status, stdout, stderr := runQuietly(t, l.args(c.spoil(t, &l)...)...)
			if status != exitUnusable || stdout != "" || strings.Count(stderr, "\n") != 1 {
				t.Fatalf("status %d, said %q, %q", status, stdout, stderr)
			}
			for _, w := range c.want {
				if !strings.Contains(stderr, w) {
					t.Errorf("%q does not say %q", stderr, w)
				}
			}
			if _, err := os.Stat(filepath.Join(l.folder, "out")); err == nil {
				t.Error("something was written")
			}
			leftovers(t, l.folder)
		})
	}
}

// leftovers fails if a folder in the making is left behind.
func leftovers(t *testing.T, folder string) {
	t.Helper()
	if left, _ := filepath.Glob(filepath.Join(folder, ".*making*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestOutputFolder(t *testing.T) {
	l := goodLot(t)
	out := filepath.Join(l.folder, "out")
	if err := os.MkdirAll(out, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(out, "letter.txt"), []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{l.args(), l.args("--overwrite"), append(l.args()[:6], filepath.Join(l.dem, "below"))} {
		status, _, stderr := runQuietly(t, args...)
		if status != exitUnusable || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%v: status %d, %q", args, status, stderr)
		}
	}
	if data, _ := os.ReadFile(filepath.Join(out, "letter.txt")); string(data) != "mine" {
		t.Error("somebody's file was touched")
	}
	deep := l.args()
	deep[2], deep[6] = filepath.Join(l.folder, "nope.tif"), filepath.Join(l.folder, "a", "b", "c")
	if status, _, _ := runQuietly(t, deep...); status != exitUnusable {
		t.Errorf("status %d", status)
	}
	if _, err := os.Stat(filepath.Join(l.folder, "a")); err == nil {
		t.Error("folders above the output were left behind")
	}
	for _, args := range [][]string{{"route", "--no-such"}, {"dig"}, {"route", "--dem", l.dem}, {"check", "x"}, l.args("--units", "cubits")} {
		if status, _, stderr := runQuietly(t, args...); status != exitUnusable || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%v: status %d, %q", args, status, stderr)
		}
	}
}

// What is only odd is reported, and the rest still done.
func TestReported(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		status         int
		want           string
	}{
		{"unknown kind", `"kind": "downspout"`, `"kind": "gargoyle"`, exitDone, "gargoyle"},
		{"unknown property", `"id": "ds"`, `"id": "ds", "colour": "red"`, exitDone, "colour"},
		{"tree without diameter", "\n]}", ",\n" + `{"type": "Feature", "properties": {"kind": "tree", "id": "oak"}, "geometry": {"type": "Point", "coordinates": [500010.5,4400013.5]}}` + "\n]}", exitDone, "oak"},
		{"sealed in", "\n]}", ",\n" + `{"type": "Feature", "properties": {"kind": "keep_out", "id": "vault"}, "geometry": {"type": "Polygon", "coordinates": [[[500000,4400001],[500012,4400001],[500012,4400002],[500000,4400002],[500000,4400001]]]}}` + "\n]}", exitInfeasible, "vault"},
		{"curb above all", `"type": "vertical"`, `"type": "vertical", "gutter_elevation": 252`, exitInfeasible, "short_by_m"},
		{"street side", `"type": "vertical"`, `"type": "vertical", "street_side": "left"`, exitInfeasible, "street"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := goodLot(t)
			l.text = strings.Replace(l.text, c.old, c.new, 1)
			l.write(t)
			status, stdout, stderr := runQuietly(t, l.args("--json")...)
			if status != c.status || !strings.Contains(stdout, c.want) {
				t.Fatalf("status %d, want %d and %q\n%s\n%s", status, c.status, c.want, stdout, stderr)
			}
			if _, err := os.Stat(filepath.Join(l.folder, "out", "summary.json")); err != nil {
				t.Error(err)
			}
		})
	}
}

// The same inputs give the same bytes, timings aside, for any number of
// processors.
func TestSameBytes(t *testing.T) {
	l := goodLot(t)
	read := func() map[string]string {
		if status, _, stderr := runQuietly(t, l.args("--quiet", "--overwrite")...); status != exitDone {
			t.Fatal(stderr)
		}
		files := map[string]string{}
		entries, err := os.ReadDir(filepath.Join(l.folder, "out"))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			data, err := os.ReadFile(filepath.Join(l.folder, "out", e.Name()))
			if err != nil {
				t.Fatal(err)
			}
			text := string(data)
			if i := strings.Index(text, `"timings_s"`); i >= 0 {
				text = text[:i]
			}
			files[e.Name()] = text
		}
		return files
	}
	first := read()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	second := read()
	if len(first) < 8 {
		t.Fatalf("only %d files", len(first))
	}
	for name, text := range first {
		if second[name] != text {
			t.Errorf("%s differs from run to run", name)
		}
	}
}
