package design

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// lowRim is a lot with an area drain, whose rim lies so high, far from the only
// outlet, an emitter: 5 L/s in a 4 in pipe.
func lowRim(t *testing.T, rim float64, spoil func(*Criteria)) *Result {
	t.Helper()
	nan := math.NaN()
	ground, site := testLot(0.01)
	site.Roofs[0].Outline = rectangle(60, 12, 61, 13)
	site.Inlets = []constraint.Inlet{{ID: "ad", At: orb.Point{17, 27}, Rim: rim, GrateOpenArea: nan, GratePerimeter: nan}}
	site.Outlets = []constraint.Outlet{{ID: "em", At: orb.Point{17, 3}, Type: constraint.Emitter, Invert: nan}}
	c := testCriteria()
	c.Tailwater = nothingGiven
	c.Base = EmitterBase{Weep: 0.0127, BedArea: 0.37, BedDepth: 0.3, Porosity: 0.4, SoilRate: 1.8e-6}
	c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
	spoil(&c)
	law := constraint.NewLaw(ground, site, 0, c.Limits)
	water := Water{Runoff: func(orb.Point) (float64, float64) { return 500, 0.005 / c.Storm.Intensity }}
	r, err := Lot(context.Background(), law, site, water, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The emitter's lid is at 10.06. In 24 m of 4 in pipe 5 L/s lose 24 x 0.0077 = 0.18
// m beside the seat's 0.045 and the inlet's and elbow's 0.04: to about 10.33. A rim
// at the ground, 10.30, wants 6 in pipe; one at 10.45 does not; one at 10.11 has none
// that does, and the verdict says so: there the ground is dug down, and the pipe
// begins with its crown below the rim, lower than its cover has it.
func TestGradeLineBelowRims(t *testing.T) {
	only4 := func(c *Criteria) { c.Catalogue.Bores = c.Catalogue.Bores[:1] }
	for _, tt := range []struct {
		name  string
		rim   float64
		spoil func(*Criteria)
		size  string
		over  bool
	}{
		{"high rim", 10.45, func(*Criteria) {}, "4 in", false},
		{"low rim", 10.30, func(*Criteria) {}, "6 in", false},
		{"low rim, one size", 10.30, only4, "4 in", true},
		{"rim near the lid", 10.11, func(*Criteria) {}, "6 in", true},
	} {
		r := lowRim(t, tt.rim, tt.spoil)
		if r.Status != Feasible {
			t.Fatalf("%s: %s", tt.name, r.Verdict)
		}
		for k := range r.Network.Pipes {
			if p := &r.Network.Pipes[k]; p.Size.Nominal != tt.size {
				t.Errorf("%s: pipe %s is %s, want %s", tt.name, p.ID, p.Size.Nominal, tt.size)
			}
		}
		first := &r.Network.Pipes[0]
		if crown := first.InvertUp + first.Size.Inside; r.Network.Nodes[first.From].ID != "ad" || crown > tt.rim+layingSlack {
			t.Errorf("%s: %s leaves %s with its crown at %.4f, over the rim", tt.name, first.ID, r.Network.Nodes[first.From].ID, crown)
		}
		v := overRim(&r.Network)
		if (v != nil) != tt.over || strings.Contains(r.Verdict, "over the rim of ad, and water comes out there") != tt.over {
			t.Errorf("%s: over a rim %v, verdict %q", tt.name, v, r.Verdict)
		}
	}
}

// Two drains, one pipe size, and a street that stands 0.83 m over its gutter, at
// 10.67: 5 L/s in one 4 in pipe lose 30 x 0.0077 = 0.23 m and more to the rims at
// 10.90, 2.5 L/s in each of two a quarter of that. So there are two outlets, which
// neither capacity nor leftover flow asks for; with outlets_max 1 the verdict says
// what comes out.
func TestSecondOutletBelowRims(t *testing.T) {
	nan := math.NaN()
	for most, over := range map[int]bool{2: false, 1: true} {
		ground, site := testLot(0.03)
		site.Roofs[0].Outline = rectangle(60, 12, 61, 13)
		for _, x := range []float64{4, 16} {
			site.Inlets = append(site.Inlets, constraint.Inlet{ID: fmt.Sprint("ad", x), At: orb.Point{x, 27}, Rim: nan, GrateOpenArea: nan, GratePerimeter: nan})
		}
		c := testCriteria()
		c.Tailwater = nothingGiven
		c.Tailwater.CurbFace = 0.83
		c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
		c.Catalogue.Bores = c.Catalogue.Bores[:1]
		c.Limits.OutletsMax = most
		water := Water{Runoff: func(orb.Point) (float64, float64) { return 500, 0.0025 / c.Storm.Intensity }}
		r, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		outlets := 0
		for i := range r.Network.Nodes {
			if r.Network.Nodes[i].Out < 0 {
				outlets++
			}
		}
		if outlets != most || (overRim(&r.Network) != nil) != over || r.Leftover > 0 {
			t.Errorf("outlets_max %d: %d outlets, over a rim %v; %s", most, outlets, overRim(&r.Network), r.Verdict)
		}
	}
}
