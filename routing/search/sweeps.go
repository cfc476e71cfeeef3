package search

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// Way is a way from a source to an outlet.
type Way struct {
	Points []orb.Point // between the two
	Outlet int
	Along  float64 // station along the curb the outlet has slid to, m; NaN: it stands where it is
	Margin float64 // as Verdict.Margin
}

// Arcs keeps what the law said of the arcs of a lattice, each asked when first
// wanted.
type Arcs struct {
	*Search
	asked [][]askedArc // of each node: the offsets there, then back
}

type askedArc struct {
	arc
	asked bool
}

// NewArcs prepares the arcs of p's lattice, for its interior line and slope.
func NewArcs(p Problem) *Arcs {
	if p.Reach == 0 {
		p.Reach = usualReach
	}
	a := &Arcs{Search: &Search{Problem: p, offsets: halfOffsets(p.Reach)}, asked: make([][]askedArc, len(p.Usable))}
	a.lengths = p.lengthsOf(a.offsets)
	return a
}

// from is the arc from node v to u, which lies at offset k of it or, with side
// -1, opposite.
func (a *Arcs) from(v, u, k, side int) arc {
	if a.asked[v] == nil {
		a.asked[v] = make([]askedArc, 2*len(a.offsets))
	}
	if side < 0 {
		k += len(a.offsets)
	}
	x := &a.asked[v][k]
	if !x.asked {
		*x = askedArc{a.spanning(a.At(v), a.At(u)), true}
	}
	return x.arc
}

// Sweeps answers for one source at a time, as Verdicts does for all, but asks
// the law only where the answer could change what is known. It serves one
// goroutine.
type Sweeps struct {
	arcs    *Arcs
	sources []Source
	outlets []Outlet
	highest func(p orb.Point) float64
	slope   float64   // the least of any pipe
	ceiling []float64 // by node, NaN: not asked yet
	hope    []float64 // the best margin from a node, less the invert there; NaN: not asked yet
	links   [][]link  // of each source, nil: not asked yet
	ends    map[endKey]arc
}

// endKey is a last pipe by node and outlet.
type endKey struct{ node, outlet int }

// NewSweeps prepares sweeps from sources to outlets. highest is an elevation,
// m, that no invert at p lies above.
func NewSweeps(a *Arcs, sources []Source, outlets []Outlet, highest func(p orb.Point) float64) *Sweeps {
	w := &Sweeps{
		arcs: a, sources: sources, outlets: outlets, highest: highest, slope: a.SlopeMin,
		ceiling: fill(len(a.Usable), math.NaN()), hope: fill(len(a.Usable), math.NaN()),
		links: make([][]link, len(sources)), ends: map[endKey]arc{},
	}
	for i := range outlets {
		w.slope = min(w.slope, outlets[i].Slope)
	}
	return w
}

// most is the highest invert at node n, no higher than y.
func (w *Sweeps) most(n int, y float64) float64 {
	if math.IsNaN(w.ceiling[n]) {
		w.ceiling[n] = w.highest(w.arcs.At(n))
	}
	return min(y, w.ceiling[n])
}

// margin is what a way with invert y at node n comes to at most.
func (w *Sweeps) margin(n int, y float64) float64 {
	if math.IsNaN(w.hope[n]) {
		at := w.arcs.At(n)
		w.hope[n] = math.Inf(-1)
		for i := range w.outlets {
			o := &w.outlets[i]
			w.hope[n] = max(w.hope[n], -o.MinInvert-w.slope*planar.Distance(o.At, at))
		}
	}
	return y + w.hope[n]
}

// Best returns the way of source s with the best margin; ok is false where it
// has none with a margin of least or more. The higher least, the less is asked.
func (w *Sweeps) Best(s int, least float64) (best Way, ok bool) {
	list := w.Several(s, least, 1, 0)
	if len(list) == 0 {
		return Way{}, false
	}
	return list[0], true
}

// Several returns the way of source s with the best margin, the best to an outlet
// at least so far apart from its own, m, and so on, up to most of them; none with
// a margin below least.
func (w *Sweeps) Several(s int, least float64, most int, apart float64) (list []Way) {
	least -= admit
	high, from := w.forward(s, least)
	candidates := w.candidates(high, least)
	for than := w.straight(s); len(list) < most; than = noWay {
		best, node := w.better(than, high, candidates)
		if best.Margin < least || math.IsInf(best.Margin, -1) {
			break
		}
		for ; node >= 0; node = int(from[node]) {
			best.Points = append(best.Points, w.arcs.At(node))
		}
		slices.Reverse(best.Points)
		list = append(list, best)
		candidates = slices.DeleteFunc(candidates, func(c candidate) bool {
			return planar.Distance(w.outlets[c.outlet].At, w.outlets[best.Outlet].At) < apart
		})
	}
	return list
}

// noWay is worse than any way.
var noWay = Way{Outlet: -1, Along: math.NaN(), Margin: math.Inf(-1)}

// better is the best of a way and those that end by some last pipes, with the node
// its last pipe starts at; -1: it is the one given.
func (w *Sweeps) better(than Way, high []float64, candidates []candidate) (best Way, node int) {
	best, node = than, -1
	for _, e := range candidates {
		if e.hope <= best.Margin {
			break // none of the others can be better
		}
		o := &w.outlets[e.outlet]
		if y, ok := w.end(e.node, e.outlet).down(high[e.node], o.Slope); ok && y-o.MinInvert > best.Margin {
			best.Margin, best.Outlet, node = y-o.MinInvert, e.outlet, e.node
		}
	}
	return best, node
}

// Highest is, by node, the highest invert source s comes to; -Inf where it does
// not come.
func (w *Sweeps) Highest(s int) []float64 {
	high, _ := w.forward(s, math.Inf(-1))
	return high
}

// straight is the best way of a single pipe.
func (w *Sweeps) straight(s int) Way {
	best := noWay
	for o := range w.outlets {
		x := &w.outlets[o]
		if m := w.arcs.alone(w.sources, s, x); m > best.Margin {
			best.Margin, best.Outlet = m, o
		}
	}
	return best
}

// alone is the margin of a source's first pipe that is its last, to outlet x.
func (g *Search) alone(sources []Source, s int, x *Outlet) float64 {
	if x.LeaveFrom == nil {
		return math.Inf(-1)
	}
	y, ok := g.ask(x.LeaveFrom(s), sources[s].At, x.At, x.Slope).down(sources[s].Start, x.Slope)
	if !ok {
		return math.Inf(-1)
	}
	return y - x.MinInvert
}

// forward is Search.forward without arcs that could not raise a node or come to
// the least margin; from is the node before, -1 at the source's first.
func (w *Sweeps) forward(s int, least float64) (high []float64, from []int32) {
	g := w.arcs
	high, from = fill(len(g.Usable), math.Inf(-1)), make([]int32, len(g.Usable))
	var q queue
	for _, k := range w.leave(s) {
		y, ok := k.down(w.sources[s].Start, g.SlopeMin)
		if ok && y > high[k.node] && w.margin(k.node, y) >= least {
			high[k.node], from[k.node] = y, -1
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
		for side := 1; side >= -1; side -= 2 {
			for k, d := range g.offsets {
				c, r := v%g.Cols+side*d[0], v/g.Cols+side*d[1]
				if c < 0 || c >= g.Cols || r < 0 || r >= g.Rows {
					continue
				}
				u := r*g.Cols + c
				if !g.Usable[u] || done[u] {
					continue
				}
				if most := w.most(u, high[v]-g.SlopeMin*g.lengthTo(v, u, k)); most <= high[u]+constraint.Tolerance || w.margin(u, most) < least {
					continue
				}
				if y, ok := g.from(v, u, k, side).down(high[v], g.SlopeMin); ok && y > high[u] && w.margin(u, y) >= least {
					high[u], from[u] = y, int32(v)
					q.push(-y, u)
				}
			}
		}
	}
	return high, from
}

// leave asks for the first pipes of a source.
func (w *Sweeps) leave(s int) []link {
	if w.links[s] == nil {
		g, x := w.arcs, &w.sources[s]
		w.links[s] = []link{}
		g.within(x.At, x.Reach, func(n int) {
			if a := g.ask(x.Leave, x.At, g.At(n), g.SlopeMin); a.ok {
				w.links[s] = append(w.links[s], link{n, -1, a})
			}
		})
	}
	return w.links[s]
}

// candidate is a last pipe with a margin it cannot pass.
type candidate struct {
	node, outlet int
	hope         float64
}

// candidates lists the last pipes that may come to the least margin, the most
// hopeful first.
func (w *Sweeps) candidates(high []float64, least float64) (list []candidate) {
	g := w.arcs
	for i := range w.outlets {
		o := &w.outlets[i]
		g.within(o.At, o.Reach, func(n int) {
			if math.IsInf(high[n], -1) || g.thinned(n, o.At) {
				return
			}
			q := g.At(n)
			hope := high[n] - o.Slope*math.Hypot(q[0]-o.At[0], q[1]-o.At[1]) - o.MinInvert
			if hope >= least {
				list = append(list, candidate{n, i, hope})
			}
		})
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(b.hope, a.hope), cmp.Compare(a.outlet, b.outlet), cmp.Compare(a.node, b.node))
	})
	return list
}

// end asks for a last pipe.
func (w *Sweeps) end(node, outlet int) arc {
	k := endKey{node, outlet}
	a, ok := w.ends[k]
	if !ok {
		o := &w.outlets[outlet]
		a = w.arcs.ask(o.Enter, w.arcs.At(node), o.At, o.Slope)
		w.ends[k] = a
	}
	return a
}

// Attains is the margin of a way of source s to the outlet it ends at under a
// law, m; -Inf where the law does not admit it. p needs no lattice.
func (p *Problem) Attains(s int, w Way) float64 {
	none := math.Inf(-1)
	x, o := &p.Sources[s], &p.Outlets[w.Outlet]
	g := &Search{Problem: *p}
	if len(w.Points) == 0 {
		return g.alone(p.Sources, s, o)
	}
	last := w.Points[len(w.Points)-1]
	if planar.Distance(x.At, w.Points[0]) > x.Reach || planar.Distance(last, o.At) > o.Reach {
		return none
	}
	y, ok := g.ask(x.Leave, x.At, w.Points[0], p.SlopeMin).down(x.Start, p.SlopeMin)
	for k := 1; ok && k < len(w.Points); k++ {
		y, ok = g.spanning(w.Points[k-1], w.Points[k]).down(y, p.SlopeMin)
	}
	if ok {
		y, ok = g.ask(o.Enter, last, o.At, o.Slope).down(y, o.Slope)
	}
	if !ok {
		return none
	}
	return y - o.MinInvert
}

// spanning asks for the arc from a to b in the direction a lattice's pair asks in,
// so that both say the same to the last digit.
func (g *Search) spanning(a, b orb.Point) arc {
	if b[1] > a[1] || b[1] == a[1] && b[0] > a[0] {
		return g.ask(g.Interior, a, b, g.SlopeMin)
	}
	length := math.Hypot(b[0]-a[0], b[1]-a[1])
	st, priced, ok := g.Interior(g.st[:0], b, a)
	g.st = st
	if !ok {
		return arc{}
	}
	slices.Reverse(st)
	for k := range st {
		st[k].S = length - st[k].S
	}
	return compress(st, length, priced, g.SlopeMin)
}

// Enough tells whether a margin counts as none missing.
func Enough(margin float64) bool { return margin >= -admit }
