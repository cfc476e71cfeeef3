package search

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// label is a way from the source to a node: what it costs and the invert it
// arrives with.
type label struct {
	cost, invert float64
	node         int32 // -1-k: target k reached
	from         int32 // label before, -1 at the source
	dir          int32 // direction arrived by, where turns count
}

// labels are the ways made so far in one search.
type labels struct {
	*Search
	list []label
	q    queue
	dirs int // states a node
	// settled is the last label settled in each state, the highest, and made the
	// last one made there: one no cheaper and no higher than it need not be made.
	// Both are places in list; at 0 stands none.
	settled, made []int32
}

func (g *Search) newLabels() *labels {
	l := &labels{Search: g, dirs: 1, list: []label{{cost: math.Inf(1), invert: math.Inf(-1)}}}
	if g.Turn != nil {
		l.dirs = 2*len(g.offsets) + 1 // every direction, and none yet
	}
	n := len(g.Usable) * l.dirs
	l.settled, l.made = make([]int32, n), make([]int32, n)
	return l
}

func (l *labels) state(x label) int { return int(x.node)*l.dirs + int(x.dir) }

// highest is the highest invert settled in a label's state.
func (l *labels) highest(x label) float64 { return l.list[l.settled[l.state(x)]].invert }

func (l *labels) add(x label, onward float64) {
	if x.node >= 0 {
		last := &l.made[l.state(x)]
		if m := &l.list[*last]; x.cost >= m.cost && x.invert <= m.invert+l.Alike {
			return
		}
		*last = int32(len(l.list))
	}
	l.list = append(l.list, x)
	l.q.push(x.cost+onward, len(l.list)-1)
}

// labelsWorth is the share of nodes, as a divisor, with as many labels as which it
// is worth a sweep to tell what pipes laid leave open: the rest would be searched for
// ways that end nowhere.
const labelsWorth = 4

// shortest returns the cheapest admissible way from source s to a target, as
// nodes from the first to the last, and the target; ok is false where none is.
// Labels are settled in order of cost and what the way onward costs without
// inverts; in one state a later label is worth keeping only if it lies higher.
// A price on depth keeps that so: a higher way is never the dearer one.
func (g *Search) shortest(s int, targets []target, t *toGo) (nodes []int, end int, ok bool) {
	nodes, end, _, ok = g.cheapest(s, targets, t)
	return nodes, end, ok
}

// cheapest is shortest with what the way costs.
func (g *Search) cheapest(s int, targets []target, t *toGo) (nodes []int, end int, cost float64, ok bool) {
	at := map[int][]int{}
	for k := range targets {
		at[targets[k].node] = append(at[targets[k].node], k)
	}
	l := g.newLabels()
	l.start(s, t)
	exact := t.next != nil // what is needed is what remains to these targets
	for l.q.len() > 0 {
		_, i := l.q.pop()
		x := l.list[i]
		if x.node < 0 {
			return l.way(i), int(-1 - x.node), x.cost, true
		}
		if !exact && len(l.list) > len(g.Usable)/labelsWorth {
			t, exact = &toGo{need: g.needs(targets, g.highestStart()).need, price: t.price}, true
		}
		if x.invert <= l.highest(x)+l.Alike || x.invert < t.need[x.node]-admit {
			continue
		}
		l.settled[l.state(x)] = int32(i)
		for _, k := range at[int(x.node)] {
			l.finish(i, k, &targets[k])
		}
		l.goOn(i, t)
	}
	return nil, 0, 0, false
}

// directly is shortest for a search's only source without a sweep before it: the law
// is asked of what may lie on its way alone, which is a small part of a large lot.
// What is still to come costs at least the straight way to where outlets are. sure is
// false where many labels tell nothing: then a sweep tells more.
func (g *Search) directly() (nodes []int, end *target, sure bool) {
	var out orb.MultiPoint
	for _, o := range g.Outlets {
		out = append(out, o.At)
	}
	box, n := out.Bound(), len(g.Usable)
	t := &toGo{need: fill(n, math.Inf(-1)), price: make([]float64, n)}
	for i := range t.price {
		p := g.At(i)
		t.price[i] = math.Hypot(max(box.Min[0]-p[0], 0, p[0]-box.Max[0]), max(box.Min[1]-p[1], 0, p[1]-box.Max[1]))
	}
	l := g.newLabels()
	l.start(0, t)
	for l.q.len() > 0 {
		_, i := l.q.pop()
		x := l.list[i]
		if x.node < 0 {
			end := g.targetAt(int(-1 - x.node))
			return l.way(i), &end, true
		}
		if len(l.list) > min(labelsEach*n, labelsMost) {
			return nil, nil, false
		}
		if x.invert <= l.highest(x)+l.Alike {
			continue
		}
		l.settled[l.state(x)] = int32(i)
		for _, k := range g.endsOf(int(x.node)) {
			end := g.targetAt(int(k))
			l.finish(i, int(k), &end)
		}
		l.goOn(i, t)
	}
	return nil, nil, true
}

// labelsEach is how many labels a node are made without a sweep, labelsMost how many
// in all: 64 MB of them. Of lots of 3e4 nodes some take four a node, most one.
const (
	labelsEach = 6
	labelsMost = 2_000_000
)

// start makes the labels of a source's first pipes.
func (l *labels) start(s int, t *toGo) {
	for _, k := range l.links[s] {
		if k.node < 0 || l.walled(l.Sources[s].At, l.At(k.node)) {
			continue
		}
		if y, ok := k.down(l.Sources[s].Start, l.SlopeMin); ok && y >= t.need[k.node]-admit {
			l.add(label{k.priced, y, int32(k.node), -1, int32(l.dirs - 1)}, t.price[k.node])
		}
	}
}

// finish ends label i at target k if its invert does.
func (l *labels) finish(i, k int, x *target) {
	from := l.list[i]
	y, cost := from.invert, from.cost
	if x.outlet >= 0 {
		var ok bool
		if y, ok = x.arc.down(y, l.Outlets[x.outlet].Slope); !ok {
			return
		}
		cost += x.arc.priced
	}
	if y >= x.min-admit {
		l.add(label{cost, y, int32(-1 - k), int32(i), 0}, 0)
	}
}

// goOn makes the labels of a settled one's neighbours.
func (l *labels) goOn(i int, t *toGo) {
	from := l.list[i]
	v := int(from.node)
	l.each(v, func(w int, s *step) {
		if !l.hopeful(from, w, l.lengthTo(v, w, s.offset), t) {
			return
		}
		out := l.leaving(v, s)
		if out == nil {
			return
		}
		y, ok := out.down(from.invert, l.SlopeMin)
		if !ok || y < t.need[w]-admit {
			return
		}
		x := label{cost: from.cost + out.priced, invert: y, node: int32(w), from: int32(i)}
		if l.Depth != nil {
			x.cost += l.Depth(v, w, from.invert, y, out.length)
		}
		if l.Turn != nil {
			x.dir = l.direction(v, w)
			if from.from >= 0 { // the first step has no turn
				price, ok := l.turn(from, w)
				if !ok {
					return
				}
				x.cost += price
			}
		}
		if y > l.highest(x)+l.Alike {
			l.add(x, t.price[w])
		}
	})
}

// hopeful tells whether a label might be made at node w for one whose arc there has a
// length, m: the arc costs no less, and comes no higher than at its least slope or
// than any invert at w.
func (l *labels) hopeful(from label, w int, length float64, t *toGo) bool {
	_, high := l.span(w)
	y := min(from.invert-l.SlopeMin*length, high+constraint.Tolerance)
	if y < t.need[w]-admit {
		return false
	}
	if l.dirs > 1 {
		return true // by which direction it comes is told by the arc
	}
	if y <= l.list[l.settled[w]].invert+l.Alike {
		return false
	}
	m := &l.list[l.made[w]]
	return from.cost+length < m.cost || y > m.invert+l.Alike
}

// turn prices the change of direction at a label's node toward node w.
func (l *labels) turn(from label, w int) (float64, bool) {
	return l.Turn(l.At(int(l.list[from.from].node)), l.At(int(from.node)), l.At(w))
}

// direction is the index of the step from node v to node w.
func (l *labels) direction(v, w int) int32 {
	d := [2]int{w%l.Cols - v%l.Cols, w/l.Cols - v/l.Cols}
	for k, o := range l.offsets {
		if o == d {
			return int32(k)
		}
		if o[0] == -d[0] && o[1] == -d[1] {
			return int32(len(l.offsets) + k)
		}
	}
	panic("not a neighbour")
}

// way is the nodes of a label that reached a target, from the first.
func (l *labels) way(i int) (nodes []int) {
	for j := l.list[i].from; j >= 0; j = l.list[j].from {
		nodes = append(nodes, int(l.list[j].node))
	}
	slices.Reverse(nodes)
	return nodes
}

// admit is the slack between the sums of the two sweeps, m: rounding alone.
const admit = 1e-7

// forward returns the best margin of source s at a target: the highest invert
// attainable there less the one it asks for; -Inf where none is reached.
func (g *Search) forward(s int, targets []target) (margin float64, end int) {
	margin, end = math.Inf(-1), -1
	high := g.attained(s)
	for k := range targets {
		if m := g.margin(high, &targets[k]); m > margin {
			margin, end = m, k
		}
	}
	return margin, end
}

// margin is what is attained at a target less what it asks for; -Inf where it is
// not reached.
func (g *Search) margin(high []float64, x *target) float64 {
	y, ok := high[x.node], !math.IsInf(high[x.node], -1)
	if ok && x.outlet >= 0 {
		y, ok = x.arc.down(y, g.Outlets[x.outlet].Slope)
	}
	if !ok {
		return math.Inf(-1)
	}
	return y - x.min
}

// attained settles the highest invert attainable at every node from source s,
// highest first; -Inf: none.
func (g *Search) attained(s int) []float64 {
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
	for q.len() > 0 {
		y, v := q.pop()
		y = -y
		if y < high[v] {
			continue // settled before
		}
		g.each(v, func(w int, s *step) {
			// What no arc could better is not asked for.
			if y-g.SlopeMin*g.lengthTo(v, w, s.offset) <= high[w] {
				return
			}
			if _, most := g.span(w); most <= high[w] {
				return
			}
			a := g.leaving(v, s)
			if a == nil {
				return
			}
			if y, ok := a.down(y, g.SlopeMin); ok && y > high[w] {
				high[w] = y
				q.push(-y, w)
			}
		})
	}
	return high
}
