package profile

import (
	"slices"
)

// corner is a point of a gain: area v for the invert y.
type corner struct{ y, v float64 }

// gain is the greatest area under the inverts so far, m2, as a function of the
// invert at a break: concave, linear between corners, undefined outside them.
type gain []corner

func (g gain) domain() interval { return interval{g[0].y, g[len(g)-1].y} }

// at is the gain at y, brought into the domain.
func (g gain) at(y float64) float64 {
	if y <= g[0].y {
		return g[0].v
	}
	for k := 1; k < len(g); k++ {
		if a, b := g[k-1], g[k]; y < b.y {
			return a.v + (b.v-a.v)*(y-a.y)/(b.y-a.y)
		}
	}
	return g[len(g)-1].v
}

// peak is the corner of greatest gain, the highest of several.
func (g gain) peak() corner {
	best := g[0]
	for _, c := range g[1:] {
		if c.v >= best.v {
			best = c
		}
	}
	return best
}

// within is the gain on the part of the domain inside v, nil where none is.
func (g gain) within(v interval) gain {
	d := g.domain().meet(v)
	if d.empty() {
		return nil
	}
	out := gain{{d.low, g.at(d.low)}}
	for _, c := range g {
		if c.y > d.low && c.y < d.high {
			out = append(out, c)
		}
	}
	if d.high > d.low {
		out = append(out, corner{d.high, g.at(d.high)})
	}
	return out
}

// through carries a gain over a run of the given length. What it seeks, the
// most over all runs of p that end at an invert, is the upper hull of the values
// at the corners of p cut along the corners of g: between those it is linear.
func (g gain) through(p pairs, length float64) gain {
	d := g.domain()
	points := make(gain, 0, len(p)+2*len(g))
	add := func(from, to, v float64) {
		points = append(points, corner{to, v + length*(from+to)/2})
	}
	for _, v := range p {
		if v.from >= d.low && v.from <= d.high {
			add(v.from, v.to, g.at(v.from))
		}
	}
	for _, c := range g {
		if to := p.image(interval{c.y, c.y}); !to.empty() {
			add(c.y, to.low, c.v)
			add(c.y, to.high, c.v)
		}
	}
	if len(points) == 0 {
		return nil
	}
	return points.hull()
}

// hull is the upper hull of the points, which it reorders.
func (g gain) hull() gain {
	slices.SortFunc(g, func(a, b corner) int {
		switch {
		case a.y < b.y || a.y == b.y && a.v < b.v:
			return -1
		case a.y > b.y || a.y == b.y && a.v > b.v:
			return 1
		}
		return 0
	})
	out := g[:0]
	for _, c := range g {
		if n := len(out); n > 0 && out[n-1].y == c.y {
			out = out[:n-1] // the higher of equal inverts comes last
		}
		for n := len(out); n > 1; n = len(out) {
			a, b := out[n-2], out[n-1]
			if (b.v-a.v)*(c.y-a.y) > (c.v-a.v)*(b.y-a.y) {
				break
			}
			out = out[:n-1]
		}
		out = append(out, c)
	}
	return out
}

// dropped is the gain of a run that starts at or below where g ended, down to
// low.
func (g gain) dropped(low float64) gain {
	top := g.peak()
	out := gain{{min(low, top.y), top.v}}
	if low < top.y {
		out = append(out, top)
	}
	for _, c := range g {
		if c.y > top.y {
			out = append(out, c)
		}
	}
	return out
}
