package search

import (
	"cmp"
	"math"
	"slices"
)

// group are sources that one last pipe can take in together, as far as heights tell:
// each comes to it alone with height enough, and where all follow the lowest inverts
// none asks more of those below it than it would alone.
type group struct {
	sources []int    // in rising order
	goals   []target // last pipes that take them in
}

// together are the largest groups of sources: no design with one outlet takes in
// more. Where more outlets may be used it is one group of all.
func (g *Search) together(wanted []int, targets []target) []group {
	if len(wanted) == 1 || g.outletsMax() > 1 {
		return []group{{wanted, targets}}
	}
	comes := make([][]bool, len(targets)) // whether each wanted source comes to it
	for k := range comes {
		comes[k] = make([]bool, len(wanted))
	}
	for i, s := range wanted {
		high := g.attained(s)
		for k := range targets {
			comes[k][i] = g.margin(high, &targets[k]) >= -admit
		}
	}
	most := 1 // a first pipe that is the last takes in its own
	for _, c := range comes {
		most = max(most, trues(c))
	}
	var list []group
	if most == 1 {
		for _, s := range wanted {
			list = append(list, group{sources: []int{s}})
		}
	}
	for k, c := range comes {
		if trues(c) < most {
			continue
		}
		var sources []int
		for i, s := range wanted {
			if c[i] {
				sources = append(sources, s)
			}
		}
		n := slices.IndexFunc(list, func(x group) bool { return slices.Equal(x.sources, sources) })
		if n < 0 {
			n, list = len(list), append(list, group{sources: sources})
		}
		list[n].goals = append(list[n].goals, targets[k])
	}
	return list
}

func trues(list []bool) (n int) {
	for _, x := range list {
		n += b2i(x)
	}
	return n
}

// safest are the goals of a group with most to spare for the source that has least,
// one to an outlet, the best few first.
func (n *net) safest(few int) (list []target) {
	spare := fill(len(n.goals), math.Inf(1))
	for _, s := range n.sources {
		high := n.attained(s)
		for k := range n.goals {
			spare[k] = min(spare[k], n.margin(high, &n.goals[k]))
		}
	}
	order := make([]int, len(n.goals))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(spare[b], spare[a]) })
	for _, k := range order {
		if x := n.goals[k]; len(list) < few && !slices.ContainsFunc(list, func(y target) bool { return y.outlet == x.outlet }) {
			list = append(list, x)
		}
	}
	return list
}
