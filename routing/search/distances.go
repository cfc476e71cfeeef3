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
	g       *Search   // as it was asked
	home    []float64 // from each node to an outlet
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
	d.home = own.plan.spread(endsOf(n.goals), math.Inf(1), nil)
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
	g, price := d.g, d.home
	for i, s := range order {
		best, first := math.Inf(1), -1
		for _, k := range g.links[s] {
			if k.node >= 0 && !math.IsInf(g.base.need[k.node], 1) && k.priced+price[k.node] < best {
				best, first = k.priced+price[k.node], k.node
			}
		}
		if first < 0 {
			return math.Inf(1)
		}
		length += best
		var laid []stem
		for _, v := range g.downhill(first, price) {
			laid = append(laid, stem{node: int32(v)})
		}
		if i == 0 {
			price = fill(len(price), math.Inf(1)) // the outlet is taken
		}
		g.plan.lower(price, laid, math.Inf(1), nil)
	}
	return length
}

// downhill is the cheapest way from a node to the ends its prices are told from.
func (g *Search) downhill(v int, price []float64) (way []int) {
	for {
		way = append(way, v)
		next, least := -1, price[v]
		for k, a := range g.plan.from(v) {
			if math.IsInf(a, 1) {
				continue
			}
			u := v + g.plan.step[k]
			if p := price[u]; p < least && math.Abs(p+a-price[v]) <= cheaper {
				next, least = u, p
			}
		}
		if next < 0 {
			return way
		}
		v = next
	}
}
