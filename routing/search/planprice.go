package search

import "math"

// planPrices are the prices of arcs where one of its ways is open at all,
// inverts and pipes laid aside: what any pipe between two nodes must cost. They
// lie close together, unlike the arcs, which is what makes spreading quick.
type planPrices struct {
	*Search
	step []int     // from a node to its neighbour, by offset
	arc  []float64 // node*len(step)+k; +Inf: no way, NaN: not read yet
}

// newPlanPrices prepares the prices between nodes from which an outlet can be
// reached; each is read when first wanted.
func (g *Search) newPlanPrices() *planPrices {
	p := &planPrices{Search: g}
	for _, d := range g.offsets {
		p.step = append(p.step, d[1]*g.Cols+d[0])
	}
	return p
}

// price is what read says, kept.
func (p *planPrices) price(i, k int) float64 {
	a := &p.arc[i*len(p.step)+k]
	if math.IsNaN(*a) {
		*a = p.read(i, k)
	}
	return *a
}

// read is the price between node i and its neighbour k of offsets; +Inf where
// there is no way.
func (p *planPrices) read(i, k int) float64 {
	price, d := math.Inf(1), p.offsets[k]
	c, r := i%p.Cols+d[0], i/p.Cols+d[1]
	if c >= 0 && c < p.Cols && r < p.Rows && !math.IsInf(p.base.need[i], 1) && !math.IsInf(p.base.need[r*p.Cols+c], 1) {
		if x := p.pair(i, k); x.ok[there] || x.ok[back] {
			price = x.priced
		}
	}
	return price
}

// outTo settles the least price from a few nodes to all that are waited for, and tells
// of those farther off than the last of these how far that is.
func (p *planPrices) outTo(from []stem, waiting map[int]bool) []float64 {
	price, far := p.spread(from, math.Inf(1), nil, waiting)
	for i, c := range price {
		if c > far {
			price[i] = far
		}
	}
	return price
}

// spread settles the least price from a few nodes to every other, where that and
// the rest, if any is given, is no more than most, and where some are waited for no
// farther than the last of them; it returns how far it came. Nodes not settled are
// at +Inf or above that.
func (p *planPrices) spread(from []stem, most float64, rest []float64, waiting map[int]bool) (price []float64, far float64) {
	if p.arc == nil {
		p.arc = fill(len(p.Usable)*len(p.step), math.NaN())
	}
	price = fill(len(p.Usable), math.Inf(1))
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
			if a := p.price(v, k); !math.IsInf(a, 1) {
				reach(v+d, c+a)
			}
			if u := v - d; u >= 0 {
				if a := p.price(u, k); !math.IsInf(a, 1) {
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
