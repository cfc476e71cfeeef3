package search

import "math"

// planPrices are the prices of arcs where one of its ways is open at all,
// inverts and pipes laid aside: what any pipe between two nodes must cost. They
// lie close together, unlike the arcs, which is what makes spreading quick.
type planPrices struct {
	*Search
	step []int     // from a node to its neighbours, by offset, then against it
	arc  []float64 // to them from each node; +Inf: no way, NaN: not read yet
}

// newPlanPrices prepares the prices between nodes from which an outlet can be
// reached; a node's are read when first wanted.
func (g *Search) newPlanPrices() *planPrices {
	p := &planPrices{Search: g}
	for _, sign := range []int{1, -1} {
		for _, d := range g.offsets {
			p.step = append(p.step, sign*(d[1]*g.Cols+d[0]))
		}
	}
	return p
}

// from are the prices from node v to its neighbours, in the order of step.
func (p *planPrices) from(v int) []float64 {
	n := len(p.step)
	if p.arc == nil {
		p.arc = fill(len(p.Usable)*n, math.NaN())
	}
	row := p.arc[v*n : (v+1)*n]
	if math.IsNaN(row[0]) {
		for k, d := range p.offsets {
			row[k] = p.read(v, k)
			row[k+n/2] = math.Inf(1)
			if c, r := v%p.Cols-d[0], v/p.Cols-d[1]; c >= 0 && c < p.Cols && r >= 0 {
				row[k+n/2] = p.read(r*p.Cols+c, k)
			}
		}
	}
	return row
}

// read is the price between node i and its neighbour k of offsets; +Inf where
// there is no way.
func (p *planPrices) read(i, k int) float64 {
	d := p.offsets[k]
	c, r := i%p.Cols+d[0], i/p.Cols+d[1]
	if c >= 0 && c < p.Cols && r < p.Rows && !math.IsInf(p.base.need[i], 1) && !math.IsInf(p.base.need[r*p.Cols+c], 1) {
		if x := p.pair(i, k); x.ok[there] || x.ok[back] {
			return x.priced
		}
	}
	return math.Inf(1)
}

// spread settles the least price from a few nodes to every other, where that and
// the rest, if any is given, is no more than most; other nodes are at +Inf.
func (p *planPrices) spread(from []stem, most float64, rest []float64) (price []float64) {
	price = fill(len(p.Usable), math.Inf(1))
	p.lower(price, from, most, rest)
	return price
}

// lower is spread into prices from other nodes: what comes cheaper from these is put
// in their place.
func (p *planPrices) lower(price []float64, from []stem, most float64, rest []float64) {
	var q queue
	reach := func(v int, c float64) {
		if c < price[v] && c <= most && (rest == nil || c+rest[v] <= most) {
			price[v] = c
			q.push(c, v)
		}
	}
	for _, w := range from {
		if !math.IsInf(p.base.need[w.node], 1) {
			reach(int(w.node), w.cost)
		}
	}
	for q.len() > 0 {
		c, v := q.pop()
		if c > price[v] {
			continue
		}
		for k, a := range p.from(v) {
			if !math.IsInf(a, 1) {
				reach(v+p.step[k], c+a)
			}
		}
	}
}

// endsOf are the nodes of targets with what their last pipes cost.
func endsOf(targets []target) (list []stem) {
	for k := range targets {
		list = append(list, stem{cost: targets[k].arc.priced, node: int32(targets[k].node)})
	}
	return list
}
