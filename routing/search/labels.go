package search

import "math"

// label is a way from the source to a node: what it costs and the invert it
// arrives with.
type label struct {
	cost, invert float64
	node         int32 // -1-k: target k reached
	from         int32 // label before, -1 at the source
}

// shortest returns the cheapest admissible way from source s to a target, as
// nodes from the first to the last, and the target; ok is false where none is.
// Labels are settled in order of cost and what the way onward costs without
// inverts; at one node a later label is worth keeping only if it lies higher.
func (g *Search) shortest(s int, targets []target, t *toGo) (nodes []int, end int, ok bool) {
	at := map[int][]int{}
	for k := range targets {
		at[targets[k].node] = append(at[targets[k].node], k)
	}
	best := fill(len(g.Usable), math.Inf(-1))
	// made is the last label made at each node: one no cheaper and no higher
	// than it need not be made.
	made := make([]label, len(g.Usable))
	for i := range made {
		made[i] = label{cost: math.Inf(1), invert: math.Inf(-1)}
	}
	var labels []label
	var q queue
	add := func(l label, onward float64) {
		if l.node >= 0 {
			m := &made[l.node]
			if l.cost >= m.cost && l.invert <= m.invert {
				return
			}
			*m = l
		}
		labels = append(labels, l)
		q.push(l.cost+onward, len(labels)-1)
	}
	for _, k := range g.links[s] {
		if k.node < 0 || g.walled(g.Sources[s].At, g.At(k.node)) {
			continue
		}
		if y, ok := k.down(g.Sources[s].Start, g.SlopeMin); ok && y >= t.need[k.node]-admit {
			add(label{k.priced, y, int32(k.node), -1}, t.price[k.node])
		}
	}
	for q.len() > 0 {
		_, i := q.pop()
		l := labels[i]
		if l.node < 0 {
			for j := l.from; j >= 0; j = labels[j].from {
				nodes = append(nodes, int(labels[j].node))
			}
			for a, b := 0, len(nodes)-1; a < b; a, b = a+1, b-1 {
				nodes[a], nodes[b] = nodes[b], nodes[a]
			}
			return nodes, int(-1 - l.node), true
		}
		v := int(l.node)
		if l.invert <= best[v] {
			continue
		}
		best[v] = l.invert
		for _, k := range at[v] {
			x := &targets[k]
			if x.outlet < 0 {
				if l.invert >= x.min-admit {
					add(label{l.cost, l.invert, int32(-1 - k), int32(i)}, 0)
				}
				continue
			}
			if y, ok := x.arc.down(l.invert, g.Outlets[x.outlet].Slope); ok && y >= x.min-admit {
				add(label{l.cost + x.arc.priced, y, int32(-1 - k), int32(i)}, 0)
			}
		}
		g.neighbours(v, func(w int, _, out *arc) {
			if y, ok := out.down(l.invert, g.SlopeMin); ok && y > best[w] && y >= t.need[w]-admit {
				add(label{l.cost + out.priced, y, int32(w), int32(i)}, t.price[w])
			}
		})
	}
	return nil, 0, false
}

// admit is the slack between the sums of the two sweeps, m: rounding alone.
const admit = 1e-7

// forward settles the highest invert attainable at every node from a source,
// highest first, and returns the best margin at a target: the invert there
// less the one it asks for; -Inf where none is reached.
func (g *Search) forward(s int, targets []target) (margin float64, end int) {
	high := fill(len(g.Usable), math.Inf(-1))
	var q queue
	for _, k := range g.links[s] {
		if k.node < 0 {
			continue
		}
		if y, ok := k.down(g.Sources[s].Start, g.SlopeMin); ok && y > high[k.node] {
			high[k.node] = y
			q.push(-y, k.node)
		}
	}
	done := make([]bool, len(g.Usable))
	for q.len() > 0 {
		_, v := q.pop()
		if done[v] {
			continue
		}
		done[v] = true
		g.neighbours(v, func(w int, _, out *arc) {
			if done[w] {
				return
			}
			if y, ok := out.down(high[v], g.SlopeMin); ok && y > high[w] {
				high[w] = y
				q.push(-y, w)
			}
		})
	}
	margin, end = math.Inf(-1), -1
	for k := range targets {
		x := &targets[k]
		y, ok := high[x.node], !math.IsInf(high[x.node], -1)
		if ok && x.outlet >= 0 {
			y, ok = x.arc.down(y, g.Outlets[x.outlet].Slope)
		}
		if ok && y-x.min > margin {
			margin, end = y-x.min, k
		}
	}
	return margin, end
}
