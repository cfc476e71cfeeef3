package lotrun

import (
	"context"
	"os"
	"path/filepath"
	"testing"
)

// Lines over the Florida raster, all invented, where a utility lies just so deep that a
// pipe passes over it and has to be down a step behind it: in the outlet pipe, which
// is one grade, and where the cover of a driveway begins.
var acrossUtility = map[string]string{
	"in the outlet pipe": `{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[530831.169, 3100834.542], [530856.975, 3100837.711], [530852.588, 3100873.443], [530826.781, 3100870.274], [530831.169, 3100834.542]]]}},
{"type": "Feature", "properties": {"kind": "roof", "id": "house"}, "geometry": {"type": "Polygon", "coordinates": [[[530835.035, 3100844.085], [530850.915, 3100846.035], [530848.965, 3100861.915], [530843.010, 3100861.184], [530843.619, 3100856.221], [530833.694, 3100855.003], [530835.035, 3100844.085]]]}},
{"type": "Feature", "properties": {"kind": "curb", "id": "curb", "type": "vertical"}, "geometry": {"type": "LineString", "coordinates": [[530772, 3100876.5], [530830, 3100876.7], [530900, 3100877], [530960, 3100877.3]]}},
{"type": "Feature", "properties": {"kind": "utility", "id": "gas", "depth_in": 18, "outside_diameter_in": 1}, "geometry": {"type": "LineString", "coordinates": [[530826.033, 3100868.167], [530853.824, 3100871.579]]}}`,
	"before a driveway": `{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[530877, 3100887.5], [530902.5, 3100887.5], [530902.5, 3100924], [530877, 3100924], [530877, 3100887.5]]]}},
{"type": "Feature", "properties": {"kind": "roof", "id": "house"}, "geometry": {"type": "Polygon", "coordinates": [[[530881, 3100896], [530898, 3100896], [530898, 3100909.5], [530881, 3100909.5], [530881, 3100896]]]}},
{"type": "Feature", "properties": {"kind": "curb", "id": "curb", "type": "vertical", "gutter_elevation": 7.2}, "geometry": {"type": "LineString", "coordinates": [[530772, 3100884.6], [530830, 3100884.8], [530900, 3100885.1], [530956, 3100885.4]]}},
{"type": "Feature", "properties": {"kind": "utility", "id": "water", "top": 7.45, "outside_diameter": 0.15}, "geometry": {"type": "LineString", "coordinates": [[530877, 3100892], [530903, 3100892]]}},
{"type": "Feature", "properties": {"kind": "driveway", "id": "drive"}, "geometry": {"type": "Polygon", "coordinates": [[[530884, 3100885.3], [530888, 3100885.3], [530888, 3100896], [530884, 3100896], [530884, 3100885.3]]]}}`,
}

// What a search finds between utilities can be laid in straight grades.
func TestAcrossUtility(t *testing.T) {
	dem := filepath.Join("..", "..", "..", "..", "shared", "data", "fl-subdivision-3m.tif")
	if _, err := os.Stat(dem); err != nil {
		t.Skipf("real rasters are not here: %v", err)
	}
	for name, lines := range acrossUtility {
		t.Run(name, func(t *testing.T) {
			site, folder := filepath.Join(t.TempDir(), "site.geojson"), filepath.Join(t.TempDir(), "out")
			text := `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:26917"}}, "features": [` + lines + `]}`
			if err := os.WriteFile(site, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			if _, err := Route(context.Background(), Inputs{DEM: dem, Site: site}, Output{Folder: folder}); err != nil {
				t.Fatal(err)
			}
			independent(t, dem, site, "lot-1", folder)
		})
	}
}
