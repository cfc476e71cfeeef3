package constraint

import (
	"math"
	"testing"
)

// An invert that rounding has put just inside a utility's band lies at its end, and
// one farther in does not.
func TestBandEnds(t *testing.T) {
	st := Station{Ceiling: 10, Floor: 0, Low: 4, High: 5}
	const hair = Tolerance / 2
	for _, x := range []struct{ y, down, up float64 }{
		{5 - hair, 5 - hair, 5 - hair}, {4 + hair, 4 + hair, 4 + hair},
		{5 - 1e-6, 4, 5}, {4 + 1e-6, 4, 5}, {4, 4, 4}, {5, 5, 5},
	} {
		if y, ok := st.Down(x.y); !ok || math.Abs(y-x.down) > 1e-12 {
			t.Errorf("down from %.10f: %.10f, want %.10f", x.y, y, x.down)
		}
		if y, ok := st.Up(x.y); !ok || math.Abs(y-x.up) > 1e-12 {
			t.Errorf("up from %.10f: %.10f, want %.10f", x.y, y, x.up)
		}
	}
}
