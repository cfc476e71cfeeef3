package basin

import "math"

// Pass joins two catchments at a saddle.
type Pass struct {
	Level uint32 // of the saddle, see Order
	A, B  uint32 // labels
	Cell  uint32 // the saddle
}

// Order turns an elevation into a number of the same order; -0 counts as 0.
func Order(z float32) uint32 {
	b := math.Float32bits(z + 0)
	return b ^ (uint32(int32(b)>>31) | 1<<31)
}

// Elevation undoes Order.
func Elevation(o uint32) float32 {
	return math.Float32frombits(o ^ (uint32(int32(^o)>>31) | 1<<31))
}

// Passes are sorted by digits of their level, lowest digit first.
const (
	digitBits = 11
	digits    = 1 << digitBits
)

// Sorted returns passes by level, equal ones in the order given; the list given
// is spoiled.
func Sorted(passes []Pass) []Pass {
	spare := make([]Pass, len(passes))
	for shift := 0; shift < 32; shift += digitBits {
		var start [digits + 1]int
		for _, p := range passes {
			start[(p.Level>>shift)%digits+1]++
		}
		for d := range digits {
			start[d+1] += start[d]
		}
		for _, p := range passes {
			d := (p.Level >> shift) % digits
			spare[start[d]] = p
			start[d]++
		}
		passes, spare = spare, passes
	}
	return passes
}

// Find returns what stands for all joined with i, and shortens the way there.
func Find(joined []uint32, i uint32) uint32 {
	for joined[i] != i {
		joined[i] = joined[joined[i]]
		i = joined[i]
	}
	return i
}
