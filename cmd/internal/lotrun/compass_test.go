package lotrun

import (
	"testing"

	"github.com/paulmach/orb"
)

// A lot drawn either way about has the same sides; one askew faces between.
func TestSideWords(t *testing.T) {
	square := orb.Ring{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}
	back := orb.Ring{{0, 0}, {0, 10}, {10, 10}, {10, 0}, {0, 0}}
	askew := orb.Ring{{0, -5}, {5, 0}, {0, 5}, {-5, 0}, {0, -5}}
	for _, c := range []struct {
		ring orb.Ring
		side int
		want string
	}{
		{square, 1, "its south side (side 1)"}, {square, 2, "its east side (side 2)"}, {square, 3, "its north side (side 3)"}, {square, 4, "its west side (side 4)"},
		{back, 1, "its west side (side 1)"}, {back, 2, "its north side (side 2)"}, {back, 3, "its east side (side 3)"}, {back, 4, "its south side (side 4)"},
		{askew, 1, "its southeast side (side 1)"}, {askew, 2, "its northeast side (side 2)"}, {askew, 3, "its northwest side (side 3)"}, {askew, 4, "its southwest side (side 4)"},
	} {
		if got := sideWords(c.ring, c.side); got != c.want {
			t.Errorf("%v, side %d: %q, want %q", c.ring, c.side, got, c.want)
		}
	}
}
