package lotrun

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// withChannel draws a channel drain over the demo's drive, as far up it as a
// share of its length from the street.
func withChannel(t *testing.T, folder string, share float64, properties string) {
	t.Helper()
	path := filepath.Join(folder, DemoSite)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var site struct {
		Features []struct {
			Properties struct{ ID string }
			Geometry   struct{ Coordinates json.RawMessage }
		}
	}
	if err := json.Unmarshal(data, &site); err != nil {
		t.Fatal(err)
	}
	for _, f := range site.Features {
		if f.Properties.ID != "drive" {
			continue
		}
		var rings [][][2]float64 // from the street's west end round by east
		if err := json.Unmarshal(f.Geometry.Coordinates, &rings); err != nil {
			t.Fatal(err)
		}
		at := func(a, b [2]float64) string {
			return fmt.Sprintf("[%.10f, %.10f]", a[0]+share*(b[0]-a[0]), a[1]+share*(b[1]-a[1]))
		}
		text := strings.Replace(string(data), "\n]}", fmt.Sprintf(`,
{"type": "Feature", "properties": {"kind": "channel_drain", "id": "cd"%s}, "geometry": {"type": "LineString", "coordinates": [%s, %s]}}
]}`, properties, at(rings[0][0], rings[0][3]), at(rings[0][1], rings[0][2])), 1)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// A channel drain over the invented lot's drive, from its line to what is
// printed: 8 m up from the lot line it has the drive above it, 5 by 5 m, at least;
// it is served, open at its rim, lawful, and less runs over the street side.
func TestChannelDrainLot(t *testing.T) {
	plain, folder := demoFolder(t), demoFolder(t)
	designed(t, plain)
	withChannel(t, folder, 11.0/16, "")
	designed(t, folder)
	type layer struct {
		Features []struct {
			Properties struct {
				ID, Kind  string
				Rim       *float64 `json:"rim_m"`
				Ground    float64  `json:"ground_m"`
				Freeboard *float64 `json:"freeboard_m"`
				Inflow    float64  `json:"inflow_lps"`
				Side      int
				After     float64 `json:"after_lps"`
			}
		}
	}
	read := func(folder, name string) (l layer) {
		data, err := os.ReadFile(filepath.Join(folder, "out", name))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(data, &l); err != nil {
			t.Fatal(err)
		}
		return l
	}
	found := false
	for _, f := range read(folder, "nodes.geojson").Features {
		n := f.Properties
		if n.Kind != "channel_drain" {
			continue
		}
		found = true
		// 2.8 in/h on 25 m2 of drive, C 0.9, are 0.4445 L/s.
		if n.ID != "cd" || n.Inflow < 0.4445 || n.Inflow > 3 || n.Rim == nil || math.Abs(*n.Rim-n.Ground) > 0.05 || n.Freeboard == nil || *n.Freeboard < 0 {
			t.Errorf("%+v", n)
		}
	}
	if !found {
		t.Error("no channel drain among the nodes")
	}
	street := func(folder string) float64 { return read(folder, "boundary_flow.geojson").Features[0].Properties.After }
	if a, b := street(plain), street(folder); b > a-0.4 {
		t.Errorf("%v L/s run over the street side without the channel drain, %v with it", a, b)
	}
	data, err := os.ReadFile(filepath.Join(folder, "out", "summary.json"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"cd has the water of ", "cd takes its design flow of ", "cd clogged: "} {
		if !strings.Contains(string(data), want) {
			t.Errorf("the summary does not say %q", want)
		}
	}
}

// Beside the lot it is said, and the rest done.
func TestStrayChannelDrain(t *testing.T) {
	folder := demoFolder(t)
	withChannel(t, folder, 0.05, "")
	in := Inputs{DEM: filepath.Join(folder, DemoGround), Site: filepath.Join(folder, DemoSite), Criteria: filepath.Join(folder, DemoCriteria)}
	done, err := Route(context.Background(), in, Output{Folder: filepath.Join(folder, "out")})
	if err != nil {
		t.Fatal(err)
	}
	if want := "channel_drain cd lies in no lot: left out; draw it inside the lot it drains"; !strings.Contains(done.Report, want) {
		t.Errorf("the report does not say %q:\n%s", want, done.Report)
	}
}
