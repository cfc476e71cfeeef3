package lotrun

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// Of the real rasters the drone's is called a surface model, and none of bare
// ground.
func TestRealModels(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	for name, want := range map[string]bool{
		"drone-dsm-1cm.tif": true, "fl-subdivision-3m.tif": false, "fr-rowhouses-025m.vrt": false, "mn-depression-1m-cog.tif": false, "nm-hillside-2ft.tif": false,
	} {
		in := Inputs{DEM: filepath.Join(data, name)}
		if _, err := os.Stat(in.DEM); err != nil {
			t.Skipf("real rasters are not here: %v", err)
		}
		if strings.HasPrefix(name, "drone") || strings.HasPrefix(name, "mn") {
			in.VerticalUnit = "m"
		}
		done, err := Terrain(context.Background(), in, Output{Folder: filepath.Join(t.TempDir(), "out")})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(done.Report, "looks like a surface model"); got != want {
			t.Errorf("%s: %v\n%s", name, got, done.Report)
		}
	}
}

// A house of 12 by 9 m on a hillside of 25 % is not in its ground; one that
// stands 2 m above it is.
func TestRaisedRoofs(t *testing.T) {
	house := constraint.Roof{ID: "house", Outline: orb.Polygon{{{10, 10}, {22, 10}, {22, 19}, {10, 19}, {10, 10}}}}
	for _, height := range []float64{0, 2} {
		g := &given{ground: grid.New(grid.NewFrame(0.25, 39.75, 0.5, 0.5), 100, 80), site: &constraint.Site{Roofs: []constraint.Roof{house}}}
		for i := range g.ground.Z {
			c, r := g.ground.Cell(i)
			x, y := g.ground.ToSite(float64(c), float64(r))
			z := 0.2*x + 0.15*y
			if 10 < x && x < 22 && 10 < y && y < 19 {
				z += height
			}
			g.ground.Z[i] = float32(z)
		}
		if got := len(g.raisedRoofs()) == 1; got != (height > 0) {
			t.Errorf("%v m high: raised %v", height, got)
		}
	}
}
