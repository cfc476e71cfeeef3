package profile

import (
	"math"
)

// Highest returns the highest invert attainable at each station, m, with a
// grade break or a drop wherever it helps and no largest slope, and what is
// short: nil where the chain is feasible so. Where the floor is passed the
// profile goes on as if it were not there, so the inverts stay finite. The
// chain must be valid.
func Highest(c *Chain) ([]float64, *Shortfall) {
	q := newCorridor(c)
	y, bound := q.highest(0)
	return q.atStations(len(c.Stations), y), q.shortfall(c, y, bound)
}

// Lowest returns the lowest invert at each station, m, from which the end can
// be reached with a grade break or a drop wherever it helps. Where the ceiling
// is passed it goes on as if it were not there. The chain must be valid.
func Lowest(c *Chain) []float64 {
	q := newCorridor(c)
	return q.atStations(len(c.Stations), q.lowest(0))
}

func (q *corridor) atStations(n int, y []float64) []float64 {
	out := make([]float64, n)
	for k, p := range q.points {
		if p.station >= 0 {
			out[p.station] = y[k]
		}
	}
	return out
}

// stretchEnd is the last point of the stretch of utility that starts at k.
func (q *corridor) stretchEnd(k int) int {
	m := k
	for m+1 < len(q.points) && q.points[m+1].stretch == q.points[k].stretch {
		m++
	}
	return m
}

// highest returns the highest invert at each point with every limit relaxed by
// ease, and the point that last held it down. A utility is passed above where
// its whole stretch can be: higher is never worse further down.
func (q *corridor) highest(ease float64) (y []float64, bound []int) {
	n := len(q.points)
	y, bound = make([]float64, n), make([]int, n)
	step := func(k int, ceiling float64) {
		y[k], bound[k] = math.Inf(1), k
		if k > 0 {
			y[k], bound[k] = y[k-1]-q.fall[k-1]*(q.points[k].S-q.points[k-1].S), bound[k-1]
		}
		if ceiling+ease < y[k] {
			y[k], bound[k] = ceiling+ease, k
		}
	}
	for k := 0; k < n; k++ {
		if q.points[k].stretch < 0 {
			step(k, q.points[k].Ceiling)
			continue
		}
		end, above := q.stretchEnd(k), true
		for m := k; m <= end && above; m++ {
			step(m, q.points[m].Ceiling)
			above = y[m] >= q.points[m].High-max(ease, slack)
		}
		for m := k; m <= end && !above; m++ {
			step(m, min(q.points[m].Ceiling, q.points[m].Low))
		}
		k = end
	}
	return y, bound
}

// lowest is the mirror of highest, from the lower end.
func (q *corridor) lowest(ease float64) []float64 {
	n := len(q.points)
	y := make([]float64, n)
	step := func(k int, floor float64) {
		y[k] = floor - ease
		if k < n-1 {
			y[k] = max(y[k], y[k+1]+q.fall[k]*(q.points[k+1].S-q.points[k].S))
		}
	}
	for k := n - 1; k >= 0; k-- {
		if q.points[k].stretch < 0 {
			step(k, q.points[k].Floor)
			continue
		}
		first := k
		for first > 0 && q.points[first-1].stretch == q.points[k].stretch {
			first--
		}
		below := true
		for m := k; m >= first && below; m-- {
			step(m, q.points[m].Floor)
			below = y[m] <= q.points[m].Low+max(ease, slack)
		}
		for m := k; m >= first && !below; m-- {
			step(m, max(q.points[m].Floor, q.points[m].High))
		}
		k = first
	}
	return y
}

// shortfall finds the point where the highest profile lacks most.
func (q *corridor) shortfall(c *Chain, y []float64, bound []int) *Shortfall {
	worst, at := slack, -1
	for k, p := range q.points {
		if d := p.Floor - y[k]; d > worst {
			worst, at = d, k
		}
	}
	if at < 0 {
		return nil
	}
	p, b := q.points[at], q.points[bound[at]]
	e := &Shortfall{Missing: worst, Bound: b.S, At: p.S, Highest: y[at], Limit: p.Floor, By: RuleCeiling, Needs: RuleFloor}
	switch {
	case bound[at] == 0 && c.StartHigh < c.Stations[0].Ceiling:
		e.By = RuleStart
	case b.stretch >= 0 && y[bound[at]] < b.Ceiling:
		e.By = RuleUtility
	}
	switch own := c.Stations[max(p.station, 0)]; {
	case at == len(q.points)-1 && c.EndMin > own.Floor:
		e.Needs = RuleEnd
	case at == 0 && c.StartLow > own.Floor:
		e.Needs = RuleStart
	}
	return e
}

// tighten draws ceiling and floor in to what some profile attains, so that
// sweeps of runs that lead nowhere end early. No run is lost: with a grade
// break anywhere inverts lie between the highest profile and the lowest.
func (q *corridor) tighten() {
	high, _ := q.highest(slack)
	low := q.lowest(slack)
	for k := range q.points {
		q.points[k].Ceiling, q.points[k].Floor = high[k], low[k]
	}
}
