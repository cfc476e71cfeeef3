package lotrun

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/cmd/internal/demo"
	"curbfall/io/crs"
	"curbfall/io/raster"
	"curbfall/terrain/grid"
)

// surveyFoot is the US survey foot, m: 1200/3937 by definition (EPSG:9003).
const surveyFoot = 1200.0 / 3937

// printedDesign is what two runs are compared by.
type printedDesign struct {
	Status     string
	PlanLength float64 `json:"plan_length_m"`
	Inflows    []struct{ ID, Status string }
	inverts    map[string][2]float64 // by pipe, m
}

// designed runs route on a folder with the demo's three files, walks the law
// over what it printed and returns that.
func designed(t *testing.T, folder string) printedDesign {
	t.Helper()
	in := Inputs{DEM: filepath.Join(folder, DemoGround), Site: filepath.Join(folder, DemoSite), Criteria: filepath.Join(folder, DemoCriteria)}
	out := filepath.Join(folder, "out")
	done, err := Route(context.Background(), in, Output{Folder: out})
	if err != nil {
		t.Fatal(err)
	}
	independent(t, in.DEM, in.Site, "", out)
	d := printedDesign{inverts: map[string][2]float64{}}
	if err := json.Unmarshal([]byte(done.Summary), &d); err != nil {
		t.Fatal(err)
	}
	var pipes struct {
		Features []struct {
			Properties struct {
				ID   string
				Up   float64 `json:"invert_up_m"`
				Down float64 `json:"invert_down_m"`
			}
		}
	}
	data, err := os.ReadFile(filepath.Join(out, "pipes.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &pipes); err != nil {
		t.Fatal(err)
	}
	for _, p := range pipes.Features {
		d.inverts[p.Properties.ID] = [2]float64{p.Properties.Up, p.Properties.Down}
	}
	return d
}

// demoFolder writes the demo's files into a new folder.
func demoFolder(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	if _, err := writeDemo(folder); err != nil {
		t.Fatal(err)
	}
	return folder
}

// rewriteGround replaces a folder's raster by the demo's ground in feet.
func rewriteGround(t *testing.T, folder, system string, frame grid.Frame) {
	t.Helper()
	ground := demo.Ground()
	feet := grid.New(frame, ground.Cols, ground.Rows)
	for i, z := range ground.Z {
		feet.Z[i] = float32(float64(z) / surveyFoot)
	}
	if err := os.Remove(filepath.Join(folder, DemoGround)); err != nil {
		t.Fatal(err)
	}
	if err := raster.WriteGround(filepath.Join(folder, DemoGround), feet, system); err != nil {
		t.Fatal(err)
	}
}

// intoFeetZone moves a folder's lot into a zone of State Plane in US survey
// feet: the same shapes in the metres of that plane, at an invented place.
func intoFeetZone(t *testing.T, folder string) {
	t.Helper()
	const zone = "EPSG:2236"
	corner := orb.Point{250000, 300000} // site metres
	ground := demo.Ground()
	x, y := ground.ToSite(0, 0)
	// The demo's south-west corner is 500000, 4400000.
	frame := grid.NewFrame((corner[0]+x-500000)/surveyFoot, (corner[1]+y-4400000)/surveyFoot, ground.CellX/surveyFoot, ground.CellY/surveyFoot)
	rewriteGround(t, folder, zone+"+6360", frame)
	plane, err := crs.Parse(zone)
	if err != nil {
		t.Fatal(err)
	}
	world, err := crs.WGS84()
	if err != nil {
		t.Fatal(err)
	}
	m, err := crs.NewMover(plane, world)
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	var site bytes.Buffer
	if err := demo.WriteSite(&site, func(p orb.Point) (orb.Point, error) {
		return m.Move(orb.Point{corner[0] + p[0] - 500000, corner[1] + p[1] - 4400000})
	}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, DemoSite), site.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// givenProperties are levels and sizes of the demo's lines, m. The gutter is
// 3 cm under the raster's, so that it binds otherwise.
var givenProperties = map[string]map[string]any{
	"curb-south":     {"gutter_elevation": []any{249.63, 249.30}, "curb_height": 0.1524},
	"oak":            {"trunk_diameter": 0.3556},
	"maple":          {"trunk_diameter": 0.254},
	"front-walk":     {"thickness": 0.1016, "cover_min": 0.2032},
	"drive":          {"thickness": 0.127},
	"house":          {"finished_floor": 251.2},
	"sprinkler-main": {"type": "irrigation", "top": 249.95, "outside_diameter": 0.03302, "clearance": 0.0508},
}

// heights are the properties that are elevations: in feet they take the
// raster's foot, which for a raster in metres is the international one.
var heights = map[string]bool{"gutter_elevation": true, "finished_floor": true, "top": true}

// giveProperties rewrites a folder's site with givenProperties; in feet and
// inches where asked, with the foot of elevations named.
func giveProperties(t *testing.T, folder string, imperial bool, levelFoot float64) {
	t.Helper()
	path := filepath.Join(folder, DemoSite)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var site struct {
		Type     string           `json:"type"`
		Features []map[string]any `json:"features"`
	}
	if err := json.Unmarshal(data, &site); err != nil {
		t.Fatal(err)
	}
	for _, f := range site.Features {
		p := f["properties"].(map[string]any)
		given, ok := givenProperties[p["id"].(string)]
		if !ok {
			continue
		}
		kept := map[string]any{"kind": p["kind"], "id": p["id"]}
		for key, v := range given {
			switch {
			case !imperial:
				kept[key] = v
			case heights[key]:
				kept[key+"_ft"] = timesAll(v, 1/levelFoot)
			case key == "trunk_diameter" || key == "thickness" || key == "outside_diameter":
				kept[key+"_in"] = timesAll(v, 1/0.0254)
			default:
				if kept[key] = v; key != "type" {
					delete(kept, key)
					kept[key+"_ft"] = timesAll(v, 1/0.3048)
				}
			}
		}
		f["properties"] = kept
	}
	if data, err = json.Marshal(site); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// timesAll multiplies a number or each of a list.
func timesAll(v any, by float64) any {
	switch v := v.(type) {
	case float64:
		return v * by
	case []any:
		list := make([]any, len(v))
		for k := range v {
			list[k] = timesAll(v[k], by)
		}
		return list
	}
	return v
}

const (
	// lengthApart is how much plan length two ways of writing one lot may cost,
	// relative: coordinates pass through degrees of 10 decimals, and a tie
	// between ways of one length may fall otherwise.
	lengthApart = 0.01
	// invertApart is how far inverts may move, m: a millimetre, what the law's
	// checker lets pass; a float32 in feet rounds to 0.02 mm here.
	invertApart = 0.001
)

// alike compares a design with the same lot's in other units.
func alike(t *testing.T, got, want printedDesign) {
	t.Helper()
	if got.Status != want.Status || len(got.Inflows) != len(want.Inflows) {
		t.Fatalf("status %s, %d inflows; want %s, %d", got.Status, len(got.Inflows), want.Status, len(want.Inflows))
	}
	for k, in := range want.Inflows {
		if got.Inflows[k] != in {
			t.Errorf("inflow %+v, want %+v", got.Inflows[k], in)
		}
	}
	if math.Abs(got.PlanLength-want.PlanLength) > lengthApart*want.PlanLength {
		t.Errorf("%.3f m of pipe, want %.3f", got.PlanLength, want.PlanLength)
	}
}

// alikeInverts compares the inverts of every pipe too.
func alikeInverts(t *testing.T, got, want printedDesign) {
	t.Helper()
	alike(t, got, want)
	if len(got.inverts) != len(want.inverts) {
		t.Fatalf("%d pipes, want %d", len(got.inverts), len(want.inverts))
	}
	for id, w := range want.inverts {
		g := got.inverts[id]
		for end := range w {
			if !(math.Abs(g[end]-w[end]) <= invertApart) {
				t.Errorf("pipe %s: inverts %.4f m, want %.4f", id, g, w)
				break
			}
		}
	}
}

// lowestApart is how far the lowest inverts of two designs of one lot may lie
// apart, m: the street falls by as much where the outlet moves a metre.
const lowestApart = 0.02

// lowest is the lowest invert of a design.
func lowest(d printedDesign) float64 {
	low := math.Inf(1)
	for _, ends := range d.inverts {
		low = math.Min(low, math.Min(ends[0], ends[1]))
	}
	return low
}

// The same lot in other units is the same design.
func TestUnitsSwapped(t *testing.T) {
	plain := designed(t, demoFolder(t))
	if plain.Status != "feasible" || len(plain.inverts) == 0 {
		t.Fatalf("the demo is %s with %d pipes", plain.Status, len(plain.inverts))
	}
	t.Run("elevations in US survey feet", func(t *testing.T) {
		folder := demoFolder(t)
		rewriteGround(t, folder, "EPSG:26915+6360", demo.Ground().Frame)
		// Feet in 32 bits round otherwise than metres, by hundredths of a millimetre:
		// enough to take another of two bends as good.
		got := designed(t, folder)
		alike(t, got, plain)
		if a, b := lowest(got), lowest(plain); math.Abs(a-b) > lowestApart {
			t.Errorf("lowest invert %.4f m, want %.4f m", a, b)
		}
	})
	t.Run("a zone in US survey feet", func(t *testing.T) {
		folder := demoFolder(t)
		intoFeetZone(t, folder)
		alike(t, designed(t, folder), plain)
	})
	metric := demoFolder(t)
	giveProperties(t, metric, false, 1)
	given := designed(t, metric)
	if maps.Equal(given.inverts, plain.inverts) {
		t.Error("the properties given change nothing: nothing is tried")
	}
	t.Run("properties in feet and inches", func(t *testing.T) {
		folder := demoFolder(t)
		giveProperties(t, folder, true, 0.3048) // the international foot
		alikeInverts(t, designed(t, folder), given)
	})
	t.Run("all in feet", func(t *testing.T) {
		folder := demoFolder(t)
		intoFeetZone(t, folder)
		giveProperties(t, folder, true, surveyFoot)
		alike(t, designed(t, folder), given)
	})
}
