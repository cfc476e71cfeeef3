package search

// Reachable returns the lattice nodes a source's pipe can come to in plan,
// inverts aside, and whether an outlet is among what it can come to.
func (g *Search) Reachable(s int) (nodes []int, open bool) {
	seen := make([]bool, len(g.Usable))
	for _, k := range g.links[s] {
		if k.node < 0 {
			open = true
			continue
		}
		seen[k.node] = true
		nodes = append(nodes, k.node)
	}
	for i := 0; i < len(nodes); i++ {
		open = open || len(g.endsOf(nodes[i])) > 0
		g.neighbours(nodes[i], func(j int, out *arc) {
			if out.length > 0 && !seen[j] {
				seen[j] = true
				nodes = append(nodes, j)
			}
		})
	}
	return nodes, open
}
