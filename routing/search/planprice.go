package search

import "math"

// planPrices are the prices of arcs where one of its ways is open at all,
// inverts and pipes laid aside: what any pipe between two nodes must cost. They
// lie close together, unlike the arcs, which is what makes spreading quick.
type planPrices struct {
	*Search
	step []int     // from a node to its neighbour, by offset
	arc  []float64 // node*len(step)+k; +Inf: no way
}

// newPlanPrices reads the prices between nodes from which an outlet can be
// reached.
func (g *Search) newPlanPrices() *planPrices {
	p := &planPrices{Search: g, arc: fill(len(g.Usable)*len(g.offsets), math.Inf(1))}
	for _, d := range g.offsets {
		p.step = append(p.step, d[1]*g.Cols+d[0])
	}
	for i := range g.Usable {
		if math.IsInf(g.base.need[i], 1) {
			continue
		}
		for k, d := range g.offsets {
			c, r := i%g.Cols+d[0], i/g.Cols+d[1]
			if c < 0 || c >= g.Cols || r >= g.Rows || math.IsInf(g.base.need[r*g.Cols+c], 1) {
				continue
			}
			if x := g.pair(i, k); x.ok[there] || x.ok[back] {
				p.arc[i*len(p.step)+k] = x.priced
			}
		}
	}
	return p
}

// spread settles the least price from a few nodes to every other, no farther
// than most, and where some are waited for no farther than the last of them; it
// returns how far it came. Nodes not settled are at +Inf or above that.
func (p *planPrices) spread(from []stem, most float64, waiting map[int]bool) (price []float64, far float64) {
	price = fill(len(p.Usable), math.Inf(1))
	var q queue
	reach := func(v int, c float64) {
		if c < price[v] && c <= most {
			price[v] = c
			q.push(c, v)
		}
	}
	for _, w := range from {
		if !math.IsInf(p.base.need[w.node], 1) {
			reach(int(w.node), w.cost)
		}
	}
	left := len(waiting)
	for q.len() > 0 {
		c, v := q.pop()
		if c > price[v] {
			continue
		}
		if waiting[v] {
			if left--; left == 0 {
				return price, c
			}
		}
		for k, d := range p.step {
			if a := p.arc[v*len(p.step)+k]; !math.IsInf(a, 1) {
				reach(v+d, c+a)
			}
			if u := v - d; u >= 0 {
				if a := p.arc[u*len(p.step)+k]; !math.IsInf(a, 1) {
					reach(u, c+a)
				}
			}
		}
	}
	return price, math.Inf(1)
}

// endsOf are the nodes of targets with what their last pipes cost.
func endsOf(targets []target) (list []stem) {
	for k := range targets {
		list = append(list, stem{cost: targets[k].arc.priced, node: int32(targets[k].node)})
	}
	return list
}
