package demo

import (
	"fmt"
	"io"
	"strings"

	"github.com/paulmach/orb"
)

// feature is one line of the invented site, in metres from the lot's corner.
type feature struct {
	kind, id, geometry string // geometry: Polygon, LineString or Point
	properties         string // JSON members after kind and id
	points             []orb.Point
}

func rect(x0, y0, x1, y1 float64) []orb.Point {
	return []orb.Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

var features = []feature{
	{"lot", "lot-1", "Polygon", ``, rect(0, 0, width, depth)},
	{"roof", "house", "Polygon", ``, rect(8, houseSouth, 23, houseNorth)},
	{"roof", "garage", "Polygon", ``, rect(23, 13, 29, 20)},
	{"curb", "curb-south", "LineString", `"type": "vertical", "street_side": "right"`, []orb.Point{{-10, curbNorth}, {width + 10, curbNorth}}},
	{"downspout", "ds-1", "Point", `"roof": "house", "share": 0.34`, []orb.Point{{8, houseSouth}}},
	{"downspout", "ds-2", "Point", `"roof": "house", "share": 0.33`, []orb.Point{{8, houseNorth}}},
	{"downspout", "ds-3", "Point", `"roof": "house", "share": 0.33`, []orb.Point{{23, houseNorth}}},
	{"downspout", "ds-4", "Point", `"roof": "garage"`, []orb.Point{{29, 13}}},
	{"walk", "front-walk", "Polygon", `"thickness_in": 4`, rect(14, -1.2, 15.2, houseSouth)},
	{"walk", "street-walk", "Polygon", `"thickness_in": 4`, rect(-10, -2.7, width+10, -1.2)},
	{"driveway", "drive", "Polygon", `"thickness_in": 5`, rect(23.5, curbNorth, 28.5, 13)},
	{"tree", "oak", "Point", `"trunk_diameter_in": 14`, []orb.Point{{7, 9.5}}},
	{"tree", "maple", "Point", `"trunk_diameter_in": 10`, []orb.Point{{19.5, 8}}},
	{"utility", "sprinkler-main", "LineString", `"type": "irrigation", "depth_in": 10, "outside_diameter_in": 1.3, "clearance_in": 2`, []orb.Point{{1, 7}, {34, 7}}},
}

// WriteSite writes the site lines as RFC 7946 GeoJSON. lonLat turns site
// metres into longitude and latitude.
func WriteSite(w io.Writer, lonLat func(orb.Point) (orb.Point, error)) error {
	var out strings.Builder
	out.WriteString("{\"type\": \"FeatureCollection\", \"features\": [\n")
	for i, f := range features {
		if i > 0 {
			out.WriteString(",\n")
		}
		coordinates, err := f.coordinates(lonLat)
		if err != nil {
			return err
		}
		properties := f.properties
		if properties != "" {
			properties = ", " + properties
		}
		fmt.Fprintf(&out, `{"type": "Feature", "properties": {"kind": %q, "id": %q%s}, "geometry": {"type": %q, "coordinates": %s}}`,
			f.kind, f.id, properties, f.geometry, coordinates)
	}
	out.WriteString("\n]}\n")
	_, err := io.WriteString(w, out.String())
	return err
}

func (f *feature) coordinates(lonLat func(orb.Point) (orb.Point, error)) (string, error) {
	var list []string
	for _, p := range f.points {
		q, err := lonLat(orb.Point{originEast + p[0], originNorth + p[1]})
		if err != nil {
			return "", err
		}
		list = append(list, fmt.Sprintf("[%.10f, %.10f]", q[0], q[1]))
	}
	text := strings.Join(list, ", ")
	switch f.geometry {
	case "Point":
		return text, nil
	case "LineString":
		return "[" + text + "]", nil
	}
	return "[[" + text + "]]", nil
}

// Criteria is the demo's criteria file: the storm its invented town asks for.
const Criteria = `# Criteria of the invented lot: what is not written here is as shipped.
storm:
  intensity: 2.8 in/h   # this town's 10-year 5-minute rain (invented)
`
