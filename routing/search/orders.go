package search

import (
	"cmp"
	"math"
	"slices"
)

// allOrders is the number of sources up to which every order is tried, on a
// lattice of at most allNodes: beyond, each order takes a second and more.
const (
	allOrders = 4
	allNodes  = 16_000
)

// trunks is how many of the farthest are tried as the trunk.
const trunks = 4

// orders returns the orders in which sources are tried: all for a few, else
// farthest first, least slack first, nearest first, and each of the farthest
// first.
func (g *Search) orders(wanted []int, t *toGo) [][]int {
	if len(wanted) <= allOrders && len(g.Usable) <= allNodes || len(wanted) == 1 {
		return permutations(wanted)
	}
	price, slack := map[int]float64{}, map[int]float64{}
	for _, s := range wanted {
		price[s], slack[s] = math.Inf(1), math.Inf(-1)
		for _, k := range g.links[s] {
			if k.node < 0 {
				price[s] = min(price[s], k.priced)
				continue
			}
			if !math.IsInf(t.need[k.node], 1) {
				price[s] = min(price[s], k.priced+t.price[k.node])
				slack[s] = max(slack[s], k.ceil-t.need[k.node])
			}
		}
	}
	by := func(less func(a, b int) float64) []int {
		order := slices.Clone(wanted)
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(less(a, b), 0) })
		return order
	}
	farthest := by(func(a, b int) float64 { return price[b] - price[a] })
	lists := [][]int{
		farthest,
		by(func(a, b int) float64 { return slack[a] - slack[b] }),
		by(func(a, b int) float64 { return price[a] - price[b] }),
	}
	for k := range farthest[:min(trunks, len(farthest))] { // their ways as the trunk
		lists = append(lists, slices.Concat(farthest[k:k+1], farthest[:k], farthest[k+1:]))
	}
	var orders [][]int
	for _, o := range lists {
		if !slices.ContainsFunc(orders, func(p []int) bool { return slices.Equal(o, p) }) {
			orders = append(orders, o)
		}
	}
	return orders
}

// permutations lists every order of a few things, the given one first.
func permutations(list []int) [][]int {
	if len(list) <= 1 {
		return [][]int{list}
	}
	var all [][]int
	for i, first := range list {
		rest := slices.Concat(list[:i], list[i+1:])
		for _, p := range permutations(rest) {
			all = append(all, append([]int{first}, p...))
		}
	}
	return all
}
