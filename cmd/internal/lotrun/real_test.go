package lotrun

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"curbfall/cmd/internal/lawcheck"
)

// independent asks the checker that shares no code with the design at all.
func independent(t *testing.T, dem, site, lot, folder string) {
	t.Helper()
	bad, err := lawcheck.Check(dem, site, lot, folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range bad {
		t.Errorf("%+v", v)
	}
}

// The real lots: verdicts, and the law on what is printed. Verdicts: an
// independent trial on a 0.5 m lattice found lots 1 to 4 served and lot 5 short
// by 15 to 35 mm.
func TestRealLots(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	site := filepath.Join(data, "fl-subdivision-site.geojson")
	if _, err := os.Stat(site); err != nil {
		t.Skipf("real rasters are not here: %v", err)
	}
	for _, dem := range []string{"fl-subdivision-3m.tif", "fl-subdivision-degrees.tif"} {
		for lot := 1; lot <= 5; lot++ {
			id := fmt.Sprintf("lot-%d", lot)
			t.Run(dem+" "+id, func(t *testing.T) {
				folder := filepath.Join(t.TempDir(), "out")
				done, err := Route(context.Background(), Inputs{DEM: filepath.Join(data, dem), Site: site, Lot: id}, Output{Folder: folder})
				if err != nil {
					t.Fatal(err)
				}
				if done.Feasible != (lot != 5) {
					t.Fatalf("feasible %v\n%s", done.Feasible, done.Report)
				}
				if lot == 5 { // nothing is drawn there
					shortBetween(t, done.Summary, 0.015-latticeCoarseness, 0.035+latticeCoarseness)
					return
				}
				independent(t, filepath.Join(data, dem), site, id, folder)
			})
		}
	}
}

// latticeCoarseness is what two lattices of half a metre may differ by, m: 40 m
// of pipe at 1 %, up to 0.76 % longer on one than the other, and half a step.
const latticeCoarseness = 0.005

func shortBetween(t *testing.T, summary string, low, high float64) {
	t.Helper()
	var s struct {
		Inflows []struct {
			Status  string
			ShortBy *float64 `json:"short_by_m"`
		}
	}
	if err := json.Unmarshal([]byte(summary), &s); err != nil {
		t.Fatal(err)
	}
	for _, in := range s.Inflows {
		if in.ShortBy == nil || *in.ShortBy < low || *in.ShortBy > high {
			t.Errorf("%+v: short by %v, want %v to %v m", in.Status, in.ShortBy, low, high)
		}
	}
}

// One lot drawn in longitude and latitude and in UTM metres, which differ by
// less than a tenth of a millimetre, is one lot.
func TestSiteInTwoSystems(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	var printed [2][]byte
	for k, site := range []string{"fl-subdivision-site.geojson", "fl-subdivision-site-epsg26917.geojson"} {
		site = filepath.Join(data, site)
		if _, err := os.Stat(site); err != nil {
			t.Skipf("real rasters are not here: %v", err)
		}
		folder := filepath.Join(t.TempDir(), "out")
		if _, err := Route(context.Background(), Inputs{DEM: filepath.Join(data, "fl-subdivision-3m.tif"), Site: site, Lot: "lot-4"}, Output{Folder: folder}); err != nil {
			t.Fatal(err)
		}
		var err error
		if printed[k], err = os.ReadFile(filepath.Join(folder, "pipes.geojson")); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(printed[0], printed[1]) {
		t.Error("pipes differ")
	}
}
