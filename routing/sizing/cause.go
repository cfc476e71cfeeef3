package sizing

import (
	"math"

	"curbfall/routing/hydraulics"
)

// cause says why one size of a pipe has no entry, and the height missing.
func (s *solver) cause(p, size int) (Cause, float64) {
	pipe := &s.Pipes[p]
	c := &pipe.Choices[size]
	if !c.offered() {
		return NotOffered, 0
	}
	if c.Way != nil {
		return NoWay, 0
	}
	least, _, ok := hydraulics.SlopeRange(pipe.Flow, s.Sizes[size].Inside, s.Sizes[size].Roughness, c.Limits)
	if !ok {
		return NoSlope, 0
	}
	upLo, upHi := s.ends(c.Stations, size, 0)
	downLo, downHi := s.ends(c.Stations, size, pipe.Length)
	if upLo > upHi || downLo > downHi {
		return NoCorridor, 0
	}
	// The highest level the pipe may start from is its ceiling or the lowest of
	// the highest arrivals.
	widest := size
	if pipe.Shrinks {
		widest = len(s.Sizes) - 1
	}
	for _, a := range s.arrive[p] {
		t := &s.tables[a]
		if math.IsInf(t.at(widest, t.lo), 1) {
			return NoWay, 0 // what arrives is wider
		}
		for upHi = min(upHi, t.lo+len(t.cost[widest])-1); math.IsInf(t.at(widest, upHi), 1); {
			upHi--
		}
	}
	drop := int(math.Ceil(least*pipe.Length/s.Step - levelSlack))
	if short := max(upLo, downLo+drop) - upHi; short > 0 {
		return NoFall, float64(short) * s.Step
	}
	return NoWay, 0
}
