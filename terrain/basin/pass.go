package basin

import (
	"math"

	"curbfall/terrain/grid"
)

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

// Sorted returns passes by level, equal ones in the order given, whatever the
// number of cores; the list given is spoiled.
func Sorted(passes []Pass) []Pass {
	spare := make([]Pass, len(passes))
	parts := split(len(passes))
	next := make([][digits]int, len(parts)) // by part and digit: how many there are, then where the next one goes
	for shift := 0; shift < 32; shift += digitBits {
		grid.OnBands(parts, func(k int, b grid.Band) {
			n := &next[k]
			*n = [digits]int{}
			for _, p := range passes[b.First:b.End] {
				n[(p.Level>>shift)%digits]++
			}
		})
		at := 0
		for d := range digits {
			for k := range next {
				next[k][d], at = at, at+next[k][d]
			}
		}
		grid.OnBands(parts, func(k int, b grid.Band) {
			n := &next[k]
			for _, p := range passes[b.First:b.End] {
				d := (p.Level >> shift) % digits
				spare[n[d]] = p
				n[d]++
			}
		})
		passes, spare = spare, passes
	}
	return passes
}

// split parts a list among the cores, where there is much more of it than digits.
func split(length int) []grid.Band {
	parts := grid.Bands(length / digits)
	for k := range parts {
		parts[k] = grid.Band{First: parts[k].First * digits, End: parts[k].End * digits}
	}
	parts[len(parts)-1].End = length
	return parts
}

// Find returns what stands for all joined with i, and shortens the way there.
func Find(joined []uint32, i uint32) uint32 {
	for joined[i] != i {
		joined[i] = joined[joined[i]]
		i = joined[i]
	}
	return i
}
