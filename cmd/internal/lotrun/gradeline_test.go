package lotrun

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// printedStep is how exactly levels are printed, m: two roundings of 1e-7.
const printedStep = 3e-7

// The demo's printed nodes: the grade line at or above every invert, at every
// node; freeboard at its area drain alone, rim less grade line.
func TestDemoGradeLine(t *testing.T) {
	folder := demoFolder(t)
	designed(t, folder)
	data, err := os.ReadFile(filepath.Join(folder, "out", "nodes.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	var nodes struct {
		Features []struct {
			Properties struct {
				ID, Kind  string
				Rim       *float64 `json:"rim_m"`
				Invert    float64  `json:"invert_m"`
				HGL       *float64 `json:"hgl_m"`
				Freeboard *float64 `json:"freeboard_m"`
			}
		}
	}
	if err := json.Unmarshal(data, &nodes); err != nil {
		t.Fatal(err)
	}
	rims := 0
	for _, f := range nodes.Features {
		v := f.Properties
		if v.HGL == nil || *v.HGL < v.Invert {
			t.Errorf("%s %s: hgl_m %v, invert_m %v", v.Kind, v.ID, v.HGL, v.Invert)
			continue
		}
		if (v.Rim == nil) != (v.Freeboard == nil) {
			t.Errorf("%s %s: rim_m %v, freeboard_m %v", v.Kind, v.ID, v.Rim, v.Freeboard)
		}
		if v.Rim != nil && v.Freeboard != nil {
			rims++
			if math.Abs(*v.Freeboard-(*v.Rim-*v.HGL)) > printedStep {
				t.Errorf("%s: freeboard_m %v, rim_m %v, hgl_m %v", v.ID, *v.Freeboard, *v.Rim, *v.HGL)
			}
		}
	}
	if rims != 1 {
		t.Errorf("%d rims, want that of the area drain", rims)
	}
}
