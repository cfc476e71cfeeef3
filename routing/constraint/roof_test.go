package constraint

import (
	"testing"

	"github.com/paulmach/orb"
)

// TestEavesIgnoreNoise tilts the ground to the north-east by less and by more
// than noise: the back corners are lower by it, and a front one comes first
// only where the difference says nothing.
func TestEavesIgnoreNoise(t *testing.T) {
	front, back := orb.Point{15, 12}, orb.Point{15, 20}
	for _, c := range []struct {
		lower float64 // m, the back corners below the front ones
		first orb.Point
	}{
		{0, front}, {evenGround - 0.002, front}, {evenGround + 0.002, back}, {0.3, back},
	} {
		ground := testGround()
		for i := range ground.Z {
			x, y := ground.ToSite(cellAt(ground.Cell(i)))
			ground.Z[i] = float32(10 - 0.05*x - c.lower/8*(y-12))
		}
		places := NewLaw(ground, testSite(), 0, testLimits()).Eaves(0)
		if len(places) != 8 || places[0] != c.first {
			t.Errorf("back lower by %.3f m: %v first of %d, want %v of 8", c.lower, places[0], len(places), c.first)
		}
	}
}

func cellAt(c, r int) (float64, float64) { return float64(c), float64(r) }
