package design

import (
	"fmt"
	"slices"
	"strings"

	"curbfall/routing/network"
)

// run is pipes one after the other, by index, upstream first.
type run []int

// runsOf joins some pipes, given by index in the order of the network, into runs:
// where several come together the first goes on.
func runsOf(n *network.Network, pipes []int) []run {
	var runs []run
	ends := map[int]int{} // the run that ends at a node
	for _, k := range pipes {
		p := &n.Pipes[k]
		at, ok := ends[p.From]
		if !ok {
			at = len(runs)
			runs = append(runs, nil)
		}
		delete(ends, p.From)
		runs[at] = append(runs[at], k)
		if _, taken := ends[p.To]; !taken {
			ends[p.To] = at
		}
	}
	return runs
}

// length is how long a run is, m.
func (r run) length(n *network.Network) (sum float64) {
	for _, k := range r {
		sum += n.Pipes[k].Length
	}
	return sum
}

// named names runs by their ends and lengths.
func named(n *network.Network, runs []run) string {
	var words []string
	for _, r := range runs {
		from, to := n.Nodes[n.Pipes[r[0]].From].ID, n.Nodes[n.Pipes[r[len(r)-1]].To].ID
		words = append(words, fmt.Sprintf("%s to %s (%.1f m)", from, to, r.length(n)))
	}
	return strings.Join(words, ", ")
}

// stub is the length under which a run is not worth naming, m: a piece between two
// fittings. Common practice, no source.
const stub = 1.0

// longer leaves out the stubs.
func longer(n *network.Network, runs []run) []run {
	return slices.DeleteFunc(runs, func(r run) bool { return r.length(n) < stub })
}
