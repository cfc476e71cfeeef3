package lotrun

import (
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// A drain on an even lawn gets the ground above it, a cell's width of it, though
// with 3 mm of noise a single way leads past nearly every drain. In a swale it
// gets what single ways gather. No ground under a roof counts.
func TestDrainOnASlope(t *testing.T) {
	const cols, rows, row, roofRow = 160, 120, 40, 20
	rng := rand.New(rand.NewPCG(1, 2))
	ground := grid.New(grid.NewFrame(0, 0, 0.5, 0.5), cols, rows)
	for i := range ground.Z {
		c, r := ground.Cell(i)
		ground.Z[i] = float32(50 - 0.01*float64(r) - 0.004*float64(c) + 0.003*rng.NormFloat64())
	}
	w := standing(ground, &constraint.Site{})
	coefficient := make([]float64, len(ground.Z))
	for i := range coefficient {
		coefficient[i] = 0.5
		if _, r := ground.Cell(i); r < roofRow {
			coefficient[i] = -1
		}
	}
	rx := w.receiver(coefficient)
	var smooth, single []float64
	for c := 40; c < 120; c++ {
		i := ground.Index(c, row)
		if w.at[i] >= 0 {
			continue
		}
		area, weighted := rx.at(w.centre(i))
		bare := 0.0
		for _, k := range flow.Upstream(w.filled, w.dir, i) {
			if coefficient[k] >= 0 {
				bare += ground.CellArea()
			}
		}
		if area < bare {
			t.Errorf("column %d: %.2f m2, by single ways %.2f m2", c, area, bare)
		}
		if weighted < 0.499*area || weighted > 0.501*area {
			t.Errorf("column %d: %.2f m2 weigh %.2f, half of it wanted", c, area, weighted)
		}
		smooth, single = append(smooth, area), append(single, bare)
	}
	slices.Sort(smooth)
	slices.Sort(single)
	want := float64(row-roofRow+1) * ground.CellArea()
	if m := smooth[len(smooth)/2]; m < 0.7*want || m > 1.4*want {
		t.Errorf("the median drain gets %.2f m2 of the %.2f m2 above it", m, want)
	}
	if m := single[len(single)/2]; m > 0.2*want {
		t.Errorf("single ways bring the median drain %.2f m2 of %.2f m2: the lawn has lost its grip", m, want)
	}
}

// What the design is told of a point off the ground known is that nothing comes.
func TestNothingComesOffTheGround(t *testing.T) {
	ground := grid.New(grid.NewFrame(0, 0, 1, 1), 4, 4)
	clear(ground.Z)
	site := &constraint.Site{}
	if area, weighted := standing(ground, site).forDesign(site, design.Storm{Lawn: 1}).Runoff([2]float64{9, 9}); area != 0 || weighted != 0 {
		t.Errorf("%v m2, weighted %v", area, weighted)
	}
}
