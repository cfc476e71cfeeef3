package vector

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"curbfall/io/crs"
	"curbfall/routing/constraint"
)

const (
	utm      = `"crs": {"type": "name", "properties": {"name": "EPSG:26915"}}, `
	lotLines = `{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[500000,4400000],[500012,4400000],[500012,4400015],[500000,4400015],[500000,4400000]]]}}`
)

// collection is a site file of a crs member and features.
func collection(member string, features ...string) string {
	return `{"type": "FeatureCollection", ` + member + `"features": [` + "\n" + strings.Join(features, ",\n") + "\n]}"
}

func drawn(properties, kind, coordinates string) string {
	return fmt.Sprintf(`{"type": "Feature", "properties": {%s}, "geometry": {"type": "%s", "coordinates": %s}}`, properties, kind, coordinates)
}

func ring(positions string) string { return "[[" + positions + "]]" }

// site reads a text as the program does, for a raster in metres on UTM 15N.
func site(t *testing.T, text string) (*constraint.Site, []string, error) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "site.geojson")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	lines, err := Read(file)
	if err != nil {
		return nil, nil, err
	}
	system, err := crs.Parse("EPSG:26915")
	if err != nil {
		t.Fatal(err)
	}
	return lines.Site(system, 1, Trunk{0.3, 2.5})
}

// Every bad input is one line that names the file, the place and what to do.
func TestRefused(t *testing.T) {
	const x, y = "500001", "4400001"
	at := "[" + x + "," + y + "]"
	with := func(f string) string { return collection(utm, lotLines, f) }
	member := func(name string) string {
		return collection(`"crs": {"type": "name", "properties": {"name": "`+name+`"}}, `, lotLines)
	}
	lot := func(positions string) string {
		return collection(utm, drawn(`"kind": "lot", "id": "lot-1"`, "Polygon", ring(positions)))
	}
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"not JSON", `{"type" 1}`, []string{"not JSON", "line 1"}},
		{"empty", ``, []string{"not JSON"}},
		{"a list", `[]`, []string{"not GeoJSON", "array"}},
		{"features is a number", "{\"type\": \"FeatureCollection\",\n\"features\": 12}", []string{"line 2", "features is a number"}},
		{"one feature alone", lotLines, []string{`"Feature"`, "FeatureCollection"}},
		{"no features", collection(utm), []string{"no features"}},
		{"no lot", collection(utm, drawn(`"kind": "inlet", "id": "i"`, "Point", at)), []string{"no lot"}},
		{"no geometry", with(`{"type": "Feature", "properties": {"kind": "inlet", "id": "i"}, "geometry": null}`), []string{`"i"`, "no geometry"}},
		{"null coordinate", with(drawn(`"kind": "inlet", "id": "i"`, "Point", "[null,28.0]")), []string{`"i"`, "null"}},
		{"null in a line", with(drawn(`"kind": "curb", "id": "c"`, "LineString", "[["+x+",null],"+at+"]")), []string{`"c"`, "null"}},
		{"one number", with(drawn(`"kind": "inlet", "id": "i"`, "Point", "["+x+"]")), []string{`"i"`, "1 number"}},
		{"NaN", with(drawn(`"kind": "inlet", "id": "i"`, "Point", "[NaN,1]")), []string{"not JSON", "line 3"}},
		{"beyond all numbers", with(drawn(`"kind": "inlet", "id": "i"`, "Point", "[1e999,1]")), []string{`"i"`}},
		{"text for a number", with(drawn(`"kind": "inlet", "id": "i"`, "Point", "[\n\"a\",\n\"b\"]")), []string{`"i"`, "no position"}},
		{"no trunk", with(drawn(`"kind": "tree", "id": "t", "trunk_diameter_in": 0`, "Point", at)), []string{`"t"`, "trunk_diameter_in is 0", "no trunk"}},
		{"line break in an id", with(drawn(`"kind": "inlet", "id": "a\nb"`, "Point", at)), []string{"feature number 2", "control character"}},
		{"escape in an id", with(drawn(`"kind": "inlet", "id": "a\u001b[31m"`, "Point", at)), []string{"feature number 2", "control character"}},
		{"tab in a name", with(drawn(`"kind": "downspout", "id": "d", "roof": "a\tb"`, "Point", at)), []string{`"d"`, "roof has a control character"}},
		{"hole outside", with(drawn(`"kind": "keep_out", "id": "k"`, "Polygon", "[[[500001,4400001],[500002,4400001],[500002,4400002],[500001,4400001]],[[500005,4400001],[500006,4400001],[500006,4400002],[500005,4400001]]]")), []string{`"k"`, "hole lies outside"}},
		{"one position", with(drawn(`"kind": "curb", "id": "c"`, "LineString", "["+at+"]")), []string{`"c"`, "1 positions"}},
		{"line of one place", with(drawn(`"kind": "curb", "id": "c"`, "LineString", "["+at+","+at+"]")), []string{`"c"`, "all the same"}},
		{"two parts", with(drawn(`"kind": "keep_out", "id": "k"`, "MultiPolygon", "[[],[]]")), []string{`"k"`, "2 parts"}},
		{"no parts", with(drawn(`"kind": "curb", "id": "c"`, "MultiLineString", "[]")), []string{`"c"`, "0 parts"}},
		{"wrong shape", with(drawn(`"kind": "tree", "id": "t"`, "LineString", "["+at+",[500002,4400001]]")), []string{`"t"`, "LineString", "Point"}},
		{"two of one id", collection(utm, lotLines, lotLines), []string{"lot-1", "own"}},
		// crs members
		{"metres without crs", collection("", lotLines), []string{"lot-1", "longitude and latitude", "crs"}},
		{"metres called degrees", member("EPSG:4326"), []string{"lot-1", "crs member"}},
		{"unknown code", member("EPSG:1"), []string{"EPSG:1", "not known"}},
		{"code of a height", member("EPSG:5703"), []string{"EPSG:5703", "not known"}},
		{"address", member("http://127.0.0.1:9/crs"), []string{"127.0.0.1", "not known"}},
		{"WKT", member("LOCAL_CS[1]"), []string{"not known"}},
		{"nearly CRS84", member("CRS84x"), []string{"CRS84x", "not known"}},
		{"nearly EPSG", member("EPSG:26915+5703"), []string{"not known"}},
		{"crs without a name", collection("\"crs\": {\"type\":\n\"link\"}, ", lotLines), []string{"without a name"}},
		// outlines
		{"open ring", lot(`[0,0],[10,0],[10,10],[0,10]`), []string{"lot-1", "ring is open"}},
		{"bow tie", lot(`[0,0],[10,10],[10,0],[0,10],[0,0]`), []string{"crosses itself", "5.0000000 5.0000000"}},
		{"corner on a corner", lot(`[0,0],[10,0],[10,10],[5,5],[0,10],[-5,10],[5,5],[0,0]`), []string{"touches itself", "5.0000000 5.0000000"}},
		{"later corner on a side", lot(`[0,0],[10,0],[10,10],[5,0],[0,10],[0,0]`), []string{"touches itself", "5.0000000 0.0000000"}},
		{"first corner on a side", lot(`[5,0],[10,10],[10,0],[0,0],[0,10],[5,0]`), []string{"touches itself", "5.0000000 0.0000000"}},
		{"earlier corner on a side", lot(`[0,0],[0,10],[5,0],[10,10],[10,0],[0,0]`), []string{"touches itself", "5.0000000 0.0000000"}},
		{"corner on a slanted side, rounded", lot(`[500000,4400000],[500000.9,4400000.3],[500000.9,4400000.5],[500000.3,4400000.1],[500000,4400000.5],[500000,4400000]`), []string{"touches itself", "500000.3000000"}},
		{"no area", lot(`[0,0],[10,0],[20,0],[0,0]`), []string{"runs back"}},
		{"spike", lot(`[0,0],[10,0],[10,10],[10,15],[10,10],[0,10],[0,0]`), []string{"runs back", "10.0000000 15.0000000"}},
		{"spike at the start", lot(`[-5,0],[10,0],[10,10],[0,10],[0,0],[-5,0]`), []string{"runs back", "-5.0000000 0.0000000"}},
		// properties
		{"trunk of 14 m", with(drawn(`"kind": "tree", "id": "oak", "trunk_diameter": 14`, "Point", at)), []string{"oak", "trunk_diameter is 14", "trunk_diameter_in: 14"}},
		{"trunk of 140 in", with(drawn(`"kind": "tree", "id": "oak", "trunk_diameter_in": 140`, "Point", at)), []string{"trunk_diameter_in is 140", "check the number"}},
		{"trunk of 1400", with(drawn(`"kind": "tree", "id": "oak", "trunk_diameter": 1400`, "Point", at)), []string{"trunk_diameter is 1400", "trunk_diameter_mm: 1400"}},
		{"curb of 6 m", with(drawn(`"kind": "curb", "id": "c", "curb_height": 6`, "LineString", "["+at+",[500002,4400001]]")), []string{"curb_height is 6", "curb_height_in: 6"}},
		{"grate of 27 m2", with(drawn(`"kind": "inlet", "id": "i", "grate_open_area": 27`, "Point", at)), []string{"more than 5 m2", "square inches", "grate_open_area_in: 27"}},
		{"negative length", with(drawn(`"kind": "tree", "id": "oak", "trunk_diameter_ft": -2`, "Point", at)), []string{"trunk_diameter_ft is -2", "below 0"}},
		{"negative area", with(drawn(`"kind": "inlet", "id": "i", "grate_open_area": -2`, "Point", at)), []string{"grate_open_area is -2"}},
		{"length twice", with(drawn(`"kind": "tree", "id": "oak", "trunk_diameter": 1, "trunk_diameter_in": 14`, "Point", at)), []string{"twice"}},
		{"area twice", with(drawn(`"kind": "inlet", "id": "i", "grate_open_area": 1, "grate_open_area_in": 14`, "Point", at)), []string{"twice"}},
		{"rim twice", with(drawn(`"kind": "inlet", "id": "i", "rim": 1, "rim_ft": 14`, "Point", at)), []string{"rim", "twice"}},
		{"gutter twice", with(drawn(`"kind": "curb", "id": "c", "gutter_elevation": 1, "gutter_elevation_ft": 14`, "LineString", "["+at+",[500002,4400001]]")), []string{"gutter_elevation", "twice"}},
		{"gutter too short", with(drawn(`"kind": "curb", "id": "c", "gutter_elevation": [1]`, "LineString", "["+at+",[500002,4400001]]")), []string{"1 values for 2 vertices"}},
		{"gutter of texts", with(drawn(`"kind": "curb", "id": "c", "gutter_elevation": [1, "b"]`, "LineString", "["+at+",[500002,4400001]]")), []string{`"b"`, "numbers"}},
		{"number as text", with(drawn(`"kind": "inlet", "id": "i", "rim": "12 ft"`, "Point", at)), []string{`"12 ft"`, "number"}},
		{"roof is a list", with(drawn(`"kind": "downspout", "id": "d", "roof": [1]`, "Point", at)), []string{"roof is [1]", "text"}},
		{"share above 1", with(drawn(`"kind": "downspout", "id": "d", "share": 25`, "Point", at)), []string{"share is 25", "0 to 1"}},
		{"unknown word", with(drawn(`"kind": "curb", "id": "c", "type": "wavy"`, "LineString", "["+at+",[500002,4400001]]")), []string{"wavy", "rolled"}},
		{"unknown surface", with(drawn(`"kind": "walk", "id": "w", "surface": "mud"`, "Polygon", "[[[500001,4400001],[500002,4400001],[500002,4400002],[500001,4400001]]]")), []string{"mud", "paved, gravel"}},
		{"opening with neither", with(drawn(`"kind": "building_opening", "id": "sill"`, "Point", at)), []string{"sill", "elevation"}},
		{"top and depth", with(drawn(`"kind": "utility", "id": "u", "top": 1, "depth": 1`, "LineString", "["+at+",[500002,4400001]]")), []string{"top and depth"}},
		{"a very long id", with(drawn(`"kind": "inlet", "id": "`+strings.Repeat("long ", 99)+`", "rim": "`+strings.Repeat("x\\n", 99)+`"`, "Point", at)), []string{"long", "..."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := site(t, c.text)
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("error %v of type %T, want one of this package", err, err)
			}
			says := err.Error()
			if strings.ContainsAny(says, "\n\r\t") || len(says) > len(e.File)+420 {
				t.Errorf("not one short line: %q", says)
			}
			for _, w := range append(c.want, "site.geojson") {
				if !strings.Contains(says, w) {
					t.Errorf("%q does not say %q", says, w)
				}
			}
		})
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none.geojson")); err == nil || !strings.Contains(err.Error(), "none.geojson") {
		t.Errorf("missing file: %v", err)
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none.gpkg")); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("missing file: %v", err)
	}
}

// The names a crs member may have for each of the three systems.
func TestCRSNames(t *testing.T) {
	for name, geographic := range map[string]bool{
		"EPSG:26915": false, "urn:ogc:def:crs:EPSG::26915": false, "urn:ogc:def:crs:EPSG:9.8:26915": false,
		"CRS84": true, "OGC:CRS84": true, "urn:ogc:def:crs:OGC:1.3:CRS84": true, "urn:ogc:def:crs:OGC::CRS84": true,
	} {
		s, err := systemOf([]byte(`{"type": "name", "properties": {"name": "` + name + `"}}`))
		if err != nil || s.Geographic != geographic {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
	}
	if s, err := systemOf([]byte("null")); err != nil || !s.Geographic {
		t.Errorf("null: %+v, %v", s, err)
	}
}

// What is read, in metres, from every way of writing it.
func TestSite(t *testing.T) {
	const foot, inch = 0.3048, 0.0254
	s, notices, err := site(t, "\xef\xbb\xbf"+collection(utm,
		strings.Replace(lotLines, `"lot-1"`, `1234567`, 1),
		drawn(`"kind": "inlet", "id": "a", "grate_open_area": 0.02, "perimeter_ft": 2`, "Point", "[500001,4400001]"),
		drawn(`"kind": "inlet", "id": "b", "grate_open_area_in": 60, "rim_ft": 100`, "Point", "[500001,4400002]"),
		drawn(`"kind": "inlet", "id": "c", "grate_open_area_ft": 1`, "Point", "[500001,4400003]"),
		drawn(`"kind": "inlet", "id": "d", "grate_open_area_mm": 1000`, "Point", "[500001,4400004]"),
		drawn(`"kind": "downspout", "id": 0.5, "roof": 12`, "Point", "[500001,4400005]"),
		drawn(`"kind": "curb", "id": "e", "type": "rolled", "gutter_elevation": [1, 2, 2.5, 3], "street_side": "right"`, "LineString", "[[500000,4399990],[500005,4399990],[500005,4399990],[500009,4399990]]"),
		drawn(`"kind": "curb", "id": "f", "gutter_elevation_ft": [10, 20]`, "LineString", "[[500000,4399990],[500005,4399990]]"),
		drawn(`"kind": "curb", "id": "g", "gutter_elevation": 7, "gutter_elevation_ft": null`, "LineString", "[[500000,4399990],[500005,4399990]]"),
		drawn(`"kind": "tree", "id": "oak", "trunk_diameter_in": 14`, "Point", "[500001,4400006]"),
		drawn(`"kind": "driveway", "id": "drive", "surface": "gravel"`, "Polygon", "[[[500001,4400001],[500002,4400001],[500002,4400002],[500001,4400001]]]"),
		drawn(`"kind": "walk", "id": "walk", "surface": "paved"`, "Polygon", "[[[500001,4400001],[500002,4400001],[500002,4400002],[500001,4400001]]]"),
		drawn(`"kind": "tree", "id": "elm"`, "Point", "[500001,4400007]"),
	))
	if err != nil || len(notices) > 0 {
		t.Fatal(err, notices)
	}
	if s.Lots[0].ID != "1234567" || s.Downspouts[0].ID != "0.5" || s.Downspouts[0].Roof != "12" {
		t.Errorf("ids %q %q, roof %q", s.Lots[0].ID, s.Downspouts[0].ID, s.Downspouts[0].Roof)
	}
	if !s.Paved[0].Gravel || s.Paved[1].Gravel {
		t.Errorf("surfaces %+v", s.Paved)
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"area", s.Inlets[0].GrateOpenArea, 0.02}, {"area in", s.Inlets[1].GrateOpenArea, 60 * inch * inch},
		{"area ft", s.Inlets[2].GrateOpenArea, foot * foot}, {"area mm", s.Inlets[3].GrateOpenArea, 1e-3},
		{"perimeter", s.Inlets[0].GratePerimeter, 2 * foot}, {"rim", s.Inlets[1].Rim, 100 * foot},
		{"trunk", s.Trees[0].TrunkDiameter, 14 * inch}, {"trunk assumed", s.Trees[1].TrunkDiameter, 0.3},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
	if !s.Trees[1].Assumed || s.Trees[0].Assumed || !s.Curbs[1].TypeAssumed || s.Curbs[0].TypeAssumed {
		t.Error("what was assumed is not marked so")
	}
	for i, want := range [][]float64{{1, 2, 3}, {10 * foot, 20 * foot}, {7}} {
		if c := s.Curbs[i]; !reflect.DeepEqual(c.Gutter, want) || len(want) > 1 && len(c.Line) != len(want) {
			t.Errorf("curb %s has gutters %v at %d vertices, want %v", c.ID, c.Gutter, len(c.Line), want)
		}
	}
}

// A level in feet takes the raster's foot.
func TestRasterFoot(t *testing.T) {
	const usFoot = 1200.0 / 3937
	for _, c := range []struct{ raster, foot float64 }{{1, 0.3048}, {0.3048, 0.3048}, {usFoot, usFoot}} {
		if got := footOf(c.raster); math.Abs(got-c.foot) > 1e-15 {
			t.Errorf("a raster of %v m has the foot %v, want %v", c.raster, got, c.foot)
		}
	}
}

// What is only odd is reported, each once, and the rest read.
func TestNotices(t *testing.T) {
	s, notices, err := site(t, collection(utm, lotLines,
		drawn(`"kind": "gargoyle", "id": "g"`, "Point", "[500001,4400001]"),
		drawn(`"id": "nameless"`, "Point", "[500001,4400001]"),
		drawn(`"kind": 12, "id": "twelve"`, "Point", "[500001,4400001]"),
		drawn(`"kind": "shot", "id": "s"`, "Point", "[500001,4400001,3]"),
		drawn(`"kind": "benchmark", "id": "bm"`, "Point", "[500001,4400001,3]"),
		drawn(`"kind": "planned_pipe", "id": "pp"`, "LineString", "[[500001,4400001],[500002,4400001]]"),
		drawn(`"kind": "existing_pipe", "id": "ep"`, "LineString", "[[500001,4400001],[500002,4400001]]"),
		drawn(`"kind": "inlet", "id": "in", "colour": "red", "source": "drawn"`, "Point", "[500001,4400001]"),
		drawn(`"kind": "inlet"`, "Point", "[500001,4400001]"),
		drawn(`"kind": "outlet", "id": "out"`, "Point", "[500001,4400001]"),
		drawn(`"kind": "utility", "id": "gas", "depth": 1`, "LineString", "[[500001,4400001],[500002,4400001]]"),
	))
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{`"g"`, `"gargoyle"`, "left out"}, {`"nameless"`, "no kind"}, {`"twelve"`, "kind 12", "no text"},
		{`"s"`, "shot"}, {`"bm"`, "benchmark"}, {`"pp"`, "planned_pipe"}, {`"ep"`, "existing_pipe"},
		{"in (inlet)", `"colour"`}, {"inlet-10"}, {"out", "curb_face"}, {"gas", "outside_diameter"}, {"2 features", "third coordinate"},
	}
	if len(notices) != len(want) {
		t.Fatalf("%d notices, want %d:\n%s", len(notices), len(want), strings.Join(notices, "\n"))
	}
	for i, words := range want {
		for _, w := range words {
			if !strings.Contains(notices[i], w) {
				t.Errorf("%q does not say %q", notices[i], w)
			}
		}
	}
	if len(s.Inlets) != 2 || len(s.Outlets) != 1 {
		t.Errorf("%d inlets, %d outlets", len(s.Inlets), len(s.Outlets))
	}
}

// A kind that is not known is told the known one near it, where one is.
func TestNearestKind(t *testing.T) {
	for kind, want := range map[string]string{"Tree": "tree", "Downspout": "downspout", "kerb": "curb", "area drain": "", "channel drain": "channel_drain", "gargoyle": "", "keep-out": "keep_out"} {
		_, notices, err := site(t, collection(utm, lotLines, drawn(`"id": "x", "kind": "`+kind+`"`, "Point", "[500001,4400001]")))
		if err != nil || len(notices) != 1 {
			t.Fatal(err, notices)
		}
		if _, after, _ := strings.Cut(notices[0], "; the nearest known one is "); after != want {
			t.Errorf("%q, want %q named", notices[0], want)
		}
	}
}

// Nodes of several kinds do not share an id.
func TestToldApart(t *testing.T) {
	at := "[500001,4400001]"
	s, notices, err := site(t, collection(utm, lotLines, drawn(`"kind": "outlet", "id": "1", "type": "emitter"`, "Point", at),
		drawn(`"kind": "inlet", "id": "1"`, "Point", at), drawn(`"kind": "inlet", "id": "inlet-1"`, "Point", at), drawn(`"kind": "downspout", "id": "1"`, "Point", at), drawn(`"kind": "tree", "id": "1", "trunk_diameter": 0.3`, "Point", at)))
	if err != nil {
		t.Fatal(err)
	}
	if s.Downspouts[0].ID != "1" || s.Inlets[0].ID != "inlet-inlet-1" || s.Inlets[1].ID != "inlet-1" || s.Outlets[0].ID != "outlet-1" || s.Trees[0].ID != "1" {
		t.Errorf("%v %v %v %v", s.Downspouts, s.Inlets, s.Outlets, s.Trees)
	}
	if len(notices) != 2 || !strings.Contains(notices[0], "inlet 1 has the id of a downspout: called inlet-inlet-1") {
		t.Errorf("%q", notices)
	}
}

func TestCheckElevations(t *testing.T) {
	nan := math.NaN()
	site := func(gutter, floor, rim float64) *constraint.Site {
		return &constraint.Site{
			Curbs:  []constraint.Curb{{ID: "c", Gutter: []float64{100, gutter}}},
			Roofs:  []constraint.Roof{{ID: "r", FinishedFloor: floor}},
			Inlets: []constraint.Inlet{{ID: "i", Rim: rim}},
		}
	}
	for _, c := range []struct {
		name string
		site *constraint.Site
		want string // in the error, "" for none
	}{
		{"nothing given", site(100, nan, nan), ""},
		{"just within", site(70, 140, 140), ""},
		{"gutter", site(69.9, 140, 140), "gutter_elevation"},
		{"floor in feet", site(100, 340, nan), "finished_floor_ft"},
		{"rim", site(100, nan, 140.1), "rim_ft"},
	} {
		err := CheckElevations("f.geojson", c.site, 100, 110, 30)
		if (err == nil) != (c.want == "") {
			t.Errorf("%s: %v", c.name, err)
		} else if err != nil && (!strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n")) {
			t.Errorf("%s: %q does not say %q on one line", c.name, err, c.want)
		}
	}
}

// Whatever the bytes, decode answers or refuses on one line; what it lets
// through is finite.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(collection(utm, lotLines)))
	f.Add([]byte(collection("", drawn(`"kind": "curb", "gutter_elevation": [1, null]`, "LineString", "[[-80.1,28],[-80,28.1,3]]"))))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": {"type": "MultiPolygon", "coordinates": [[[[0,0],[1,0],[1,1],[0,0]]]]}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "crs": {"properties": {"name": "EPSG:99999999999999999999"}}}`))
	f.Add([]byte("\xef\xbb\xbf[]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, system, err := decode("f", data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("%q", err)
			}
			return
		}
		if system == nil {
			t.Fatal("no coordinate system")
		}
		for _, r := range list {
			if b := r.geometry.Bound(); math.IsNaN(b.Min[0]+b.Max[1]) || math.IsInf(b.Max[0]-b.Min[0], 0) {
				t.Errorf("%v", r.geometry)
			}
		}
	})
}

// A shape of one part is that part, as many programs write all shapes.
func TestOnePart(t *testing.T) {
	s, _, err := site(t, collection(utm, lotLines,
		drawn(`"kind": "inlet", "id": "i"`, "MultiPoint", "[[500001,4400001]]"),
		drawn(`"kind": "curb", "id": "c"`, "MultiLineString", "[[[500000,4400000],[500002,4400000]]]"),
		drawn(`"kind": "keep_out", "id": "k"`, "MultiPolygon", "["+ring("[500001,4400001],[500002,4400001],[500002,4400002],[500001,4400001]")+"]")))
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Inlets) != 1 || len(s.Curbs) != 1 || len(s.KeepOuts) != 1 {
		t.Errorf("%d inlets, %d curbs, %d keep-outs, want one each", len(s.Inlets), len(s.Curbs), len(s.KeepOuts))
	}
}
