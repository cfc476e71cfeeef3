package design

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// Two drains near the street of a lot 60 m wide, each some 7 m from the curb: one
// system is 7 m and the pipe from drain to drain, two are 14 m and one more outlet,
// worth outletPrice. So they part where they are farther apart than 17 m or so,
// and with one outlet allowed never.
func TestTwoOutletsWhereCheaper(t *testing.T) {
	for _, tt := range []struct {
		apart float64 // m
		most  int
		want  int
	}{{12, 2, 1}, {30, 2, 2}, {30, 1, 1}} {
		nan := math.NaN()
		_, site := testLot(0.03)
		site.Lots[0].Area = rectangle(0, 0, 60, 30)
		site.Curbs[0].Line = orb.LineString{{-10, -3}, {70, -3}}
		site.Paved = nil
		for _, x := range []float64{30 - tt.apart/2, 30 + tt.apart/2} {
			site.Inlets = append(site.Inlets, constraint.Inlet{ID: fmt.Sprint("ad", x), At: orb.Point{x, 4}, Rim: nan, GrateOpenArea: nan, GratePerimeter: nan})
		}
		site.Roofs[0].Outline = rectangle(80, 12, 81, 13) // another lot's
		ground := grid.New(grid.NewFrame(-12, 34, 0.25, 0.25), 340, 180)
		for i := range ground.Z {
			c, r := ground.Cell(i)
			if _, y := ground.ToSite(float64(c), float64(r)); y < -3 {
				ground.Z[i] = float32(9.8476 + 0.02*(-3-y))
			} else {
				ground.Z[i] = float32(10 + 0.1*(y+3))
			}
		}
		c := testCriteria()
		c.Grates = Grates{OpenArea: 0.02, Perimeter: 1, Clogged: 0.5}
		c.Limits.OutletsMax = tt.most
		water := Water{Runoff: func(orb.Point) (float64, float64) { return 100, 0.0005 / c.Storm.Intensity }}
		r, err := Lot(context.Background(), constraint.NewLaw(ground, site, 0, c.Limits), site, water, c)
		if err != nil {
			t.Fatal(err)
		}
		outlets := 0
		for _, n := range r.Network.Nodes {
			if n.Out < 0 {
				outlets++
			}
		}
		if r.Status != Feasible || outlets != tt.want {
			t.Errorf("%.0f m apart, outlets_max %d: %s, %d outlets, want %d, with %.1f m of pipe", tt.apart, tt.most, r.Status, outlets, tt.want, r.PlanLength)
		}
	}
}
