package lotrun

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
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

// On real lots the sides they share are equal and opposite, before and with a
// design in; and the flows before do not hang on which lot is designed, but for
// where in a low spot its drains are.
func TestSharedSidesReal(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	const sameBefore = 1e-4 // of a side's flow
	for _, c := range []struct {
		dem, site string
		lots      []string
	}{
		{"fl-subdivision-3m.tif", "fl-subdivision-site-epsg26917.geojson", []string{"lot-1", "lot-2"}},
		{"fr-rowhouses-025m.vrt", "fr-rowhouses-site.geojson", []string{"lot-1", "lot-2"}},
	} {
		before := map[string]float64{}
		for _, lot := range c.lots {
			in := Inputs{DEM: filepath.Join(data, c.dem), Site: filepath.Join(data, c.site), Lot: lot}
			if _, err := os.Stat(in.DEM); err != nil {
				t.Skipf("real rasters are not here: %v", err)
			}
			g, err := read(in)
			if err != nil {
				t.Fatal(err)
			}
			defer g.close()
			w, err := g.readWater(catchmentMost)
			if err != nil {
				t.Fatal(err)
			}
			law := constraint.NewLaw(g.ground, g.site, g.lot, g.criteria.Limits)
			d, err := design.Lot(context.Background(), law, g.site, w.forDesign(g.site, g.criteria.Storm), g.criteria)
			if err != nil {
				t.Fatal(err)
			}
			r, drains := w.rainOn(g.site, g.criteria.Storm, d), w.drain(g.site, g.criteria, d)
			taken, err := drains.steady(r, len(d.Inflows))
			if err != nil {
				t.Fatal(err)
			}
			sides := w.boundaryFlows(g.site, r, drains, taken)
			if opposite(t, sides) == 0 {
				t.Errorf("%s: no two lots share a side", in.Site)
			}
			for _, s := range sides {
				id := fmt.Sprint(s.Lot, " side ", s.Side)
				if other, seen := before[id]; seen && math.Abs(other-s.Before.Net) > sameBefore*math.Max(s.Before.In, math.Abs(s.Before.Net)) {
					t.Errorf("%s: %v m3/s before with %s designed, %v with another", id, s.Before.Net, lot, other)
				}
				before[id] = s.Before.Net
			}
		}
	}
}
