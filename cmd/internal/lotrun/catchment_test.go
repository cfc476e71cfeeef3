package lotrun

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"curbfall/io/raster"
	"curbfall/terrain/grid"
)

// A lot at the foot of a valley 470 m long, 120 m from ridge to ridge: ground is read until all that drains
// to it is there, no matter how little is read at first, and what runs over its
// lines is then the same as with the whole raster. With less allowed, and where
// the raster itself cuts the valley, it is said that more may come.
func TestCatchmentIsRead(t *testing.T) {
	folder := t.TempDir()
	dem, site := filepath.Join(folder, "valley.tif"), filepath.Join(folder, "site.geojson")
	g := grid.New(grid.NewFrame(500000, 4400700, 2, 2), 500, 400)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := math.Abs(float64(c)-250)*2, float64(r)*2 // from the valley's line, from the north
		x = math.Min(x, 120-x)
		g.Z[i] = float32(100 - 0.02*math.Max(y, 200-y) + 0.05*x) // its head falls north
	}
	if err := raster.WriteGround(dem, g, "EPSG:26915+5703"); err != nil {
		t.Fatal(err)
	}
	lot := func(south float64) {
		text := fmt.Sprintf(`{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:26915"}}, "features": [
{"type": "Feature", "properties": {"kind": "lot", "id": "a"}, "geometry": {"type": "Polygon", "coordinates": [[[500480,%[1]v],[500520,%[1]v],[500520,%[2]v],[500480,%[2]v],[500480,%[1]v]]]}}]}`, south, south+30)
		if err := os.WriteFile(site, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	flow := func(most int) (in float64, reach float64, notes string) {
		g, err := read(Inputs{DEM: dem, Site: site})
		if err != nil {
			t.Fatal(err)
		}
		defer g.close()
		w, err := g.readWater(most)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range w.boundaryFlows(g.site, w.rainOn(g.site, g.criteria.Storm, nil), nil, nil) {
			in += math.Max(0, -s.Before.Net)
		}
		return in, float64(g.ground.Rows) * 2, strings.Join(g.notes, "\n")
	}
	lot(4400100)
	in, reach, notes := flow(catchmentMost)
	// By hand: 470 m by 120 m at 0.35 of 177.8 mm/h, and the lot's own sides; the
	// raster goes on 100 m north of the valley's head.
	want := 470 * 120 * 0.35 * 0.1778 / 3600
	if in < want || in > 1.1*want || reach < 500 || strings.Contains(notes, "water comes to the lot") {
		t.Errorf("%v m3/s from %v m of ground, by hand %v: %q", in, reach, want, notes)
	}
	cut, less, notes := flow(20000)
	if cut > 0.7*in || less >= reach || !strings.Contains(notes, "from beyond the 80 m round it that were read (20000 cells at most)") {
		t.Errorf("%v m3/s from %v m of ground, %q", cut, less, notes)
	}
	if _, _, notes := flow(1); !strings.Contains(notes, "from beyond the 40 m") {
		t.Errorf("%q", notes)
	}
	lot(4400600) // on the head: its water leaves northward over the raster's edge
	if _, _, notes := flow(catchmentMost); strings.Contains(notes, "water comes to the lot") {
		t.Errorf("%q", notes)
	}
}

// A ditch along a ridge, with a hollow in it at the edge of what is read first:
// over that edge its water seems to leave, away from the lot, to which all of the
// ditch drains.
func TestCatchmentHiddenByTheEdge(t *testing.T) {
	folder := t.TempDir()
	dem, site := filepath.Join(folder, "ditch.tif"), filepath.Join(folder, "site.geojson")
	g := grid.New(grid.NewFrame(500001, 4400101, 2, 2), 300, 100)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, out := float64(c)*2, math.Abs(float64(r)-50)
		z := 40 - out // the ridge falls away from the ditch
		if out == 0 {
			z = 20 - 0.01*x
			if 350 < x && x < 370 {
				z -= 0.5 - 0.05*math.Abs(x-360) // the lot's window begins at 362 m
			}
		}
		g.Z[i] = float32(z)
	}
	if err := raster.WriteGround(dem, g, "EPSG:26915+5703"); err != nil {
		t.Fatal(err)
	}
	text := `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:26915"}}, "features": [
{"type": "Feature", "properties": {"kind": "lot", "id": "a"}, "geometry": {"type": "Polygon", "coordinates": [[[500402,4399990],[500422,4399990],[500422,4400012],[500402,4400012],[500402,4399990]]]}}]}`
	if err := os.WriteFile(site, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	read, err := read(Inputs{DEM: dem, Site: site})
	if err != nil {
		t.Fatal(err)
	}
	defer read.close()
	first, more, _ := read.catchments(read.inSight())
	if _, err := read.readWater(1); err != nil || strings.Contains(strings.Join(read.notes, ""), "water comes to the lot") {
		t.Errorf("where nothing is seen to be cut off: %v %q", err, read.notes)
	}
	w, err := read.readWater(catchmentMost)
	if err != nil {
		t.Fatal(err)
	}
	all, _, _ := read.catchments(w)
	// By hand: 200 cells of the ditch lie west of the lot, of which the first drains
	// off the raster.
	if more || all-first < 150 {
		t.Errorf("%d cells drain to the lot within %v m, which are cut %v; %d in all", first, margin, more, all)
	}
}
