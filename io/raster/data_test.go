package raster

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

// dataFile returns the path of a real raster, or skips where the shelf of real
// rasters is not beside the repository.
func dataFile(t *testing.T, name string) string {
	t.Helper()
	p := filepath.Join("..", "..", "..", "shared", "data", name)
	if _, err := os.Stat(p); err != nil {
		t.Skipf("real raster %s is not here: %v", name, err)
	}
	return p
}

// Values read with GDAL 3.6.2's gdallocationinfo, nearest cell; the bilinear
// one with the same tool's -r bilinear of a later version.
func TestRealValues(t *testing.T) {
	for _, c := range []struct {
		file, unit string
		x, y       float64 // raster's own units
		want, tol  float64 // m
		bilinear   bool
	}{
		{"fl-subdivision-3m.tif", "", 530865, 3100855, 8.39864, 1e-5, false},
		{"fl-subdivision-degrees.tif", "", -80.6867, 28.0330, 8.18559, 1e-5, false},
		{"fr-rowhouses-025m.vrt", "", 770595.4, 6277521.4, 20.55686, 1e-5, false},
		{"nm-hillside-2ft.tif", "", 1639700, 1454600, 2159.225, 5e-4, false},
		{"nm-hillside-2ft.tif", "", 1639700, 1454600, 2159.164, 5e-4, true},
		{"mn-depression-1m-cog.tif", "m", 429452, 5150685, 393.61728, 1e-4, false},
	} {
		t.Run(c.file, func(t *testing.T) {
			d, err := Open(dataFile(t, c.file), c.unit)
			if err != nil {
				t.Fatal(err)
			}
			defer d.Close()
			if err := d.SetSite(d.Middle()[0], d.Middle()[1]); err != nil {
				t.Fatal(err)
			}
			w, err := d.ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			north, height := d.north()
			col, row := (c.x-d.gt[0])/d.gt[1]-0.5, (north-c.y)/height-0.5
			x, y := w.ToSite(col, row)
			got := w.Ground(x, y)
			if !c.bilinear {
				// gdallocationinfo takes the cell the point lies in.
				got = w.Elevation(w.Index(int(math.Floor(col+0.5)), int(math.Floor(row+0.5))))
			}
			if math.Abs(got-c.want) > c.tol {
				t.Errorf("%.5f m, want %.5f", got, c.want)
			}
		})
	}
}

// The window is the whole raster's part, whatever its size.
func TestWindowIsPart(t *testing.T) {
	d, err := Open(dataFile(t, "fl-subdivision-3m.tif"), "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	all, err := d.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	x, y := all.ToSite(60, 60)
	part, err := d.Read(orb.Bound{Min: orb.Point{x, y - 50}, Max: orb.Point{x + 50, y}}, 20)
	if err != nil {
		t.Fatal(err)
	}
	if part.Cols >= 40 || math.Abs(part.Ground(x+20, y-20)-all.Ground(x+20, y-20)) > 1e-12 {
		t.Errorf("window of %d columns, ground %v against %v", part.Cols, part.Ground(x+20, y-20), all.Ground(x+20, y-20))
	}
}

// Voids of a window are as open or closed as the whole raster has them; this
// one has holes under houses and ragged edges.
func TestRealVoids(t *testing.T) {
	d, err := Open(dataFile(t, "fr-rowhouses-025m.vrt"), "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	all, err := d.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	open := make([]bool, len(all.Z))
	for _, v := range all.Voids() {
		for _, i := range v.Cells {
			open[i] = v.Open
		}
	}
	seen := 0
	for _, at := range [][2]float64{{100, 100}, {300, 200}, {450, 150}, {200, 320}} {
		x, y := all.ToSite(at[0], at[1])
		w, err := d.Read(orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + 2, y + 2}}, 8)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range w.Voids() {
			c, r := w.Cell(v.Cells[0])
			if v.Open != open[all.Index(c+w.Col, r+w.Row)] {
				t.Errorf("round cell %v: a void of %d cells is open %v, in the whole raster not", at, len(v.Cells), v.Open)
			}
			seen++
		}
	}
	if seen == 0 {
		t.Error("no void in any window")
	}
}

// The plane of a raster in degrees lies as PROJ has it, between the points it
// was fitted to as well.
func TestRealDegrees(t *testing.T) {
	d, err := Open(dataFile(t, "fl-subdivision-degrees.tif"), "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	w, err := d.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	m, err := crs.NewMover(d.Site, d.System)
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	north, height := d.north()
	for col := 0.0; col < float64(d.Cols); col += 12.7 {
		for row := 0.0; row < float64(d.Rows); row += 11.3 {
			x, y := w.ToSite(col, row)
			p, err := m.Move(orb.Point{x, y})
			if err != nil {
				t.Fatal(err)
			}
			c, r := (p[0]-d.gt[0])/d.gt[1]-0.5, (north-p[1])/height-0.5
			if math.Hypot(c-col, r-row) > fitTolerance {
				t.Fatalf("cell %v %v lies at %v %v by PROJ", col, row, c, r)
			}
		}
	}
}
