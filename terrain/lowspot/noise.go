package lowspot

import (
	"math"

	"curbfall/terrain/grid"
)

// OfNoise is how many standard deviations of its raster's noise a low spot is
// deep at least to be more than noise: on planes of 0.2 to 5 %, in noise of 0.02
// to 0.10 m from cell to cell or hanging together over up to five, 99 in 100 of
// the low spots are shallower than 3.42.
const OfNoise = 3.42

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
