package raster

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
)

// made is an invented raster: 40 by 30 cells of 2 units, its north-west corner
// at 500000, 4400060, elevation 100 + column + row/100.
type made struct {
	system string
	kind   godal.DataType
	bands  int
	gt     [6]float64
	change func(ds *godal.Dataset, z []float32)
}

const madeCols, madeRows = 40, 30

func newMade(system string) made {
	return made{system: system, kind: godal.Float32, bands: 1, gt: [6]float64{500000, 2, 0, 4400060, 0, -2}}
}

// write writes the raster into a folder of the test's own.
func (m made) write(t *testing.T) string {
	t.Helper()
	Register()
	path := filepath.Join(t.TempDir(), "ground.tif")
	ds, err := godal.Create(godal.GTiff, path, m.bands, m.kind, madeCols, madeRows)
	if err != nil {
		t.Fatal(err)
	}
	if m.system != "" {
		ref, err := godal.NewSpatialRef(m.system)
		if err != nil {
			t.Fatal(err)
		}
		if err := ds.SetSpatialRef(ref); err != nil {
			t.Fatal(err)
		}
	}
	if m.gt != [6]float64{} {
		if err := ds.SetGeoTransform(m.gt); err != nil {
			t.Fatal(err)
		}
	}
	z := make([]float32, madeCols*madeRows)
	for i := range z {
		z[i] = 100 + float32(i%madeCols) + float32(i/madeCols)/100
	}
	if m.change != nil {
		m.change(ds, z)
	}
	if err := ds.Bands()[0].Write(0, 0, z, madeCols, madeRows); err != nil {
		t.Fatal(err)
	}
	if err := ds.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func patch(z []float32, c0, r0, c1, r1 int, v float32) {
	for r := r0; r <= r1; r++ {
		for c := c0; c <= c1; c++ {
			z[r*madeCols+c] = v
		}
	}
}

// Every bad raster is one line that names the file and what to do.
func TestRefused(t *testing.T) {
	const full = "EPSG:26915+5703"
	with := func(system string, change func(m *made)) func(*testing.T) string {
		return func(t *testing.T) string {
			m := newMade(system)
			if change != nil {
				change(&m)
			}
			return m.write(t)
		}
	}
	colours := func(list ...godal.ColorInterp) func(m *made) {
		return func(m *made) {
			m.bands, m.kind = len(list), godal.Byte
			m.change = func(ds *godal.Dataset, _ []float32) {
				for i, c := range list {
					_ = ds.Bands()[i].SetColorInterp(c)
				}
			}
		}
	}
	for _, c := range []struct {
		name, unit string
		file       func(*testing.T) string
		want       []string
	}{
		{"missing", "", func(t *testing.T) string { return filepath.Join(t.TempDir(), "ground.tif") }, []string{"cannot be read"}},
		{"no raster", "", func(t *testing.T) string {
			p := filepath.Join(t.TempDir(), "ground.tif")
			_ = os.WriteFile(p, []byte("no\nraster"), 0o600)
			return p
		}, []string{"cannot be read"}},
		{"empty file", "", func(t *testing.T) string {
			p := filepath.Join(t.TempDir(), "ground.tif")
			_ = os.WriteFile(p, nil, 0o600)
			return p
		}, []string{"cannot be read"}},
		{"no system", "m", with("", nil), []string{"no coordinate system", "gdal_edit"}},
		{"no place", "", with(full, func(m *made) { m.gt = [6]float64{} }), []string{"no georeference"}},
		{"rotated", "", with(full, func(m *made) { m.gt[2] = 0.5 }), []string{"rotated", "0.5", "gdalwarp"}},
		{"2-D system", "", with("EPSG:26915", nil), []string{"--vertical-unit", "UTM zone 15N"}},
		{"2-D system in feet", "", with("EPSG:2263", nil), []string{"--vertical-unit"}},
		{"2-D degrees", "", with("EPSG:4326", func(m *made) { m.gt = [6]float64{-80.7, 1e-5, 0, 28, 0, -1e-5} }), []string{"--vertical-unit"}},
		{"unit against the system", "ft", with(full, nil), []string{"0.3048", "leave the flag out"}},
		{"one foot against the other", "ft", with("EPSG:2263+6360", nil), []string{"0.3048", "coordinate system"}},
		{"unknown unit", "cubits", with("EPSG:26915", nil), []string{"--vertical-unit", "cubits"}},
		{"palette", "", with(full, colours(godal.CIPalette)), []string{"picture"}},
		{"red, green, blue", "", with(full, colours(godal.CIRed, godal.CIGreen, godal.CIBlue)), []string{"picture"}},
		{"green and blue", "", with(full, colours(godal.CIGreen, godal.CIBlue)), []string{"picture"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := Open(c.file(t), c.unit)
			if err == nil {
				d.Close()
				t.Fatal("opened")
			}
			check(t, err, append(c.want, "ground.tif"))
		})
	}
}

func check(t *testing.T, err error, want []string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) || strings.Contains(err.Error(), "\n") {
		t.Fatalf("%q of type %T, want one line of this package", err, err)
	}
	for _, w := range want {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}

func open(t *testing.T, m made, unit string) *Dataset {
	t.Helper()
	d, err := Open(m.write(t), unit)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Close)
	return d
}

func TestReadRefused(t *testing.T) {
	m := newMade("EPSG:26915+5703")
	d := open(t, m, "")
	box := func(x0, y0, x1, y1 float64) orb.Bound {
		return orb.Bound{Min: orb.Point{x0, y0}, Max: orb.Point{x1, y1}}
	}
	_, err := d.Read(box(510000, 4400010, 510010, 4400020), 15)
	check(t, err, []string{"outside the raster"})
	_, err = d.Read(box(500070, 4400010, 500090, 4400020), 15)
	check(t, err, []string{"part of the site"})
	m.change = func(_ *godal.Dataset, z []float32) { patch(z, 0, 0, madeCols-1, madeRows-1, -9999) }
	d = open(t, m, "")
	_, err = d.ReadAll()
	check(t, err, []string{"nodata", "1200 cells"})
	m = newMade("EPSG:5498")
	m.gt = [6]float64{-80.7, 1e-5, 0, 28, 0, -1e-5}
	_, err = open(t, m, "").Read(box(0, 0, 1, 1), 15)
	check(t, err, []string{"degrees", "no site"})
}

// What a raster says of its elevations, in the order it is believed.
func TestVerticalUnit(t *testing.T) {
	const usFoot = 1200.0 / 3937
	for _, c := range []struct {
		name, system, band, flag string
		want                     float64 // m; 0 where refused
	}{
		{"system", "EPSG:26915+5703", "", "", 1},
		{"system in feet", "EPSG:2263+6360", "", "", usFoot},
		{"system and flag", "EPSG:2263+6360", "", "us-ft", usFoot},
		{"flag", "EPSG:26915", "", "ft", 0.3048},
		{"flag, feet across", "EPSG:2263", "", "m", 1},
		{"band", "EPSG:26915", "metre", "", 1},
		{"band in US survey feet", "EPSG:26915", "US survey foot", "", usFoot},
		{"band and flag", "EPSG:26915", "m", "m", 1},
		{"band against flag", "EPSG:26915", "m", "ft", 0},
		{"band and system", "EPSG:26915+5703", "metre", "", 1},
		{"band against system", "EPSG:26915+5703", "US survey foot", "", 0},
		{"some foot against system", "EPSG:26915+5703", "ft", "", 0},
		{"some foot", "EPSG:26915", "ft", "", 0},
		{"some foot and flag", "EPSG:26915", "ft", "us-ft", usFoot},
		{"some foot against flag", "EPSG:26915", "ft", "m", 0},
		{"some foot and system", "EPSG:2263+6360", "ft", "", usFoot},
		{"a word", "EPSG:26915", "furlong", "", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := newMade(c.system).write(t)
			if c.band != "" {
				file = banded(t, file, c.band)
			}
			d, err := Open(file, c.flag)
			if err != nil {
				if c.want != 0 {
					t.Fatal(err)
				}
				check(t, err, nil)
				return
			}
			defer d.Close()
			if math.Abs(d.MetresPerZ-c.want) > 1e-12 {
				t.Errorf("%v m, want %v", d.MetresPerZ, c.want)
			}
		})
	}
}

// banded returns a VRT of a raster whose band has the unit.
func banded(t *testing.T, file, unit string) string {
	t.Helper()
	ds, err := godal.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = ds.Close() }()
	path := filepath.Join(filepath.Dir(file), "ground.vrt")
	vrt, err := ds.Translate(path, []string{"-of", "VRT"})
	if err != nil {
		t.Fatal(err)
	}
	if err := vrt.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	if i, j := strings.Index(text, "<UnitType>"), strings.Index(text, "</UnitType>"); i >= 0 {
		text = text[:i] + text[j+len("</UnitType>"):]
	}
	at := strings.Index(text, "<ColorInterp>")
	if at < 0 {
		t.Fatalf("no colour in %s", text)
	}
	text = text[:at] + "<UnitType>" + unit + "</UnitType>" + text[at:]
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestNotices(t *testing.T) {
	m := newMade("EPSG:26915+5703")
	m.bands = 3
	m.change = func(_ *godal.Dataset, z []float32) {
		patch(z, 10, 10, 12, 11, -9999)
		z[0] = -32768
		z[1] = 3.4e38
		z[2] = float32(math.NaN())
	}
	d := open(t, m, "")
	for range 2 { // said once, however often it is read
		if _, err := d.ReadAll(); err != nil {
			t.Fatal(err)
		}
	}
	want := [][]string{{"3 bands"}, {"1 cells", "-32768"}, {"6 cells", "-9999"}, {"1 cells", "3.4e+38"}}
	if len(d.Notices) != len(want) {
		t.Fatalf("%q", d.Notices)
	}
	for i, words := range want {
		for _, w := range words {
			if !strings.Contains(d.Notices[i], w) {
				t.Errorf("%q does not say %q", d.Notices[i], w)
			}
		}
	}
	m.bands = 1
	m.change = func(ds *godal.Dataset, z []float32) {
		_ = ds.SetNoData(-9999)
		patch(z, 10, 10, 12, 11, -9999)
	}
	d = open(t, m, "")
	if w, err := d.ReadAll(); err != nil || len(d.Notices) > 0 || len(w.Voids()) != 1 {
		t.Errorf("named nodata: %v, %q", err, d.Notices)
	}
}

// A void cut by the window is as open or closed as the whole raster has it.
func TestVoidsOfTheWindow(t *testing.T) {
	lot := orb.Bound{Min: orb.Point{500030, 4400020}, Max: orb.Point{500040, 4400030}} // columns 15-19, rows 15-19
	for _, c := range []struct {
		name           string
		c0, r0, c1, r1 int
		open           bool
		grown          bool
	}{
		{"far off", 1, 1, 2, 2, false, false},
		{"inside the window", 16, 16, 17, 17, false, false},
		{"through the window's west side", 5, 15, 14, 17, false, true},
		{"through its north side", 16, 4, 17, 14, false, true},
		{"through its east side", 20, 16, 35, 17, false, true},
		{"through its south side", 16, 20, 17, 28, false, true},
		{"to the raster's west side", 0, 15, 14, 17, true, true},
		{"to the raster's south side", 16, 20, 17, 29, true, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMade("EPSG:26915+5703")
			m.change = func(ds *godal.Dataset, z []float32) {
				_ = ds.SetNoData(-9999)
				patch(z, c.c0, c.r0, c.c1, c.r1, -9999)
			}
			d := open(t, m, "")
			w, err := d.Read(lot, 6)
			if err != nil {
				t.Fatal(err)
			}
			if grown := w.Cols > 13; grown != c.grown {
				t.Errorf("window of %d by %d cells, grown %v, want %v", w.Cols, w.Rows, grown, c.grown)
			}
			want := 1
			if c.name == "far off" {
				want = 0
			}
			voids := w.Voids()
			if len(voids) != want || want == 1 && voids[0].Open != c.open {
				t.Errorf("voids %+v, want %d open %v", voids, want, c.open)
			}
			if z := w.Elevation(w.Index(15-w.Col, 18-w.Row)); math.Abs(z-115.18) > 1e-4 {
				t.Errorf("cell of column 15, row 18 holds %v", z)
			}
		})
	}
}

// A void that reaches the raster's own edge within the window is open whatever
// lies further out: nothing more is read for it.
func TestOpenVoidReadsNoMore(t *testing.T) {
	m := newMade("EPSG:26915+5703")
	m.change = func(ds *godal.Dataset, z []float32) {
		_ = ds.SetNoData(-9999)
		patch(z, 0, 2, 1, 27, -9999)
	}
	w, err := open(t, m, "").Read(orb.Bound{Min: orb.Point{500006, 4400028}, Max: orb.Point{500010, 4400032}}, 10)
	if err != nil {
		t.Fatal(err)
	}
	if w.Rows > 14 {
		t.Errorf("%d rows read", w.Rows)
	}
}

// Rows may run from the south; the ground is the same.
func TestSouthUp(t *testing.T) {
	m := newMade("EPSG:26915+5703")
	north, err := open(t, m, "").ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	m.gt = [6]float64{500000, 2, 0, 4400000, 0, 2}
	m.change = func(_ *godal.Dataset, z []float32) {
		for i := range z {
			z[i] = 100 + float32(i%madeCols) + float32(madeRows-1-i/madeCols)/100
		}
	}
	d := open(t, m, "")
	south, err := d.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	part, err := d.Read(orb.Bound{Min: orb.Point{500020, 4400010}, Max: orb.Point{500030, 4400015}}, 5)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []orb.Point{{500021, 4400011}, {500029.5, 4400014.3}} {
		a, b, c := north.Ground(p[0], p[1]), south.Ground(p[0], p[1]), part.Ground(p[0], p[1])
		if math.Abs(a-b) > 1e-9 || math.Abs(a-c) > 1e-9 {
			t.Errorf("at %v: %v, %v, %v", p, a, b, c)
		}
	}
}

// A raster taller than what is read at once comes in order, from either side, and
// so does a part of it.
func TestTall(t *testing.T) {
	const cols, rows = 3, 2*rowsAtOnce + 50
	for _, up := range []bool{false, true} {
		gt := [6]float64{500000, 2, 0, 4400000 + 2*rows, 0, -2}
		z := make([]float32, cols*rows)
		for i := range z {
			z[i] = float32(i / cols)
		}
		if up {
			gt[3], gt[5] = 4400000, 2
			slices.Reverse(z)
		}
		path := filepath.Join(t.TempDir(), "ground.tif")
		o, err := create[float32](path, cols, rows, gt, "EPSG:26915+5703", Kind{NoData: math.NaN()})
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(o.WriteRows(0, z), o.Close()); err != nil {
			t.Fatal(err)
		}
		d, err := Open(path, "")
		if err != nil {
			t.Fatal(err)
		}
		defer d.Close()
		whole, err := d.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		part, err := d.Read(orb.Bound{Min: orb.Point{500001, 4400000 + 2*(rows-rowsAtOnce-90)}, Max: orb.Point{500005, 4400000 + 2*(rows-40)}}, 0)
		if err != nil {
			t.Fatal(err)
		}
		for what, w := range map[string]*Window{"whole": whole, "part": part} {
			for i, got := range w.Z {
				if want := float32(w.Row + i/w.Cols); got != want {
					t.Fatalf("south up %v, %s: row %v of the raster is %v", up, what, want, got)
				}
			}
		}
		if whole.Rows != rows || part.Row < 38 || part.Rows < rowsAtOnce+48 {
			t.Fatalf("south up %v: %d rows, of the part %d from %d on", up, whole.Rows, part.Rows, part.Row)
		}
	}
}

// A raster in degrees: read without a site, and refused where one plane does
// not do.
func TestDegrees(t *testing.T) {
	m := newMade("EPSG:5498")
	m.gt = [6]float64{-80.7, 3e-5, 0, 28, 0, -3e-5}
	w, err := open(t, m, "").ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// A degree of latitude at 28 N is 110 819 m on the GRS80 ellipsoid (meridian
	// radius a(1-e2)/(1-e2 sin2)^1.5 = 6 349 484 m), times 0.9996, UTM's scale on
	// the central meridian; 0.3 degrees off it that is 1e-5 more.
	const degree = 110819 * 0.9996
	if got := w.CellY / 3e-5; math.Abs(got-degree) > degree*3e-5 {
		t.Errorf("a degree of latitude is %.0f m", got)
	}
	for _, c := range [][2]float64{{0, 0}, {39, 0}, {0, 29}, {20.5, 11.25}} {
		x, y := w.ToSite(c[0], c[1])
		if col, row := w.ToCell(x, y); math.Hypot(col-c[0], row-c[1]) > 1e-9 {
			t.Errorf("%v comes back as %v %v", c, col, row)
		}
	}
	m.gt = [6]float64{-80.7, 0.1, 0, 28, 0, -0.1}
	_, err = open(t, m, "").ReadAll()
	check(t, err, []string{"too wide", "km", "gdalwarp"})
}

// Metres of UTM and of a state's plane are the ground's; those of Web Mercator are
// 1/cos(latitude) too long, but for the ellipsoid.
func TestStretchNoted(t *testing.T) {
	for system, says := range map[string]string{"EPSG:26915+5703": "", "EPSG:2903+6360": "", "EPSG:3857+5703": "a metre on the ground is 1.30"} {
		d, err := Open(newMade(system).write(t), "")
		if err != nil {
			t.Fatal(err)
		}
		defer d.Close()
		at := [2]float64{-93, 39.75}
		if strings.HasPrefix(system, "EPSG:2903") {
			at = [2]float64{-106.25, 35}
		}
		if err := d.NoteStretch(at[0], at[1]); err != nil {
			t.Fatal(err)
		}
		if noted := strings.Join(d.Notices, "; "); says == "" && noted != "" || !strings.Contains(noted, says) {
			t.Errorf("%s: noted %q, want %q", system, noted, says)
		}
	}
}
