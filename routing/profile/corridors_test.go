package profile

import (
	"math"
	"math/rand/v2"
	"slices"

	"curbfall/routing/constraint"
)

// draw is a random number in a range; rounded to the grid where one is set, so
// that limits meet exactly and cases lie on the edge of feasible.
type draw struct {
	*rand.Rand
	grid float64
}

func (d draw) in(low, high float64) float64 {
	v := low + (high-low)*d.Float64()
	if d.grid > 0 {
		v = math.Round(v/d.grid) * d.grid
	}
	return v
}

// randomChain is a small corridor with, each now and then, jumps, utilities,
// nodes, breaks off the stations, bounds at the ends and a largest slope.
func randomChain(rng *rand.Rand, stations int) *Chain {
	d := draw{Rand: rng}
	if rng.IntN(3) == 0 {
		d.grid = 0.125 // exact in binary, so sums of limits meet
	}
	c := NewChain()
	s, z, narrow := 0.0, 100.0, 0.1+0.5*rng.Float64()
	utilities := rng.IntN(4) // none, few, many, most
	drift, rough := -0.6*rng.Float64(), 0.1+0.4*rng.Float64()
	for k := 0; k < stations; k++ {
		z += d.in(drift-rough, drift+rough)
		st := constraint.Free(s, z, z-d.in(narrow/2, 2*narrow))
		if rng.IntN(4) < utilities {
			st.Low = st.Floor + d.in(-0.1, narrow)
			st.High = st.Low + d.in(0, 0.4*rng.Float64())
		}
		c.Stations = append(c.Stations, st)
		if s > 0 && rng.IntN(4) == 0 && k < stations-1 {
			z += d.in(-0.3, 0.3)
			continue // a jump: the next station has this S
		}
		s += 0.5 * float64(1+rng.IntN(6))
	}
	end := c.End()
	c.Stretches = []Stretch{{To: end, SlopeMin: 0.02 * float64(rng.IntN(3))}}
	if rng.IntN(3) == 0 {
		cut := 0.5 * float64(rng.IntN(int(2*end)+1))
		c.Stretches = []Stretch{{To: cut, SlopeMin: 0.01}, {To: end, SlopeMin: 0.03}}
	}
	if rng.IntN(3) == 0 {
		c.SlopeMax = 0.1 + 0.4*rng.Float64()
	}
	for k := range c.Stations[1 : len(c.Stations)-1] {
		if v := c.Stations[k+1].S; rng.IntN(4) == 0 && v > 0 && v < end && !slices.Contains(c.Nodes, v) {
			c.Nodes = append(c.Nodes, v)
		}
	}
	if rng.IntN(2) == 0 {
		c.Breaks = []float64{}
		for k := 0; k < 4; k++ {
			c.Breaks = append(c.Breaks, 0.25*float64(rng.IntN(int(4*end))))
		}
	}
	first, last := c.Stations[0], c.Stations[len(c.Stations)-1]
	if rng.IntN(4) == 0 {
		c.StartHigh = first.Ceiling - d.in(0, 0.2)
	}
	if rng.IntN(4) == 0 {
		c.StartLow = first.Floor + d.in(0, 0.2)
	}
	if rng.IntN(4) == 0 {
		c.EndMin = last.Floor + d.in(0, 0.2)
	}
	return c
}
