package lawcheck

import (
	"fmt"
	"math"
	"testing"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
)

// The lot made by hand, in metres from its own corner. The ground is the plane
// z = 100 + 0.03 y, so every cover below can be worked out on paper:
//
//	y 44 +---------------------+
//	     |     +---------+     |       house 10..20 by 24..34
//	   24|     ds2-------ds1   |
//	   22|      b1        n1   |       main x = 22
//	   12|        `----.  w    |
//	    7|               n2 |##|       driveway 24..28
//	    4+------------------|##|       lot 0..30 by 4..44
//	    0 ================ out ===     curb, gutter 99.85
type lot struct {
	points  map[string]orb.Point
	inverts map[string][2]float64 // by pipe, up and down, m
	sizes   map[string]string     // nominal, by pipe; "4 in" where not named
	ends    map[string][2]string
	kinds   map[string]string
	flow    float64 // of each downspout, L/s
	verdict string
	left    float64 // left over, L/s
	hole    [4]int  // void columns and rows, from and to; none where empty
	degrees bool    // raster in degrees
	lines   []string
	outlet  string             // outlet_type
	limits  map[string]float64 // printed otherwise than limitsPrinted
}

// pipeOrder is the order pipes are printed in.
var pipeOrder = []string{"p1", "p2", "p3", "p4", "p5", "p6", "p7"}

// goodLot obeys the law. Of a 4 in SDR 35 pipe 0.1040 m stand over the invert,
// of a 4 in Schedule 40 pipe 0.1083 m:
//   - p1 starts 0.26 m deep: cover 0.156 m, least 0.1524 m;
//   - the outlet, 99.866 m, is 16 mm over the gutter (13 asked), and 28 mm
//     (25 asked) under the top of curb, 100.0024 m.
func goodLot() *lot {
	return &lot{
		points: map[string]orb.Point{"ds1": {20, 24}, "ds2": {10, 24}, "n1": {22, 22}, "b1": {12, 22}, "w": {22, 12}, "n2": {22, 7}, "out": {22, 0}},
		ends: map[string][2]string{"p1": {"ds1", "n1"}, "p2": {"n1", "w"}, "p3": {"ds2", "b1"}, "p4": {"b1", "w"},
			"p5": {"w", "n2"}, "p6": {"n2", "out"}},
		inverts: map[string][2]float64{"p1": {100.46, 100.40}, "p2": {100.371, 100.081}, "p3": {100.46, 100.40}, "p4": {100.40, 100.10},
			"p5": {100.081, 99.936}, "p6": {99.936, 99.866}},
		sizes: map[string]string{},
		kinds: map[string]string{"ds1": "downspout", "ds2": "downspout", "n1": "bend", "b1": "bend", "w": "wye", "n2": "bend", "out": "outlet"},
		flow:  2, outlet: "curb_face", limits: map[string]float64{},
		verdict: "Both inflows drain by gravity.",
		lines: []string{
			polygon("lot", "lot-1", "", 0, 4, 30, 44), polygon("lot", "lot-2", "", 30, 4, 60, 44),
			polygon("roof", "house", "", 10, 24, 20, 34), polygon("keep_out", "shed", "", 3, 10, 6, 14),
			polygon("driveway", "drive", "", 24, 0, 28, 20),
			line("curb", "curb", `,"type":"vertical","gutter_elevation":[99.85,99.85],"street_side":"right"`, -8, 0, 45, 0),
			line("utility", "water", `,"depth":1.2,"outside_diameter":0.05`, 1, 15, 29, 15),
			point("tree", "oak", `,"trunk_diameter":0.3`, 13, 10),
			point("downspout", "ds1", `,"roof":"house"`, 20, 24), point("downspout", "ds2", `,"roof":"house"`, 10, 24),
		},
	}
}

// yardLot ends in the yard: both downspouts meet at n1, and p2 runs on to y.
func yardLot(outlet string, y, invert float64) *lot {
	l := goodLot()
	l.outlet = outlet
	l.points["out"] = orb.Point{22, y}
	delete(l.points, "w")
	delete(l.points, "n2")
	l.kinds["n1"] = "sediment_trap" // p4 comes in square
	l.ends = map[string][2]string{"p1": {"ds1", "n1"}, "p2": {"n1", "out"}, "p3": {"ds2", "b1"}, "p4": {"b1", "n1"}}
	l.inverts = map[string][2]float64{"p1": {100.46, 100.40}, "p2": {100.275, invert}, "p3": {100.46, 100.40}, "p4": {100.40, 100.276}}
	if outlet != "daylight" {
		l.lines = append(l.lines, point("outlet", "out", `,"invert":99.92,"type":"`+outlet+`"`, 22, y))
	}
	return l
}

func groundAt(p orb.Point) float64 { return 100 + 0.03*p[1] }

// The corner of the lot in UTM zone 15N and the system of its raster.
var corner = orb.Point{500000, 4400000}

const utm = "EPSG:26915"

func polygon(kind, id, more string, x0, y0, x1, y1 float64) string {
	return drawn(kind, id, more, "Polygon", "[["+at(x0, y0)+","+at(x1, y0)+","+at(x1, y1)+","+at(x0, y1)+","+at(x0, y0)+"]]")
}

func line(kind, id, more string, x0, y0, x1, y1 float64) string {
	return drawn(kind, id, more, "LineString", "["+at(x0, y0)+","+at(x1, y1)+"]")
}

func point(kind, id, more string, x, y float64) string {
	return drawn(kind, id, more, "Point", at(x, y))
}

func drawn(kind, id, more, shape, coordinates string) string {
	return fmt.Sprintf(`{"type":"Feature","properties":{"kind":%q,"id":%q%s},"geometry":{"type":%q,"coordinates":%s}}`, kind, id, more, shape, coordinates)
}

// at writes a place of the lot as longitude and latitude.
func at(x, y float64) string {
	register()
	p, err := toLonLat(utm, orb.Point{corner[0] + x, corner[1] + y})
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf("[%.10f,%.10f]", p[0], p[1])
}

// limitsPrinted are the defaults of the law, metres and slopes.
var limitsPrinted = map[string]float64{
	"cover_min": 0.1524, "cover_min_walk": 0.1524, "cover_min_driveway": 0.3048, "outlet_cover": 0.0254, "outlet_zone": 7.62,
	"daylight_zone": 3.048, "depth_max": 1.0668, "slope_min": 0.01, "slope_min_large": 0.005, "slope_min_single_wall": 0.02,
	"curb_height": 0.1524, "roof_setback": 0.6096, "wall_strip": 1.524, "lot_line_setback": 0.3048, "root_plate_factor": 5,
	"root_zone_factor": 12, "root_zone_radius_floor": 1.8288, "trunk_diameter_assumed": 0.3048, "utility_clearance": 0.3048,
	"outlet_above_gutter": 0.0127, "emitter_rise_max": 0.3556, "frontage_margin": 1.524, "curb_clearance_driveway": 0.9144,
	"outlet_size_max": 0.1016, "cover_preferred": 0.3048, "bend_max": math.Pi / 4,
}

// pipesSold are outside and inside diameters, m: SDR 35, Schedule 40 in the
// outlet pipe; reference/defaults.csv pipes.pvc_sdr35.*, pipes.pvc_sch40.* (in).
var pipesSold = map[string][2]float64{
	"4 in": {4.215 * 0.0254, 3.975 * 0.0254}, "6 in": {6.275 * 0.0254, 5.915 * 0.0254},
	"4 in outlet": {4.5 * 0.0254, 4.026 * 0.0254}, "3 in outlet": {3.5 * 0.0254, 3.068 * 0.0254},
	"6 in outlet": {6.625 * 0.0254, 6.065 * 0.0254},
}

// writeRaster writes the plane in half-metre cells, or in degrees in cells of
// about that, with a hole where asked.
func (l *lot) writeRaster(t *testing.T, path string) {
	t.Helper()
	register()
	const cols, rows, cell = 130, 140, 0.5
	gt := [6]float64{corner[0] - 10, cell, 0, corner[1] + 60, 0, -cell}
	system := "EPSG:26915+5703"
	if l.degrees {
		const degree = 0.5e-5
		nw, err := toLonLat(utm, orb.Point{gt[0], gt[3]})
		if err != nil {
			t.Fatal(err)
		}
		gt = [6]float64{nw[0], degree, 0, nw[1], 0, -degree}
		system = "EPSG:4269+5703"
	}
	z := make([]float64, cols*rows)
	for k := range z {
		i, j := k%cols, k/cols
		x, y := gt[0]+(float64(i)+0.5)*gt[1], gt[3]+(float64(j)+0.5)*gt[5]
		if l.degrees {
			p, err := fromLonLat(t, orb.Point{x, y})
			if err != nil {
				t.Fatal(err)
			}
			x, y = p[0], p[1]
		}
		z[k] = groundAt(orb.Point{x - corner[0], y - corner[1]})
		if i >= l.hole[0] && i < l.hole[1] && j >= l.hole[2] && j < l.hole[3] {
			z[k] = -9999
		}
	}
	ds, err := godal.Create(godal.GTiff, path, 1, godal.Float64, cols, rows)
	if err != nil {
		t.Fatal(err)
	}
	ref, err := godal.NewSpatialRef(system)
	if err != nil {
		t.Fatal(err)
	}
	defer ref.Close()
	for _, err := range []error{ds.SetGeoTransform(gt), ds.SetSpatialRef(ref), ds.SetNoData(-9999), ds.Bands()[0].Write(0, 0, z, cols, rows), ds.Close()} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// toUTM is made once: a transform a cell would take seconds.
var toUTM *mover

func fromLonLat(t *testing.T, p orb.Point) (orb.Point, error) {
	t.Helper()
	if toUTM == nil {
		ref, err := godal.NewSpatialRef(utm)
		if err != nil {
			return p, err
		}
		m, err := (&ground{plane: ref, planeUnit: 1}).moverFrom(lonLat)
		if err != nil {
			return p, err
		}
		toUTM = m
	}
	return toUTM.move(p)
}
