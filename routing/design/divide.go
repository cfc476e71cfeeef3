package design

import (
	"cmp"
	"context"
	"math"
	"slices"

	"curbfall/routing/search"
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
	// divisionsTried is how many ways to divide the inflows are searched, and
	// divisionsLooked of how many it is looked how long their trees are.
	divisionsTried  = 3
	divisionsLooked = 8
	// divisionsMost bounds the ways looked at: 14 inflows into two.
	divisionsMost = 1 << 14
	// evenShare is how much more than the evenest division's largest flow another's
	// may be: pipes come in sizes, and a shorter way is worth a little.
	evenShare = 1.1
)

// division is a way to divide inflows.
type division struct {
	parts  [][]int
	flow   float64 // the largest part's, m3/s
	length float64 // of all as they look, m of plain pipe
	least  float64 // of all at the shortest they look, m of plain pipe
}

// divisions lists ways to divide the inflows of a plan into n systems, none with more
// than a share of the evenest division's largest flow and all, at the shortest they
// look, no longer than some length, m of plain pipe, those that look shortest first.
func (d *job) divisions(p *planned, n int, share, under float64) []division {
	inflows, plan := p.sources(), d.inPlan(p)
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
			for _, group := range x.parts {
				x.flow = math.Max(x.flow, d.flowOf(group))
				x.length += plan.TwoByTwo(group)
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
	shortest := func(x, y division) int { return cmp.Compare(x.length, y.length) }
	all = slices.DeleteFunc(all, func(x division) bool { return x.flow > share*evenest || x.length*shrunk > under })
	slices.SortStableFunc(all, shortest)
	all = all[:min(len(all), divisionsLooked)]
	for i := range all {
		x := &all[i]
		x.least, x.length = x.length, 0
		for _, group := range x.parts {
			x.length += plan.Tree(group)
		}
		x.least = min(x.least, x.length)
	}
	// Either look may be the longer one: what is short by one of them is searched.
	all = slices.DeleteFunc(all, func(x division) bool { return x.least > under })
	slices.SortStableFunc(all, shortest)
	return all[:min(len(all), divisionsTried)]
}

// shrunk is how much shorter a tree may be that joins places anywhere than one that
// joins them two by two: in the open at best the half of the root of three, the ratio
// that Gilbert and Pollak conjectured (SIAM J. Appl. Math. 16, 1968; from memory).
const shrunk = 0.866

// inPlan tells how far inflows lie from each other and from an outlet, heights aside,
// on the lattice p was searched on, whose arcs are known.
func (d *job) inPlan(p *planned) *search.Distances {
	if d.distances == nil {
		d.distances = d.search(p.made[0]).Distances()
	}
	return d.distances
}
