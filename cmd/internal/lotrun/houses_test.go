package lotrun

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/raster"
	"curbfall/routing/constraint"
	"curbfall/routing/synth"
)

// writeHouse writes a house lot's raster, site and criteria into a folder.
func writeHouse(t *testing.T, l *synth.Lot, folder string) Inputs {
	t.Helper()
	in := Inputs{DEM: filepath.Join(folder, "ground.tif"), Site: filepath.Join(folder, "site.geojson"), Criteria: filepath.Join(folder, "criteria.yaml")}
	if err := raster.WriteGround(in.DEM, l.Ground(), synth.System+"+5703"); err != nil {
		t.Fatal(err)
	}
	criteria := "storm:\n  intensity: 2 in/h\n"
	if l.Single {
		criteria += "limits:\n  inlet_depth: 1 m\n" // no drain is proposed in a hollow
	}
	for path, text := range map[string]string{in.Site: drawn(l.Site()), in.Criteria: criteria} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return in
}

// drawn is a house lot's lines as GeoJSON.
func drawn(s *constraint.Site) string {
	var list []string
	add := func(kind, id, more, shape, at string) {
		list = append(list, fmt.Sprintf(`{"type":"Feature","properties":{"kind":%q,"id":%q%s},"geometry":{"type":%q,"coordinates":%s}}`, kind, id, more, shape, at))
	}
	point := func(p orb.Point) string { return fmt.Sprintf("[%.4f,%.4f]", p[0], p[1]) }
	line := func(points []orb.Point) string {
		var at []string
		for _, p := range points {
			at = append(at, point(p))
		}
		return "[" + strings.Join(at, ",") + "]"
	}
	area := func(kind, id string, a orb.Polygon) { add(kind, id, "", "Polygon", "["+line(a[0])+"]") }
	for _, x := range s.Lots {
		area("lot", x.ID, x.Area)
	}
	for _, x := range s.Roofs {
		area("roof", x.ID, x.Outline)
	}
	for _, x := range s.Paved {
		area(string(x.Kind), x.ID, x.Area)
	}
	for _, x := range s.Curbs {
		add("curb", x.ID, `,"type":"vertical","street_side":"right"`, "LineString", line(x.Line))
	}
	for _, x := range s.Trees {
		add("tree", x.ID, fmt.Sprintf(`,"trunk_diameter":%g`, x.TrunkDiameter), "Point", point(x.At))
	}
	for _, x := range s.Utilities {
		add("utility", x.ID, fmt.Sprintf(`,"type":%q,"depth":%g,"outside_diameter":%g`, x.Type, x.Depth, x.OutsideDiameter), "LineString", line(x.Line))
	}
	for _, x := range s.Downspouts {
		add("downspout", x.ID, "", "Point", point(x.At))
	}
	for _, x := range s.Inlets {
		add("inlet", x.ID, "", "Point", point(x.At))
	}
	return `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"` + synth.System + `"}},"features":[` + "\n" + strings.Join(list, ",\n") + "\n]}\n"
}
