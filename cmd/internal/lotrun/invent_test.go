package lotrun

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/raster"
	"curbfall/terrain/grid"
)

// headroom says how much height an invented lot has for its lowest inflow.
type headroom string

// The kinds of headroom.
const (
	plenty  headroom = "plenty"
	tight   headroom = "tight"   // inverts bind: under 15 cm to spare on a plain way
	lacking headroom = "lacking" // too low on a plain way, by 10 to 40 cm
)

// headrooms go round by the seed: of twenty lots eight are tight and three lacking.
var headrooms = [20]headroom{plenty, plenty, tight, lacking, tight, plenty, tight, plenty, plenty, tight,
	lacking, plenty, tight, plenty, tight, plenty, tight, lacking, plenty, tight}

// The lot's fixed measures, m: 40 by 50 behind a verge, the curb 3 m south.
const (
	inventedWidth  = 40.0
	inventedDepth  = 50.0
	inventedCurb   = -3.0
	inventedMargin = 12.0
	inventedEast   = 500000.0
	inventedNorth  = 4400000.0
	inventedSystem = "EPSG:26915"
)

// inventedLot is a house lot made from a seed.
//
//	+----------------------------+ 50
//	|   back yard, may rise      |
//	|..... swale behind .........|
//	|s +------------------+     s|
//	|w |  house, on a pad +---+ w|      side yards of 1.5 to 3 m
//	|a |                  |gar| a|
//	|l +------------------+---+ l|
//	|    front yard              |
//	+----------------------------+ 0
//	======== curb, the street falls one way === -3
type inventedLot struct {
	seed         uint64
	headroom     headroom
	cell         float64 // m
	gutter       float64 // at the west end, m
	street       float64 // slope along it, rising east
	pad          float64 // height of the pad over the gutter before the house
	house        orb.Bound
	garage       orb.Bound // empty where there is none
	west, east   float64   // widths of the side yards
	sideDepth    float64   // of the side swales
	back         float64   // slope of the back yard beyond the swale
	waves        [3]wave
	downspouts   []orb.Point
	inlets       []orb.Point
	walk, garden bool
}

// wave is a long undulation of the ground.
type wave struct{ height, east, north, phase float64 }

// invent makes the lot of a seed, the same every time.
func invent(seed uint64) *inventedLot {
	r := rand.New(rand.NewPCG(seed, 40*50))
	between := func(low, high float64) float64 { return low + r.Float64()*(high-low) }
	l := &inventedLot{seed: seed, headroom: headrooms[seed%20], cell: 0.5, gutter: between(200, 300), street: between(-0.01, 0.01),
		west: between(1.5, 3), east: between(1.5, 3), back: between(-0.01, 0.03), walk: r.Float64() < 0.7, garden: r.Float64() < 0.5}
	if r.Float64() < 0.5 {
		l.cell = 0.25
	}
	l.sideDepth = between(0.02, 0.05) * math.Min(l.west, l.east)
	for k := range l.waves {
		l.waves[k] = wave{between(0, 0.015), between(0.2, 0.8), between(0.2, 0.8), between(0, 2*math.Pi)}
	}
	l.build(between, r)
	l.raisePad(map[headroom]float64{plenty: between(0.25, 1.2), tight: between(0.02, 0.15), lacking: between(-0.4, -0.1)}[l.headroom])
	return l
}

// build places house, garage and inflows, three of them at least.
func (l *inventedLot) build(between func(low, high float64) float64, r *rand.Rand) {
	south := between(9, 15)
	north := south + between(9, 13)
	right := inventedWidth - l.east
	if r.Float64() < 0.6 {
		wide := between(6, 8)
		l.garage = orb.Bound{Min: orb.Point{right - wide, south - between(0, 3)}, Max: orb.Point{right, south + between(6, 8)}}
		right -= wide
	}
	l.house = orb.Bound{Min: orb.Point{l.west, south}, Max: orb.Point{right, north}}
	corners := []orb.Point{{l.west, south}, {l.west, north}, {right, north}, {right, south}}
	if l.hasGarage() {
		corners[3] = l.garage.Min // the house's own corner lies under the garage
	}
	r.Shuffle(len(corners), func(i, j int) { corners[i], corners[j] = corners[j], corners[i] })
	l.downspouts = corners[:3+r.IntN(2)]
	if r.Float64() < 0.5 {
		l.inlets = []orb.Point{{between(8, inventedWidth-8), north + between(3, 4.5)}}
	}
}

func (l *inventedLot) hasGarage() bool { return !l.garage.IsZero() }

// What a plain way takes: cover, a 4 in pipe with its wall, and half an inch
// over the gutter (the shipped limits), m; and a slope.
const (
	plainHeight = 0.1524 + 0.107 + 0.0127
	plainSlope  = 0.01
)

// raisePad sets the pad so that the inflow that needs it most has some height
// to spare over a plain way to the curb; less than nothing where spare is.
func (l *inventedLot) raisePad(spare float64) {
	l.pad = 1
	need := 0.0
	for _, p := range append(append([]orb.Point{}, l.downspouts...), l.inlets...) {
		round := 0.0 // an inlet's way round the house
		if p[0] > l.house.Min[0] && p[0] < inventedWidth-l.east && p[1] > l.house.Max[1] {
			round = math.Min(p[0]-l.house.Min[0], inventedWidth-l.east-p[0])
		}
		way := p[1] - inventedCurb + round
		under := l.gutterAt(p[0]) + l.pad - l.level(p[0], p[1]) // below the pad's height
		need = math.Max(need, under+plainHeight+plainSlope*way)
	}
	l.pad = need + spare
}

func (l *inventedLot) gutterAt(u float64) float64 { return l.gutter + l.street*u }

// The ground's own shapes.
const (
	crossFall     = 0.02 // of street and verge
	topOfCurb     = 0.1524
	behindFall    = 0.03 // away from the house, over behindWidth m
	behindWidth   = 3.0
	surveyNoise   = 0.004 // standard deviation, m
	padApron      = 1.0   // of the pad before the house, m
	laneWidth     = 4.5
	swaleRunsOver = 2.0 // m before and behind the house
)

// alone is the lot with one of its downspouts, and no garage to drain.
func (l *inventedLot) alone(k int) *inventedLot {
	one := *l
	one.garage, one.downspouts, one.inlets = orb.Bound{}, l.downspouts[k:k+1], nil
	return &one
}

// level is the ground without noise, m, at u metres east and v north of the
// lot's south-west corner. The pad lies level across the lot.
func (l *inventedLot) level(u, v float64) float64 {
	g := l.gutterAt(u)
	if v < inventedCurb {
		return g + crossFall*math.Min(inventedCurb-v, laneWidth)
	}
	pad := l.gutterAt(inventedWidth/2) + l.pad
	front := g + topOfCurb + crossFall*math.Min(v-inventedCurb, -inventedCurb)
	south, north := l.house.Min[1]-padApron, l.house.Max[1]
	z := pad
	switch {
	case v < 0:
		return front
	case v < south:
		z = front + (pad-front)*v/south
	case v > north:
		d := v - north
		z = pad - behindFall*math.Min(d, behindWidth) + l.back*math.Max(0, d-behindWidth)
	}
	if v > south-swaleRunsOver && v < north+swaleRunsOver {
		ramp := math.Min(1, math.Min(v-south+swaleRunsOver, north+swaleRunsOver-v)/swaleRunsOver)
		for _, side := range [2]struct{ from, wide float64 }{{u, l.west}, {inventedWidth - u, l.east}} {
			if x := side.from / side.wide; x > 0 && x < 1 {
				z -= ramp * l.sideDepth * math.Sin(math.Pi*x)
			}
		}
	}
	for _, w := range l.waves {
		z += w.height * math.Sin(w.east*u+w.north*v+w.phase)
	}
	return z
}

// ground is the lot's raster with its noise, in whole millimetres.
func (l *inventedLot) ground() *grid.Grid {
	cols, rows := int((inventedWidth+2*inventedMargin)/l.cell), int((inventedDepth+2*inventedMargin)/l.cell)
	g := grid.New(grid.NewFrame(inventedEast-inventedMargin+l.cell/2, inventedNorth+inventedDepth+inventedMargin-l.cell/2, l.cell, l.cell), cols, rows)
	r := rand.New(rand.NewPCG(l.seed, 1))
	for i := range g.Z {
		col, row := g.Cell(i)
		x, y := g.ToSite(float64(col), float64(row))
		g.Z[i] = float32(math.Round((l.level(x-inventedEast, y-inventedNorth)+surveyNoise*r.NormFloat64())*1000) / 1000)
	}
	return g
}

// site is the lot's lines as GeoJSON.
func (l *inventedLot) site() string {
	var list []string
	add := func(kind, id, more, shape string, points ...orb.Point) {
		var at []string
		for _, p := range points {
			at = append(at, fmt.Sprintf("[%.4f,%.4f]", inventedEast+p[0], inventedNorth+p[1]))
		}
		c := strings.Join(at, ",")
		switch shape {
		case "LineString":
			c = "[" + c + "]"
		case "Polygon":
			c = "[[" + c + "," + at[0] + "]]"
		}
		list = append(list, fmt.Sprintf(`{"type":"Feature","properties":{"kind":%q,"id":%q%s},"geometry":{"type":%q,"coordinates":%s}}`, kind, id, more, shape, c))
	}
	box := func(kind, id, more string, b orb.Bound) {
		add(kind, id, more, "Polygon", b.Min, orb.Point{b.Max[0], b.Min[1]}, b.Max, orb.Point{b.Min[0], b.Max[1]})
	}
	box("lot", "lot-1", "", orb.Bound{Max: orb.Point{inventedWidth, inventedDepth}})
	box("roof", "house", "", l.house)
	if l.hasGarage() {
		box("roof", "garage", "", l.garage)
		middle := (l.garage.Min[0] + l.garage.Max[0]) / 2
		box("driveway", "drive", "", orb.Bound{Min: orb.Point{middle - 2.5, inventedCurb}, Max: orb.Point{middle + 2.5, l.garage.Min[1]}})
	}
	add("curb", "curb", `,"type":"vertical","street_side":"right"`, "LineString", orb.Point{-10, inventedCurb}, orb.Point{inventedWidth + 10, inventedCurb})
	if l.walk {
		box("walk", "walk", "", orb.Bound{Min: orb.Point{-10, -2.4}, Max: orb.Point{inventedWidth + 10, -1}})
	}
	if l.garden {
		add("tree", "tree", `,"trunk_diameter":0.3`, "Point", orb.Point{l.house.Min[0] + 6, 5})
		add("utility", "water", `,"type":"water","depth":1.4,"outside_diameter":0.03`, "LineString", orb.Point{20, inventedCurb}, orb.Point{20, l.house.Min[1]})
	}
	for k, p := range l.downspouts {
		add("downspout", fmt.Sprintf("ds-%d", k+1), "", "Point", p)
	}
	for k, p := range l.inlets {
		add("inlet", fmt.Sprintf("yard-%d", k+1), "", "Point", p)
	}
	return `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"` + inventedSystem + `"}},"features":[` + "\n" + strings.Join(list, ",\n") + "\n]}\n"
}

// write writes the lot's raster, site and criteria into a folder.
func (l *inventedLot) write(t *testing.T, folder string) Inputs {
	t.Helper()
	in := Inputs{DEM: filepath.Join(folder, "ground.tif"), Site: filepath.Join(folder, "site.geojson"), Criteria: filepath.Join(folder, "criteria.yaml")}
	if err := raster.WriteGround(in.DEM, l.ground(), inventedSystem+"+5703"); err != nil {
		t.Fatal(err)
	}
	for path, text := range map[string]string{in.Site: l.site(), in.Criteria: "storm:\n  intensity: 2 in/h\n"} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return in
}
