package design

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// divided is the shortest plan of some divisions of the inflows, nil where none
// finds its way.
func (d *job) divided(ctx context.Context, step float64, inflows []int, divisions []division, capacity bool) (best *planned, err error) {
	for _, x := range divisions {
		p := &planned{}
		for _, part := range x.parts {
			if err := d.beside(ctx, p, d.attemptsOf(step, part, capacity), part, len(part), len(part)); err != nil {
				return nil, err
			}
		}
		if len(p.sources()) == len(inflows) && (best == nil || p.price < best.price) {
			best = p
		}
	}
	return best, nil
}

const (
	// divisionsTried is how many ways to divide the inflows are searched.
	divisionsTried = 3
	// divisionsMost bounds the ways looked at: 14 inflows into two.
	divisionsMost = 1 << 14
	// evenShare is how much more than the evenest division's largest flow another's
	// may be: pipes come in sizes, and a shorter way is worth a little.
	evenShare = 1.1
)

// division is a way to divide inflows: the largest part's flow, m3/s, and how
// long all look, m.
type division struct {
	parts        [][]int
	flow, length float64
}

// divisions lists ways to divide inflows into n systems, none with more than a
// share of the evenest division's largest flow, those that look shortest first.
func (d *job) divisions(inflows []int, n int, share float64) []division {
	if len(inflows) < n || math.Pow(float64(n), float64(len(inflows)-1)) > divisionsMost {
		return nil
	}
	var all []division
	evenest := math.Inf(1)
	part := make([]int, len(inflows))
	var place func(k, used int)
	place = func(k, used int) {
		if k == len(inflows) {
			if used < n {
				return
			}
			x := division{parts: make([][]int, n)}
			for i, g := range part {
				x.parts[g] = append(x.parts[g], inflows[i])
			}
			for _, p := range x.parts {
				x.flow = math.Max(x.flow, d.flowOf(p))
				x.length += d.looksLong(p)
			}
			evenest = math.Min(evenest, x.flow)
			all = append(all, x)
			return
		}
		for g := 0; g <= min(used, n-1); g++ {
			part[k] = g
			place(k+1, max(used, g+1))
		}
	}
	place(0, 0)
	all = slices.DeleteFunc(all, func(x division) bool { return x.flow > share*evenest })
	slices.SortStableFunc(all, func(x, y division) int { return cmp.Compare(x.length, y.length) })
	return all[:min(len(all), divisionsTried)]
}

// nearness is how near inflows lie to each other and to an outlet, as pipes go, m.
type nearness struct {
	between [][]float64
	out     []float64
}

func (d *job) near() *nearness {
	if d.nearness == nil {
		d.nearness = &nearness{}
		d.nearness.between, d.nearness.out = d.search(d.leastHeight(coarse)).Apart()
	}
	return d.nearness
}

// looksLong is the length of the shortest ways, two by two, that join some inflows and
// the nearest outlet to them, m of plain pipe.
func (d *job) looksLong(inflows []int) (length float64) {
	near := d.near()
	away := make([]float64, len(inflows))
	for i, k := range inflows {
		away[i] = near.out[k]
	}
	for range inflows {
		i := 0
		for k := range away {
			if away[k] < away[i] {
				i = k
			}
		}
		length += away[i]
		away[i] = math.Inf(1)
		for k := range away {
			if !math.IsInf(away[k], 1) {
				away[k] = math.Min(away[k], near.between[inflows[i]][inflows[k]])
			}
		}
	}
	return length
}
