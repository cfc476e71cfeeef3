package lowspot

import (
	"math"

	"curbfall/terrain/grid"
)

// ofNoise is how many standard deviations of its raster's noise deep so many of a
// low spot's cells are at least where it is more than noise: on planes of 0.2 to
// 5 %, in noise of 0.02 to 0.10 m from cell to cell or hanging together over up to
// five, 99 in 100 of the low spots have fewer.
var ofNoise = [...]struct {
	cells int
	times float64
}{{1, 3.42}, {9, 2.47}, {16, 2.25}, {25, 2.05}, {50, 1.75}}

// BeyondNoise tells whether depths by cell, m, are more than noise of a standard
// deviation, m, makes: one cell very deep, or many that are less so.
func BeyondNoise(depths []float64, noise float64) bool {
	if noise == 0 {
		return true
	}
	for _, n := range ofNoise {
		deep := 0
		for _, d := range depths {
			if d >= n.times*noise {
				deep++
			}
		}
		if deep >= n.cells {
			return true
		}
	}
	return false
}

// Noise returns the standard deviation of a raster's noise, m, as it is from cell
// to cell: where noise hangs together over several cells, as in an interpolated
// raster, there is more than is seen. 0 where nothing is known.
//
// It is the median of what the difference of two Laplacians leaves of each 3 x 3
// cells, over what it leaves of noise: nothing of planes, of parabolas along the
// rows and columns, and little of anything smooth. Found to a tenth of a
// millimetre.
//
// Cost: O(n).
//
// Source: J. Immerkaer, Fast noise variance estimation, Computer Vision and Image
// Understanding 64(2), 1996, 300-302, 10.1006/cviu.1996.0060; the median in place
// of the mean, since curbs and walls are no noise.
func Noise(g *grid.Grid) float64 {
	const (
		gain   = 6      // the root of the sum of the mask's squares
		median = 0.6745 // of a normal deviate without its sign
		step   = 1e-4 * gain * median
		steps  = 1 << 14 // up to 6.6 m of noise, beyond which all is one
	)
	var counts [steps]int
	known := 0
	for r := 1; r < g.Rows-1; r++ {
		for i := g.Index(1, r); i < g.Index(g.Cols-1, r); i++ {
			second := func(i int) float64 { return float64(g.Z[i-1]) - 2*float64(g.Z[i]) + float64(g.Z[i+1]) }
			if left := math.Abs(second(i-g.Cols)-2*second(i)+second(i+g.Cols)) * g.MetresPerZ; left == left {
				counts[min(steps-1, int(left/step))]++
				known++
			}
		}
	}
	for k, sum := 0, 0; k < steps; k++ {
		if sum += counts[k]; 2*sum > known {
			return (float64(k) + 0.5) * step / gain / median
		}
	}
	return 0
}
