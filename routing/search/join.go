package search

import (
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

// Join finds the trees that join every feasible source to an outlet, one tree
// to each outlet used; none where fewer than least are feasible. Few sources
// are joined exactly where the lattice allows it, more by improving what
// insertion finds. Margins are not settled here (NaN); Verdicts settles them.
// It errs where ctx ends.
func (g *Search) Join(ctx context.Context, least int) ([]Vertex, []Verdict, error) {
	g.clearWalls()
	targets := g.targets(-1)
	verdicts := make([]Verdict, len(g.Sources))
	togo := g.reverse(targets, g.highestStart())
	g.base = togo
	g.plan = g.newPlanPrices()
	var wanted []int
	for s := range g.Sources {
		verdicts[s] = Verdict{Outlet: -1, Margin: math.NaN(), Feasible: g.feasible(s, togo)}
		if verdicts[s].Feasible && (g.among == nil || slices.Contains(g.among, s)) {
			wanted = append(wanted, s)
		}
	}
	if len(wanted) < max(1, least) {
		return nil, verdicts, nil
	}
	n := &net{Search: g, wanted: wanted, targets: targets}
	f, err := n.solve(ctx)
	g.clearWalls()
	if err != nil {
		return nil, nil, err
	}
	for _, s := range f.served() {
		verdicts[s].Served = true
	}
	return g.vertices(f), verdicts, nil
}

// Apart tells what pipes between any two sources cost at least, heights aside, and from
// each to an outlet, m of plain pipe; +Inf where there is no way.
func (g *Search) Apart() (between [][]float64, out []float64) {
	g.clearWalls()
	targets := g.targets(-1)
	g.base = g.reverse(targets, g.highestStart())
	g.plan = g.newPlanPrices()
	n := &net{Search: g, targets: targets}
	for s := range g.Sources {
		n.wanted = append(n.wanted, s)
	}
	n.measure(&forest{})
	for s := range g.Sources {
		between, out = append(between, nil), append(out, math.Inf(1))
		for r := range g.Sources {
			between[s] = append(between[s], n.apart[[2]int{s, r}])
		}
		for _, k := range g.links[s] {
			if k.node < 0 {
				out[s] = min(out[s], k.priced)
			} else {
				out[s] = min(out[s], k.priced+g.base.price[k.node])
			}
		}
	}
	return between, out
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
	for k, e := range g.ends {
		if only < 0 || e.outlet == only {
			a := e.arc
			a.priced += g.OutletCost
			list = append(list, target{e.node, e.outlet, a, g.Outlets[e.outlet].MinInvert, k})
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
