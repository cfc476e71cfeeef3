package search

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Vertex is a point of a tree of routes.
type Vertex struct {
	At     orb.Point
	Next   int // vertex downstream, -1 at an outlet
	Source int // -1 where none
	Outlet int // -1 where none
}

// Verdict says whether a source reaches an outlet, by its own sweep.
type Verdict struct {
	Feasible bool
	// Margin is the invert attainable at the best outlet less the one asked for
	// there, m: negative is the missing height; -Inf where no way exists at all.
	Margin float64
	Outlet int // the best outlet, -1 where none
	// Served tells that the tree takes it in.
	Served bool
}

// Join finds the tree that joins every feasible source to one outlet; none
// where fewer than least are feasible. Margins are not settled here (NaN);
// Verdicts settles them.
func (g *Search) Join(ctx context.Context, least int) ([]Vertex, []Verdict, error) {
	targets := g.targets(-1)
	verdicts := make([]Verdict, len(g.Sources))
	togo := g.reverse(targets, g.highestStart())
	g.base = togo
	var wanted []int
	for s := range g.Sources {
		verdicts[s] = Verdict{Outlet: -1, Margin: math.NaN(), Feasible: g.feasible(s, togo)}
		if verdicts[s].Feasible {
			wanted = append(wanted, s)
		}
	}
	if len(wanted) < max(1, least) {
		return nil, verdicts, nil
	}
	best := &grown{price: math.Inf(1)}
	for _, order := range g.orders(wanted, togo) {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if t := g.grow(order, func(t *grown, s int) ([]int, *target) {
			if len(t.vertices) > 0 {
				return nil, nil // by the tree
			}
			return g.cheapestTo(s, targets, togo)
		}); t.better(best) {
			best = t
		}
	}
	if len(best.in) < len(wanted) {
		if t := g.lowestTree(wanted, targets, togo); t.better(best) {
			best = t
		}
	}
	for _, s := range best.in {
		verdicts[s].Served = true
	}
	return best.vertices, verdicts, nil
}

// feasible tells whether a source can be drained, by the reverse sweep.
func (g *Search) feasible(s int, t *toGo) bool {
	for _, k := range g.links[s] {
		if k.node < 0 {
			o := &g.Outlets[k.outlet]
			if y, ok := k.down(g.Sources[s].Start, o.Slope); ok && y >= o.MinInvert-admit {
				return true
			}
		} else if y, ok := k.down(g.Sources[s].Start, g.SlopeMin); ok && y >= t.need[k.node]-admit {
			return true
		}
	}
	return false
}

// Verdicts tells of each source, by its own sweep, whether it can be drained
// and by what margin.
func (g *Search) Verdicts(ctx context.Context) ([]Verdict, error) {
	targets := g.targets(-1)
	list := make([]Verdict, len(g.Sources))
	for s := range g.Sources {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		list[s] = g.verdict(s, targets)
	}
	return list, nil
}

// targets lists the ends a route may have by outlet; only one outlet's where
// only is given.
func (g *Search) targets(only int) []target {
	var list []target
	for _, e := range g.ends {
		if only < 0 || e.outlet == only {
			list = append(list, target{e.node, e.outlet, e.arc, g.Outlets[e.outlet].MinInvert})
		}
	}
	return list
}

func (g *Search) verdict(s int, targets []target) Verdict {
	v := Verdict{Outlet: -1}
	margin, end := g.forward(s, targets)
	v.Margin = margin
	if end >= 0 {
		v.Outlet = targets[end].outlet
	}
	for _, k := range g.links[s] {
		if k.node < 0 {
			o := &g.Outlets[k.outlet]
			if y, ok := k.down(g.Sources[s].Start, o.Slope); ok && y-o.MinInvert > v.Margin {
				v.Margin, v.Outlet = y-o.MinInvert, k.outlet
			}
		}
	}
	v.Feasible = v.Margin >= -admit
	return v
}

// grown is a tree in the making.
type grown struct {
	vertices []Vertex
	need     []float64 // lowest admissible invert at each vertex
	node     []int     // lattice node of each vertex, -1: a source or outlet
	in       []int     // sources taken in
	price    float64
}

func (t *grown) better(o *grown) bool {
	if len(t.in) != len(o.in) {
		return len(t.in) > len(o.in)
	}
	return t.price < o.price-admit
}

// allOrders is the number of sources up to which every order is tried.
const allOrders = 4

// orders returns the orders in which sources are tried: all for a few, else
// farthest first, least slack first, nearest first, and each one first.
func (g *Search) orders(wanted []int, t *toGo) [][]int {
	if len(wanted) <= allOrders {
		return permutations(wanted)
	}
	price, slack := map[int]float64{}, map[int]float64{}
	for _, s := range wanted {
		price[s], slack[s] = math.Inf(1), math.Inf(-1)
		for _, k := range g.links[s] {
			if k.node < 0 {
				price[s] = math.Min(price[s], k.priced)
				continue
			}
			if !math.IsInf(t.need[k.node], 1) {
				price[s] = math.Min(price[s], k.priced+t.price[k.node])
				slack[s] = math.Max(slack[s], k.ceil-t.need[k.node])
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
	for k := range farthest { // each one's way as the trunk
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

// grow inserts the sources in order: the first by the way given, later ones by
// it too where it says so, else each by its cheapest admissible way to the tree
// so far.
func (g *Search) grow(order []int, way func(t *grown, s int) ([]int, *target)) *grown {
	t := &grown{}
	g.clearWalls()
	for _, s := range order {
		nodes, end := way(t, s)
		if end == nil && len(t.vertices) > 0 {
			ends := t.joins()
			nodes, end = g.cheapestTo(s, ends, g.near(s, ends))
		}
		if end != nil {
			g.insert(t, s, nodes, end)
		} else if len(t.vertices) == 0 {
			g.direct(s, t)
		}
	}
	return t
}

func (g *Search) cheapestTo(s int, targets []target, togo *toGo) ([]int, *target) {
	nodes, end, ok := g.shortest(s, targets, togo)
	if !ok {
		return nil, nil
	}
	return nodes, &targets[end]
}

// lowestTree is the tree of the reverse sweep to one outlet: every source
// follows the lowest inverts, so that none asks of those below it more than any
// way would. It is tried to each outlet some source's own lowest way ends at.
func (g *Search) lowestTree(wanted []int, targets []target, togo *toGo) *grown {
	best := &grown{price: math.Inf(1)}
	tried := map[int]bool{}
	for _, s := range wanted {
		_, end, ok := g.lowest(s, targets, togo)
		if !ok || tried[targets[end].outlet] {
			continue
		}
		tried[targets[end].outlet] = true
		own := g.targets(targets[end].outlet)
		down := g.reverse(own, g.highestStart())
		t := g.grow(wanted, func(t *grown, s int) ([]int, *target) {
			nodes, end, ok := g.lowest(s, own, down)
			if !ok {
				return nil, nil
			}
			return g.cut(t, s, nodes, &own[end])
		})
		if t.better(best) {
			best = t
		}
	}
	return best
}

// cut ends a way where it comes to the tree; none where it would cross it.
func (g *Search) cut(t *grown, s int, nodes []int, end *target) ([]int, *target) {
	if g.walled(g.Sources[s].At, g.At(nodes[0])) {
		return nil, nil
	}
	for i, n := range nodes {
		if v := slices.Index(t.node, n); v >= 0 {
			return nodes[:i+1], &target{node: n, outlet: -1, min: t.need[v]}
		}
		if i > 0 && g.between(nodes[i-1], n).length == 0 { // barred by a pipe laid
			return nil, nil
		}
	}
	if len(t.vertices) > 0 && g.walled(g.At(end.node), g.Outlets[end.outlet].At) {
		return nil, nil
	}
	return nodes, end
}

// near is what remains from each point to pipes already laid: the price, found
// only as far out as the source's first pipes reach, and what outlets need, which
// pipes on the way to them need too.
func (g *Search) near(s int, ends []target) *toGo {
	t := &toGo{need: g.base.need, price: fill(len(g.Usable), math.Inf(1))}
	waiting := map[int]bool{}
	for _, k := range g.links[s] {
		if k.node >= 0 && !math.IsInf(t.need[k.node], 1) {
			waiting[k.node] = true
		}
	}
	far := g.prices(t, ends, waiting)
	for i, p := range t.price {
		if p > far {
			t.price[i] = far
		}
	}
	return t
}

// direct lays a source's first pipe straight to an outlet where that is all.
func (g *Search) direct(s int, t *grown) bool {
	best := -1
	for i, k := range g.links[s] {
		if k.node >= 0 {
			continue
		}
		o := &g.Outlets[k.outlet]
		if y, ok := k.down(g.Sources[s].Start, o.Slope); ok && y >= o.MinInvert-admit && (best < 0 || k.priced < g.links[s][best].priced) {
			best = i
		}
	}
	if best < 0 {
		return false
	}
	k := g.links[s][best]
	t.vertices = []Vertex{{g.Sources[s].At, 1, s, -1}, {g.Outlets[k.outlet].At, -1, -1, k.outlet}}
	t.need, t.node = []float64{math.Inf(-1), g.Outlets[k.outlet].MinInvert}, []int{-1, -1}
	t.in, t.price = []int{s}, k.priced
	return true
}

// lowest is the way of the lowest inverts: whoever joins it finds the least
// invert that any way could ask.
func (g *Search) lowest(s int, targets []target, t *toGo) (nodes []int, end int, ok bool) {
	best, at := math.Inf(-1), -1
	for i, k := range g.links[s] {
		if k.node < 0 {
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

func (g *Search) between(i, j int) (a arc) {
	g.neighbours(i, func(k int, _, out *arc) {
		if k == j {
			a = *out
		}
	})
	return a
}

// wall bars the arcs that cross or touch a pipe laid, but at its ends.
func (g *Search) wall(a, b orb.Point) {
	g.walls = append(g.walls, wall{a, b})
	reach := float64(g.Reach) * g.Step
	c0, c1 := g.colRange(math.Min(a[0], b[0])-reach, math.Max(a[0], b[0])+reach)
	r0, r1 := g.rowRange(math.Min(a[1], b[1])-reach, math.Max(a[1], b[1])+reach)
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			i := row*g.Cols + col
			if !g.Usable[i] {
				continue
			}
			for k, d := range g.offsets {
				p := &g.arcs[i*len(g.offsets)+k]
				q := orb.Point{g.At(i)[0] + float64(d[0])*g.Step, g.At(i)[1] + float64(d[1])*g.Step}
				if !p.crossed && meets(g.At(i), q, a, b) {
					p.crossed = true
				}
			}
		}
	}
}

// walled tells whether a line meets a pipe laid.
func (g *Search) walled(a, b orb.Point) bool {
	for _, w := range g.walls {
		if meets(a, b, w.a, w.b) {
			return true
		}
	}
	return false
}

func (g *Search) clearWalls() {
	g.walls = nil
	for i := range g.arcs {
		g.arcs[i].crossed = false
	}
}

func (g *Search) colRange(x0, x1 float64) (int, int) {
	return max(0, int((x0-g.Origin[0])/g.Step)), min(g.Cols-1, int((x1-g.Origin[0])/g.Step))
}

func (g *Search) rowRange(y0, y1 float64) (int, int) {
	return max(0, int((y0-g.Origin[1])/g.Step)), min(g.Rows-1, int((y1-g.Origin[1])/g.Step))
}

// apart is how far pipes that do not join must pass each other, m.
const apart = 1e-6

// meets tells whether two segments come together anywhere but at a common end.
func meets(a, b, p, q orb.Point) bool {
	if a == p && b == q || a == q && b == p {
		return false
	}
	side := func(o, e, x orb.Point) float64 {
		return ((e[0]-o[0])*(x[1]-o[1]) - (e[1]-o[1])*(x[0]-o[0])) / math.Hypot(e[0]-o[0], e[1]-o[1])
	}
	on := func(x, o, e orb.Point) bool { // x lies inside segment o e
		if x == o || x == e || math.Abs(side(o, e, x)) > apart {
			return false
		}
		return (x[0]-o[0])*(x[0]-e[0])+(x[1]-o[1])*(x[1]-e[1]) < 0
	}
	if on(a, p, q) || on(b, p, q) || on(p, a, b) || on(q, a, b) {
		return true
	}
	if a == p || a == q || b == p || b == q {
		return false
	}
	return side(a, b, p)*side(a, b, q) < 0 && side(p, q, a)*side(p, q, b) < 0
}
