package lotrun

import (
	"context"
	"os"
	"path/filepath"
	"testing"
)

// hillside are lines over the New Mexico raster, all invented, in its own
// coordinates, US survey feet (State Plane, EPSG:2903). The ground falls some
// 8 % north to a curb. The curb's gutter is given, 0.9 ft under the ground read
// with gdallocationinfo: nobody built a street there.
const hillside = `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:2903"}}, "features": [
{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[1639700,1454530],[1639780,1454530],[1639780,1454642],[1639700,1454642],[1639700,1454530]]]}},
{"type": "Feature", "properties": {"kind": "roof", "id": "house"}, "geometry": {"type": "Polygon", "coordinates": [[[1639718,1454555],[1639762,1454555],[1639762,1454590],[1639718,1454590],[1639718,1454555]]]}},
{"type": "Feature", "properties": {"kind": "curb", "id": "curb", "type": "vertical", "street_side": "left", "gutter_elevation_ft": [7079.56, 7078.77, 7080.44, 7081.30, 7081.71, 7082.78, 7083.85]}, "geometry": {"type": "LineString", "coordinates": [[1639680,1454650],[1639700,1454650],[1639720,1454650],[1639740,1454650],[1639760,1454650],[1639780,1454650],[1639796,1454650]]}},
{"type": "Feature", "properties": {"kind": "walk", "id": "walk", "thickness_in": 4}, "geometry": {"type": "Polygon", "coordinates": [[[1639738,1454590],[1639742,1454590],[1639742,1454648],[1639738,1454648],[1639738,1454590]]]}},
{"type": "Feature", "properties": {"kind": "tree", "id": "juniper", "trunk_diameter_in": 9}, "geometry": {"type": "Point", "coordinates": [1639726,1454612]}},
{"type": "Feature", "properties": {"kind": "inlet", "id": "yard"}, "geometry": {"type": "Point", "coordinates": [1639752,1454604]}}
]}`

// A real raster in feet on a slope: the law on what is printed.
func TestHillside(t *testing.T) {
	dem := filepath.Join("..", "..", "..", "..", "shared", "data", "nm-hillside-2ft.tif")
	if _, err := os.Stat(dem); err != nil {
		t.Skipf("real rasters are not here: %v", err)
	}
	site := filepath.Join(t.TempDir(), "site.geojson")
	if err := os.WriteFile(site, []byte(hillside), 0o600); err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(t.TempDir(), "out")
	done, err := Route(context.Background(), Inputs{DEM: dem, Site: site}, Output{Folder: folder})
	if err != nil {
		t.Fatal(err)
	}
	if !done.Feasible {
		t.Fatalf("infeasible\n%s", done.Report)
	}
	independent(t, dem, site, "lot-1", folder)
}
