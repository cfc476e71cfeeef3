package constraint

import (
	"math"

	"github.com/paulmach/orb/planar"
)

// RoofOf returns the index of the roof a downspout serves: the one it names, else
// the nearest; -1 where that is not drawn.
func (s *Site) RoofOf(d Downspout) int {
	best, at := math.Inf(1), -1
	for k := range s.Roofs {
		r := &s.Roofs[k]
		if d.Roof != "" {
			if r.ID == d.Roof {
				return k
			}
			continue
		}
		q, _ := r.ToOutline(d.At)
		if dist := planar.Distance(q, d.At); dist < best {
			best, at = dist, k
		}
	}
	return at
}

// Shares returns the share of their roof that each of its downspouts has: the
// given ones, and equal parts of what they leave.
func Shares(spouts []Downspout) []float64 {
	left, open := 1.0, 0
	for _, s := range spouts {
		if Given(s.Share) {
			left -= s.Share
		} else {
			open++
		}
	}
	shares := make([]float64, len(spouts))
	for i, s := range spouts {
		if shares[i] = s.Share; !Given(s.Share) {
			shares[i] = max(0, left) / float64(open)
		}
	}
	return shares
}
