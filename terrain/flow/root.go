package flow

import "math"

// A share goes as the slope to the power 1.1, which is the slope times its tenth
// root: it brings the contributing area of a cone nearest to its formula.
//
// Source: Freeman 1991, Calculating catchment area with divergent flow based on
// a regular grid, Computers and Geosciences 17(3), 413-422 (from memory).

// mantissas is how many parts the numbers from 1 to 2 are divided into.
const mantissas = 256

// Roots of powers of two, by a float64's biased exponent; and for the middle of
// each part its root and 1 over it.
var (
	rootOfPower [2048]float64
	middle      [mantissas]struct{ root, inverse float64 }
)

func init() {
	for k := range rootOfPower {
		rootOfPower[k] = math.Exp2(float64(k-1023) / 10)
	}
	for k := range middle {
		m := 1 + (float64(k)+0.5)/mantissas
		middle[k].root, middle[k].inverse = math.Pow(m, 0.1), 1/m
	}
}

// tenthRoot returns the tenth root of a positive normal number, to a part in
// 1e12. That of 2^e m (1 + t), with m the middle of a part and t at most 1/512,
// is the product of three, of which the last is a series in t: what is left out
// is under 0.021 t^4.
func tenthRoot(x float64) float64 {
	b := math.Float64bits(x)
	m := &middle[b>>(52-8)%mantissas]
	t := math.Float64frombits(b&(1<<52-1)|1023<<52)*m.inverse - 1
	return rootOfPower[b>>52%2048] * m.root * (1 + t*(0.1+t*(-0.045+t*0.0285)))
}
