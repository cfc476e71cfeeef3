package lotrun

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// The design storm's water on the demo and on real ground, with the design that
// is made there: what comes down without it is found again with it, standing, run
// off, or gone down the outlets that are not in the yard.
func TestStormBalances(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	folder := demoFolder(t)
	for _, in := range []Inputs{
		{DEM: filepath.Join(folder, DemoGround), Site: filepath.Join(folder, DemoSite), Criteria: filepath.Join(folder, DemoCriteria)},
		{DEM: filepath.Join(data, "fl-subdivision-3m.tif"), Site: filepath.Join(data, "fl-subdivision-site.geojson"), Lot: "lot-3"},
		{DEM: filepath.Join(data, "fr-rowhouses-025m.vrt"), Site: filepath.Join(data, "fr-rowhouses-site.geojson"), Lot: "lot-2"},
	} {
		t.Run(filepath.Base(in.DEM), func(t *testing.T) {
			if _, err := os.Stat(in.DEM); err != nil {
				t.Skipf("real rasters are not here: %v", err)
			}
			balanced(t, in)
		})
	}
}

// balanced proves that the design storm's water, and a harder one's, is found again
// with the design that is made of some inputs.
func balanced(t *testing.T, in Inputs) {
	t.Helper()
	g, err := read(in)
	if err != nil {
		t.Fatal(err)
	}
	defer g.close()
	w := standing(g.ground, g.site)
	law := constraint.NewLaw(g.ground, g.site, g.lot, g.criteria.Limits)
	d, err := design.Lot(context.Background(), law, g.site, w.forDesign(g.site, g.criteria.Storm), g.criteria)
	if err != nil {
		t.Fatal(err)
	}
	for _, times := range []float64{1, 1.2} {
		s, err := g.yard(w, g.lot).storm(d, g.criteria.Storm.Times(times))
		if err != nil {
			t.Fatal(err)
		}
		if out := s.before.Ponded + s.before.Lost; math.Abs(out-s.before.In) > flowTolerance*s.before.In {
			t.Errorf("%v times: %v m3 without drains, %v found again", times, s.before.In, out)
		}
		out := s.after.Ponded + s.after.Lost
		for _, f := range s.rain.inflows {
			if f.served() && !f.open() {
				out += s.after.taken[f.place] * s.rain.duration
			}
		}
		for _, v := range s.after.Drained {
			out += v
		}
		t.Logf("%v times: %.4f m3 come down, %.4f stand without drains, %.4f with", times, s.before.In, s.before.Ponded, s.after.Ponded)
		if math.Abs(out-s.before.In) > flowTolerance*s.before.In {
			t.Errorf("%v times: %v m3 with drains, %v found again", times, s.before.In, out)
		}
	}
}
