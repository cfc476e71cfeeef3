package search

import (
	"cmp"
	"math"
	"slices"
)

// Distances tell how far sources lie from each other and from an outlet as pipes go,
// heights and other pipes aside, in m of plain pipe; +Inf where there is no way.
type Distances struct {
	between [][]float64
	out     []float64
	g       *Search // as it was asked
}

// Distances are those of the sources.
func (g *Search) Distances() *Distances {
	own := *g
	d := &Distances{g: &own}
	own.clearWalls()
	n := &net{Search: &own, group: group{goals: own.targets()}}
	own.base = own.reverse(n.goals, own.highestStart())
	own.plan = own.newPlanPrices()
	for s := range own.Sources {
		n.sources = append(n.sources, s)
	}
	n.measure(&forest{})
	for s := range own.Sources {
		d.between = append(d.between, nil)
		for r := range own.Sources {
			d.between[s] = append(d.between[s], n.apart[[2]int{s, r}])
		}
		out := math.Inf(1)
		for _, k := range own.links[s] {
			if k.node < 0 {
				out = min(out, k.priced)
			} else {
				out = min(out, k.priced+own.base.price[k.node])
			}
		}
		d.out = append(d.out, out)
	}
	return d
}

// TwoByTwo is the length of the shortest ways, two by two, that join sources and an
// outlet, m of plain pipe.
func (d *Distances) TwoByTwo(sources []int) float64 {
	length, _ := d.twoByTwo(sources)
	return length
}

// twoByTwo is TwoByTwo with the sources in the order of these ways, from the outlet.
func (d *Distances) twoByTwo(sources []int) (length float64, order []int) {
	away := make([]float64, len(sources))
	for i, s := range sources {
		away[i] = d.out[s]
	}
	for range sources {
		i := 0
		for k := range away {
			if away[k] < away[i] {
				i = k
			}
		}
		length, order = length+away[i], append(order, sources[i])
		away[i] = math.Inf(1)
		for k, s := range sources {
			if !slices.Contains(order, s) {
				away[k] = min(away[k], d.between[sources[i]][s])
			}
		}
	}
	return length, order
}

// Tree is how long a tree comes to be that joins sources and an outlet, m of plain
// pipe: each by its cheapest way to the pipes before it, the nearest first or the
// farthest.
func (d *Distances) Tree(sources []int) float64 {
	_, nearest := d.twoByTwo(sources)
	farthest := slices.Clone(sources)
	slices.SortStableFunc(farthest, func(a, b int) int { return cmp.Compare(d.out[b], d.out[a]) })
	return min(d.inserted(nearest), d.inserted(farthest))
}

// inserted is the length of a tree that sources are inserted into in order.
func (d *Distances) inserted(order []int) (length float64) {
	g, ends := d.g, d.g.targets()
	for i, s := range order {
		t := g.near(s, ends)
		best, first := math.Inf(1), -1
		for _, k := range g.links[s] {
			if k.node >= 0 && !math.IsInf(g.base.need[k.node], 1) && k.priced+t.price[k.node] < best {
				best, first = k.priced+t.price[k.node], k.node
			}
		}
		if first < 0 {
			return math.Inf(1)
		}
		if length += best; i == 0 {
			ends = nil
		}
		for _, v := range g.downhill(first, t.price) {
			ends = append(ends, target{node: v, outlet: -1})
		}
	}
	return length
}

// downhill is the cheapest way from a node to the ends its prices are told from.
func (g *Search) downhill(v int, price []float64) (way []int) {
	for {
		way = append(way, v)
		next, least := -1, price[v]
		for k, step := range g.plan.step {
			for _, x := range [2]struct{ to, from int }{{v + step, v}, {v - step, v - step}} {
				if x.from < 0 || x.to < 0 || x.to >= len(price) {
					continue
				}
				if p := price[x.to]; p < least && math.Abs(p+g.plan.price(x.from, k)-price[v]) <= cheaper {
					next, least = x.to, p
				}
			}
		}
		if next < 0 {
			return way
		}
		v = next
	}
}
