package lotrun

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
)

// opposite checks that each side two lots share has the same flow seen from
// either, with the other sign, and counts those that have any.
func opposite(t *testing.T, sides []vector.BoundaryFlow) (shared int) {
	t.Helper()
	for i, a := range sides {
		for _, b := range sides[:i] {
			if !(a.Line[0] == b.Line[1] && a.Line[1] == b.Line[0]) && !(a.Line[0] == b.Line[0] && a.Line[1] == b.Line[1]) {
				continue
			}
			if a.Before.Net != 0 {
				shared++
			}
			same := func(when string, a, b *vector.Over) {
				if most := math.Max(math.Abs(a.Net), a.In); math.Abs(a.Net+b.Net) > flowTolerance*most || math.Abs(a.Net+a.In-b.In) > flowTolerance*most {
					t.Errorf("%s, over the side of %s and its neighbour: %+v and %+v", when, sides[i].Lot, a, b)
				}
			}
			same("before", &a.Before, &b.Before)
			if a.After != nil {
				same("after", a.After, b.After)
			}
		}
	}
	return shared
}

// A flow over a line is the same seen from either lot: also where ways run along
// the line, cross at its ends, or go from a low spot's far end to its drain. Some
// lots' lines run through the middles of cells.
func TestSharedSides(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	shared := 0
	for k := range 40 {
		y, d := hollowYard(rng, []float64{widePipe, narrowPipe}[k%2])
		east, north := 33.5, 19.5 // through the middles
		if k%4 > 1 {
			east, north = 30+5*rng.Float64(), 17+5*rng.Float64()
		}
		bend := orb.Point{east + float64(k%3)*rng.NormFloat64(), 26}
		y.site.Lots = []constraint.Lot{
			{ID: "south-west", Area: orb.Polygon{{{12, 5}, {east, 5}, {east, north}, {12, north}, {12, 5}}}},
			{ID: "south-east", Area: orb.Polygon{{{east, 5}, {east, north}, {47, north}, {47, 5}, {east, 5}}}}, // clockwise
			{ID: "north-west", Area: orb.Polygon{{{12, north}, {east, north}, bend, {east - 4, 33}, {12, 33}, {12, north}}}},
			{ID: "north-east", Area: orb.Polygon{{{47, north}, {47, 33}, {east - 4, 33}, bend, {east, north}, {47, north}}}},
		}
		r, drains, _ := rained(t, y, d)
		taken, err := drains.steady(r, len(d.Inflows))
		if err != nil {
			t.Fatal(err)
		}
		shared += opposite(t, y.boundaryFlows(y.site, r, drains, taken))
	}
	if shared < 100 {
		t.Errorf("%d sides have flow over them: the draw has lost its grip", shared)
	}
}

// On the real lots the flows as things are do not hang on the lot that is
// designed, and shared sides are equal and opposite.
func TestSharedSidesReal(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	for _, in := range []Inputs{
		{DEM: filepath.Join(data, "fl-subdivision-3m.tif"), Site: filepath.Join(data, "fl-subdivision-site-epsg26917.geojson"), Lot: anyLot},
		{DEM: filepath.Join(data, "fr-rowhouses-025m.vrt"), Site: filepath.Join(data, "fr-rowhouses-site.geojson"), Lot: anyLot},
	} {
		if _, err := os.Stat(in.DEM); err != nil {
			t.Skipf("real rasters are not here: %v", err)
		}
		g, err := read(in)
		if err != nil {
			t.Fatal(err)
		}
		defer g.close()
		w := standing(g.ground, g.site)
		sides := w.boundaryFlows(g.site, w.rainOn(g.site, g.criteria.Storm, nil), nil, nil)
		if opposite(t, sides) == 0 {
			t.Errorf("%s: no two lots share a side", in.Site)
		}
	}
}
