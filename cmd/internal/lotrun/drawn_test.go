package lotrun

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// acrossUtility are lines over the Florida raster, all invented, where a utility lies just so deep that a
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

// drawnOver designs lines over the Florida raster and holds what is printed against the
// law.
func drawnOver(t *testing.T, lines, criteria string) (summary string) {
	t.Helper()
	dem := filepath.Join("..", "..", "..", "..", "shared", "data", "fl-subdivision-3m.tif")
	if _, err := os.Stat(dem); err != nil {
		t.Skipf("real rasters are not here: %v", err)
	}
	in := Inputs{DEM: dem, Site: filepath.Join(t.TempDir(), "site.geojson")}
	text := `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "EPSG:26917"}}, "features": [` + lines + `]}`
	if err := os.WriteFile(in.Site, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if criteria != "" {
		in.Criteria = filepath.Join(t.TempDir(), "criteria.yaml")
		if err := os.WriteFile(in.Criteria, []byte(criteria), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	folder := filepath.Join(t.TempDir(), "out")
	done, err := Route(context.Background(), in, Output{Folder: folder})
	if err != nil {
		t.Fatal(err)
	}
	independent(t, dem, in.Site, "lot-1", folder)
	return done.Summary
}

// What a search finds between utilities can be laid in straight grades.
func TestAcrossUtility(t *testing.T) {
	for name, lines := range acrossUtility {
		t.Run(name, func(t *testing.T) { drawnOver(t, lines, "") })
	}
}

// unevenParts is a lot, invented, of whose downspouts no two can be led out beside the
// third evenly: the flow of one outlet has to be well over half of all.
const unevenParts = `{"type": "Feature", "properties": {"kind": "lot", "id": "lot-1"}, "geometry": {"type": "Polygon", "coordinates": [[[530838.03, 3100840.44], [530856.55, 3100840.44], [530856.55, 3100874.0], [530838.03, 3100874.0], [530838.03, 3100840.44]]]}},
{"type": "Feature", "properties": {"kind": "roof", "id": "house"}, "geometry": {"type": "Polygon", "coordinates": [[[530840.15, 3100848.32], [530854.1, 3100848.32], [530854.1, 3100864.71], [530848.06, 3100864.71], [530848.06, 3100858.15], [530840.15, 3100858.15], [530840.15, 3100848.32]]]}},
{"type": "Feature", "properties": {"kind": "curb", "id": "curb", "type": "vertical", "gutter_elevation": 7.345, "street_side": "left"}, "geometry": {"type": "LineString", "coordinates": [[530772.0, 3100876.5], [530830.0, 3100876.7], [530900.0, 3100877.0], [530960.0, 3100877.3]]}},
{"type": "Feature", "properties": {"kind": "utility", "id": "gas", "outside_diameter": 0.081}, "geometry": {"type": "LineString", "coordinates": [[530836.03, 3100871.76], [530847.29, 3100871.34], [530858.55, 3100871.59]]}},
{"type": "Feature", "properties": {"kind": "driveway", "id": "drive"}, "geometry": {"type": "Polygon", "coordinates": [[[530847.11, 3100865.71], [530850.11, 3100865.71], [530850.11, 3100876.5], [530847.11, 3100876.5], [530847.11, 3100865.71]]]}},
{"type": "Feature", "properties": {"kind": "downspout", "id": "ds-1", "roof": "house", "share": 0.4}, "geometry": {"type": "Point", "coordinates": [530840.15, 3100848.32]}},
{"type": "Feature", "properties": {"kind": "downspout", "id": "ds-2", "roof": "house", "share": 0.35}, "geometry": {"type": "Point", "coordinates": [530840.15, 3100857.15]}},
{"type": "Feature", "properties": {"kind": "downspout", "id": "ds-3", "roof": "house", "share": 0.25}, "geometry": {"type": "Point", "coordinates": [530842.15, 3100848.32]}}`

// Flow left over is divided unevenly where no even division finds its way.
func TestUnevenParts(t *testing.T) {
	var s struct {
		LeftOver float64 `json:"left_over_lps"`
	}
	if err := json.Unmarshal([]byte(drawnOver(t, unevenParts, "limits:\n  cover_min_walk: 4 in\n  slope_min: 0.5 %\n")), &s); err != nil {
		t.Fatal(err)
	}
	if s.LeftOver > 2 { // 4.1 L/s by one outlet
		t.Errorf("%.3f L/s left over, want less than 2", s.LeftOver)
	}
}
