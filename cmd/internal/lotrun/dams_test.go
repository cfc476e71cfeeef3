package lotrun

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// A drive over a ditch is asked about; with its culvert drawn it is not, and no
// water stands there.
func TestDamIsAsked(t *testing.T) {
	g := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), 200, 60)
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := float64(c)/2, math.Abs(float64(r)/2-15)
		z := math.Min(0.6, 0.15*y)
		if math.Abs(x-70) < 2 {
			z = math.Max(z, 0.5)
		}
		g.Z[i] = float32(10 - 0.01*x + z)
	}
	site := &constraint.Site{}
	dams := standing(g, site).dams(site)
	says := strings.Join(damWords(dams), "\n")
	// By hand: from the ditch at 68 m, 0.5 m less half a metre's fall under the top,
	// to the ditch at 72 m.
	if len(dams) != 1 || len(damLayer(dams).Features) != 1 || math.Abs(dams[0].Height-0.495) > 1e-6 || math.Abs(dams[0].Behind-0.495) > 1e-6 ||
		!strings.Contains(says, "holds back ls1, 0.49 m deep behind 0.49 m of height over 4.0 m (dams.geojson)") {
		t.Errorf("%+v: %q", dams, says)
	}
	site.Culverts = []constraint.Culvert{{ID: "pipe", Line: orb.LineString{{66, -15}, {74, -15}}}}
	w := standing(g, site)
	if dams := w.dams(site); len(dams) > 0 || len(w.spots) > 0 || len(damWords(dams)) > 0 {
		t.Errorf("with the culvert: %+v, %d low spots", dams, len(w.spots))
	}
}
