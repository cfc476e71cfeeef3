package search

import (
	"context"
	"math"
	"slices"
)

// grown is a tree in the making.
type grown struct {
	vertices []Vertex
	need     []float64 // lowest admissible invert at each vertex
	node     []int     // lattice node of each vertex, -1: a source or outlet
	in       []int     // sources taken in
	used     []int     // outlets
	price    float64

	togo *toGo // what remains to it
	told int   // vertices that togo tells of
	open bool  // whether it tells of outlets still to be had
}

func (t *grown) better(o *grown) bool {
	if len(t.in) != len(o.in) {
		return len(t.in) > len(o.in)
	}
	return t.price < o.price-admit
}

// grow inserts the sources in order: each by the way given, where it gives one,
// else by its cheapest admissible way to the trees so far or to an outlet still
// to be had. Sources that have only a straight pipe come last: nothing can join
// them.
func (g *Search) grow(ctx context.Context, order []int, targets []target, way func(t *grown, s int) ([]int, *target)) (*grown, error) {
	t := &grown{}
	g.clearWalls()
	var left []int
	for _, s := range order {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		nodes, end := way(t, s)
		if end == nil {
			if ends := g.open(t, targets); len(t.vertices) > 0 && len(ends) > 0 {
				nodes, end = g.cheapestTo(s, ends, g.ahead(t))
			}
		}
		if end != nil {
			g.insert(t, s, nodes, end)
		} else {
			left = append(left, s)
		}
	}
	for _, s := range left {
		g.direct(s, t)
	}
	return t, nil
}

// ahead is what remains from each node to the pipes laid, or to outlets while some
// are to be had: the least price, lowered by pipes laid since it was told last, and
// what outlets need, which pipes on the way to them need too.
func (g *Search) ahead(t *grown) *toGo {
	if open := len(t.used) < g.outletsMax(); t.togo == nil || open != t.open {
		t.togo, t.open, t.told = &toGo{need: g.base.need, price: fill(len(g.Usable), math.Inf(1))}, open, 0
		if open {
			copy(t.togo.price, g.base.price)
		}
	}
	var laid []stem
	for _, n := range t.node[t.told:] {
		if n >= 0 {
			laid = append(laid, stem{node: int32(n)})
		}
	}
	t.told = len(t.node)
	g.plan.lower(t.togo.price, laid, math.Inf(1), nil)
	return t.togo
}

// open lists where a new way may end: on the trees, or by an outlet not used.
func (g *Search) open(t *grown, targets []target) []target {
	list := t.joins()
	if len(t.used) < g.outletsMax() {
		for k := range targets {
			if !slices.Contains(t.used, targets[k].outlet) {
				list = append(list, targets[k])
			}
		}
	}
	return list
}

func (g *Search) cheapestTo(s int, targets []target, togo *toGo) ([]int, *target) {
	nodes, end, ok := g.shortest(s, targets, togo)
	if !ok {
		return nil, nil
	}
	return nodes, &targets[end]
}

// lowestTried is to how many last pipes the tree of lowest inverts is tried: where
// pipes bar the way to one they seldom do to others.
const lowestTried = 4

// lowestTree is the tree of the reverse sweep: every source follows the lowest
// inverts, so that none asks of those below it more than any way would. As pipes laid
// bar the way to pass them, each is swept for beside them, to join them or the last
// pipe. It is tried to all outlets at once where several may be used, else to the
// last pipes with most to spare.
func (n *net) lowestTree(ctx context.Context) (*grown, error) {
	n.clearWalls()
	best, tries := &grown{price: math.Inf(1)}, [][]target{n.goals}
	if n.outletsMax() == 1 {
		tries = nil
	}
	for _, x := range n.safest(lowestTried) {
		tries = append(tries, []target{x})
	}
	for _, own := range tries {
		t, err := n.grow(ctx, n.sources, own, func(t *grown, s int) ([]int, *target) {
			ends := n.open(t, own)
			nodes, end, ok := n.lowest(s, n.needs(ends, n.highestStart()))
			if !ok {
				return nil, nil
			}
			return nodes, &ends[end]
		})
		if err != nil {
			return nil, err
		}
		if t.better(best) {
			best = t
		}
		if len(best.in) == len(n.sources) {
			break
		}
	}
	return best, nil
}

// direct lays a source's first pipe straight to an outlet where that is all.
func (g *Search) direct(s int, t *grown) {
	if len(t.used) == g.outletsMax() {
		return
	}
	best := -1
	for i, k := range g.links[s] {
		if k.node >= 0 || slices.Contains(t.used, k.outlet) || g.walled(g.Sources[s].At, g.Outlets[k.outlet].At) {
			continue
		}
		o := &g.Outlets[k.outlet]
		if y, ok := k.down(g.Sources[s].Start, o.Slope); ok && y >= o.MinInvert-admit && (best < 0 || k.priced < g.links[s][best].priced) {
			best = i
		}
	}
	if best < 0 {
		return
	}
	k := g.links[s][best]
	at := len(t.vertices)
	g.wall(g.Sources[s].At, g.Outlets[k.outlet].At)
	t.vertices = append(t.vertices, Vertex{g.Outlets[k.outlet].At, -1, -1, k.outlet}, Vertex{g.Sources[s].At, at, s, -1})
	t.need, t.node = append(t.need, g.Outlets[k.outlet].MinInvert, math.Inf(1)), append(t.node, -1, -1)
	t.in, t.used, t.price = append(t.in, s), append(t.used, k.outlet), t.price+k.priced+g.OutletCost
}

// lowest is the way of the lowest inverts: whoever joins it finds the least
// invert that any way could ask.
func (g *Search) lowest(s int, t *toGo) (nodes []int, end int, ok bool) {
	best, at := math.Inf(-1), -1
	for i, k := range g.links[s] {
		if k.node < 0 || g.walled(g.Sources[s].At, g.At(k.node)) {
			continue
		}
		if y, ok := k.down(g.Sources[s].Start, g.SlopeMin); ok && y-t.need[k.node] > best {
			best, at = y-t.need[k.node], i
		}
	}
	if at < 0 || best < -admit {
		return nil, 0, false
	}
	for v := g.links[s][at].node; ; {
		nodes = append(nodes, v)
		n := int(t.next[v])
		if n < 0 {
			return nodes, -1 - n, true
		}
		v = n
	}
}

// joins are the vertices of the tree a new route may end at.
func (t *grown) joins() []target {
	var list []target
	for v, n := range t.node {
		if n >= 0 {
			list = append(list, target{node: n, outlet: -1, min: t.need[v]})
		}
	}
	return list
}

// insert adds a source's way to the tree and settles the inverts it needs.
func (g *Search) insert(t *grown, s int, nodes []int, end *target) {
	tail := -1 // vertex the last node of the way is, or drains to
	if end.outlet >= 0 {
		tail = len(t.vertices)
		t.vertices = append(t.vertices, Vertex{g.Outlets[end.outlet].At, -1, -1, end.outlet})
		t.need, t.node = append(t.need, end.min), append(t.node, -1)
		t.used = append(t.used, end.outlet)
		t.price += end.arc.priced
	} else {
		for v, n := range t.node {
			if n == end.node {
				tail = v
			}
		}
		nodes = nodes[:len(nodes)-1]
	}
	for i := len(nodes) - 1; i >= 0; i-- {
		a, m := end.arc, g.SlopeMin
		if t.node[tail] >= 0 {
			a = g.between(nodes[i], t.node[tail])
			t.price += a.priced
		} else {
			m = g.Outlets[end.outlet].Slope
		}
		need, ok := a.up(t.need[tail], m)
		if !ok { // the way came in by the slack of the sweeps: take it off again
			need, _ = a.up(t.need[tail]-admit, m)
		}
		g.wall(g.At(nodes[i]), t.vertices[tail].At)
		t.vertices = append(t.vertices, Vertex{g.At(nodes[i]), tail, -1, -1})
		t.need, t.node = append(t.need, need), append(t.node, nodes[i])
		tail = len(t.vertices) - 1
	}
	for _, k := range g.links[s] {
		if len(nodes) > 0 && k.node == nodes[0] || len(nodes) == 0 && k.node == end.node {
			t.price += k.priced // of its first pipe
		}
	}
	g.wall(g.Sources[s].At, t.vertices[tail].At)
	t.vertices = append(t.vertices, Vertex{g.Sources[s].At, tail, s, -1})
	t.need, t.node = append(t.need, math.Inf(1)), append(t.node, -1)
	t.in = append(t.in, s)
}

// between is the arc from node i to node j; none where a pipe laid bars it or they are
// no neighbours.
func (g *Search) between(i, j int) arc {
	cols, rows := j%g.Cols-i%g.Cols, j/g.Cols-i/g.Cols
	for k := range g.around {
		if s := &g.around[k]; s.cols == cols && s.rows == rows {
			if a := g.leaving(i, s); a != nil {
				return *a
			}
			break
		}
	}
	return arc{}
}

// forest is what has grown, one pipe a node; none where it does not hold.
func (g *Search) forest(t *grown) *forest {
	f := &forest{price: math.Inf(1)}
	at := make([]int32, len(t.vertices))
	for v, x := range t.vertices {
		switch n := t.node[v]; {
		case n >= 0 && t.node[x.Next] >= 0:
			at[v] = f.add(int32(n), at[x.Next])
		case n >= 0:
			at[v] = f.add(int32(n), int32(-1-g.endAt(n, t.vertices[x.Next].Outlet)))
		case x.Source >= 0 && t.node[x.Next] >= 0:
			s := &f.strands[at[x.Next]]
			s.from = append(s.from, entry{x.Source, g.linkTo(x.Source, t.node[x.Next], -1)})
		case x.Source >= 0:
			f.straight = append(f.straight, entry{x.Source, g.linkTo(x.Source, -1, t.vertices[x.Next].Outlet)})
		}
	}
	if !g.settle(f) {
		return &forest{price: math.Inf(1)}
	}
	return f
}

func (g *Search) endAt(node, outlet int) int {
	for _, e := range g.endsOf(node) {
		if g.ends[e].outlet == outlet {
			return int(e)
		}
	}
	panic("no such end")
}

func (g *Search) linkTo(source, node, outlet int) int {
	return slices.IndexFunc(g.links[source], func(k link) bool { return k.node == node && k.outlet == outlet })
}
