// Package synth makes house lots from seeds, for tests alone: a raster and site
// lines as they are read from files, with plenty of height for the pipes, hardly
// any, or too little.
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
package synth

import (
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// Headroom says how much height an invented lot has for its lowest inflow.
type Headroom string

// The kinds of headroom.
const (
	Plenty  Headroom = "plenty"
	Tight   Headroom = "tight"   // inverts bind: under 15 cm to spare on a plain way, and a hollow in one
	Lacking Headroom = "lacking" // too low on a plain way, by 10 to 40 cm
)

// headrooms go round by the seed: of twenty lots eight are tight and three lacking.
var headrooms = [20]Headroom{Plenty, Plenty, Tight, Lacking, Tight, Plenty, Tight, Plenty, Plenty, Tight,
	Lacking, Plenty, Tight, Plenty, Tight, Plenty, Tight, Lacking, Plenty, Tight}

// The lot's fixed measures, m: 40 by 50 behind a verge, the curb 3 m south.
const (
	width  = 40.0
	depth  = 50.0
	curb   = -3.0
	margin = 12.0
)

// Where the lots' south-west corner lies in System, m.
const (
	East   = 500000.0
	North  = 4400000.0
	System = "EPSG:26915"
)

// Lot is a house lot made from a seed.
type Lot struct {
	Headroom Headroom
	Cell     float64 // of its raster, m
	Pad      float64 // height of the pad over the gutter before the house, m

	Single bool // one downspout is all it has, and all it is to have

	seed         uint64
	gutter       float64 // at the west end, m
	street       float64 // slope along it, rising east
	house        orb.Bound
	garage       orb.Bound // empty where there is none
	west, east   float64   // widths of the side yards
	sideDepth    float64   // of the side swales
	back         float64   // slope of the back yard beyond the swale
	waves        [3]wave
	hollow       hollow // in the front yard, of tight lots
	downspouts   []orb.Point
	inlets       []orb.Point
	walk, garden bool
}

// wave is a long undulation of the ground.
type wave struct{ height, east, north, phase float64 }

// hollow is a round one, deepest in the middle.
type hollow struct {
	at           orb.Point
	radius, deep float64
}

// below is how far the ground lies below the yard's, m.
func (h hollow) below(u, v float64) float64 {
	away := math.Hypot(u-h.at[0], v-h.at[1]) / h.radius
	if !(away < 1) {
		return 0
	}
	return h.deep * (1 - away*away) * (1 - away*away)
}

// House makes the lot of a seed, the same every time.
func House(seed uint64) *Lot {
	r := rand.New(rand.NewPCG(seed, 40*50))
	between := func(low, high float64) float64 { return low + r.Float64()*(high-low) }
	l := &Lot{seed: seed, Headroom: headrooms[seed%20], Cell: 0.5, gutter: between(200, 300), street: between(-0.01, 0.01),
		west: between(1.5, 3), east: between(1.5, 3), back: between(-0.01, 0.03), walk: r.Float64() < 0.7, garden: r.Float64() < 0.5}
	if r.Float64() < 0.5 {
		l.Cell = 0.25
	}
	l.sideDepth = between(0.02, 0.05) * math.Min(l.west, l.east)
	for k := range l.waves {
		l.waves[k] = wave{between(0, 0.015), between(0.2, 0.8), between(0.2, 0.8), between(0, 2*math.Pi)}
	}
	l.build(between, r)
	if l.Headroom == Tight {
		way := l.downspouts[r.IntN(len(l.downspouts))]
		if back := way[1] >= l.house.Max[1]; back && way[0] < width/2 { // round the house
			way[0] = l.west / 2
		} else if back {
			way[0] = width - l.east/2
		}
		l.hollow = hollow{orb.Point{way[0], between(4, l.house.Min[1]-2)}, between(3, 5), between(0.15, 0.35)}
	}
	l.raisePad(map[Headroom]float64{Plenty: between(0.25, 1.2), Tight: between(0.02, 0.15), Lacking: between(-0.4, -0.1)}[l.Headroom])
	return l
}

// build places house, garage and inflows, three of them at least.
func (l *Lot) build(between func(low, high float64) float64, r *rand.Rand) {
	south := between(9, 15)
	north := south + between(9, 13)
	right := width - l.east
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
		l.inlets = []orb.Point{{between(8, width-8), north + between(3, 4.5)}}
	}
}

func (l *Lot) hasGarage() bool { return !l.garage.IsZero() }

// What a plain way takes: cover, a 4 in pipe with its wall, and half an inch
// over the gutter (the shipped limits), m; and a slope.
const (
	plainHeight = 0.1524 + 0.107 + 0.0127
	plainSlope  = 0.01
)

// raisePad sets the pad so that the inflow that needs it most has some height
// to spare over a plain way to the curb; less than nothing where spare is.
func (l *Lot) raisePad(spare float64) {
	l.Pad = 1
	need := 0.0
	for _, p := range append(append([]orb.Point{}, l.downspouts...), l.inlets...) {
		round := 0.0 // an inlet's way round the house
		if p[0] > l.house.Min[0] && p[0] < width-l.east && p[1] > l.house.Max[1] {
			round = math.Min(p[0]-l.house.Min[0], width-l.east-p[0])
		}
		way := p[1] - curb + round
		under := l.gutterAt(p[0]) + l.Pad - l.level(p[0], p[1]) // below the pad's height
		need = math.Max(need, under+plainHeight+plainSlope*way)
	}
	l.Pad = need + spare
}

func (l *Lot) gutterAt(u float64) float64 { return l.gutter + l.street*u }

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

// Alone is the lot with one of its downspouts, and no garage to drain.
func (l *Lot) Alone(k int) *Lot {
	one := *l
	one.Single, one.garage, one.downspouts, one.inlets = true, orb.Bound{}, l.downspouts[k:k+1], nil
	return &one
}

// level is the ground without noise, m, at u metres east and v north of the
// lot's south-west corner. The pad lies level across the lot.
func (l *Lot) level(u, v float64) float64 {
	g := l.gutterAt(u)
	if v < curb {
		return g + crossFall*math.Min(curb-v, laneWidth)
	}
	pad := l.gutterAt(width/2) + l.Pad
	front := g + topOfCurb + crossFall*math.Min(v-curb, -curb)
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
		for _, side := range [2]struct{ from, wide float64 }{{u, l.west}, {width - u, l.east}} {
			if x := side.from / side.wide; x > 0 && x < 1 {
				z -= ramp * l.sideDepth * math.Sin(math.Pi*x)
			}
		}
	}
	for _, w := range l.waves {
		z += w.height * math.Sin(w.east*u+w.north*v+w.phase)
	}
	return z - l.hollow.below(u, v)
}

// Ground is the lot's raster with its noise, in whole millimetres.
func (l *Lot) Ground() *grid.Grid {
	cols, rows := int((width+2*margin)/l.Cell), int((depth+2*margin)/l.Cell)
	g := grid.New(grid.NewFrame(East-margin+l.Cell/2, North+depth+margin-l.Cell/2, l.Cell, l.Cell), cols, rows)
	r := rand.New(rand.NewPCG(l.seed, 1))
	for i := range g.Z {
		col, row := g.Cell(i)
		x, y := g.ToSite(float64(col), float64(row))
		g.Z[i] = float32(math.Round((l.level(x-East, y-North)+surveyNoise*r.NormFloat64())*1000) / 1000)
	}
	return g
}

// Site is the lot's lines.
func (l *Lot) Site() *constraint.Site {
	nan := math.NaN()
	s := &constraint.Site{
		Lots:  []constraint.Lot{{ID: "lot-1", Area: box(orb.Bound{Max: orb.Point{width, depth}})}},
		Roofs: []constraint.Roof{{ID: "house", Outline: box(l.house), RunoffCoeff: nan, FinishedFloor: nan}},
		Curbs: []constraint.Curb{{ID: "curb", Line: orb.LineString{place(-margin+2, curb), place(width+margin-2, curb)}, Type: constraint.VerticalCurb, Height: nan, StreetSide: constraint.Right}},
	}
	if l.hasGarage() {
		s.Roofs = append(s.Roofs, constraint.Roof{ID: "garage", Outline: box(l.garage), RunoffCoeff: nan, FinishedFloor: nan})
		middle := (l.garage.Min[0] + l.garage.Max[0]) / 2
		s.Paved = append(s.Paved, constraint.Paved{ID: "drive", Kind: constraint.Driveway, Area: box(orb.Bound{Min: orb.Point{middle - 2.5, curb}, Max: orb.Point{middle + 2.5, l.garage.Min[1]}}), Thickness: nan, CoverMin: nan})
	}
	if l.walk {
		s.Paved = append(s.Paved, constraint.Paved{ID: "walk", Kind: constraint.Walk, Area: box(orb.Bound{Min: orb.Point{-margin + 2, -2.4}, Max: orb.Point{width + margin - 2, -1}}), Thickness: nan, CoverMin: nan})
	}
	if l.garden {
		s.Trees = append(s.Trees, constraint.Tree{ID: "tree", At: place(l.house.Min[0]+6, 5), TrunkDiameter: 0.3})
		s.Utilities = append(s.Utilities, constraint.Utility{ID: "water", Line: orb.LineString{place(20, curb), place(20, l.house.Min[1])}, Type: "water", Top: nan, Depth: 1.4, OutsideDiameter: 0.03, Clearance: nan})
	}
	for k, p := range l.downspouts {
		s.Downspouts = append(s.Downspouts, constraint.Downspout{ID: fmt.Sprintf("ds-%d", k+1), At: place(p[0], p[1]), Share: nan})
	}
	for k, p := range l.inlets {
		s.Inlets = append(s.Inlets, constraint.Inlet{ID: fmt.Sprintf("yard-%d", k+1), At: place(p[0], p[1]), Rim: nan, GrateOpenArea: nan, GratePerimeter: nan})
	}
	return s
}

// place is a point of the lot in the raster's metres.
func place(u, v float64) orb.Point { return orb.Point{East + u, North + v} }

func box(b orb.Bound) orb.Polygon {
	return orb.Polygon{{place(b.Min[0], b.Min[1]), place(b.Max[0], b.Min[1]), place(b.Max[0], b.Max[1]), place(b.Min[0], b.Max[1]), place(b.Min[0], b.Min[1])}}
}
