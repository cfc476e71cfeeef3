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

// Joined is what Join finds.
type Joined struct {
	Vertices []Vertex  // of the trees, none where they take in too few
	Verdicts []Verdict // by source
	Most     int       // sources asked for that any trees could take in
	Price    float64   // of the pipes and outlets, m of plain pipe
}

// Served is how many sources the trees take in.
func (j *Joined) Served() (n int) {
	for _, v := range j.Verdicts {
		n += b2i(v.Served)
	}
	return n
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
// to each outlet used; none where fewer than least can be taken in. Few sources
// are joined exactly where the lattice allows it, more by improving what
// insertion finds. Margins are not settled here (NaN); Verdicts settles them.
// It errs where ctx ends.
func (g *Search) Join(ctx context.Context, least int) (j Joined, err error) {
	g.clearWalls()
	j.Verdicts = make([]Verdict, len(g.Sources))
	if len(g.Sources) == 1 && len(g.laid) == 0 {
		if t, sure := g.only(); sure {
			f := g.forest(t)
			j.Verdicts[0] = Verdict{Feasible: f.in > 0, Margin: math.NaN(), Outlet: -1, Served: f.in > 0}
			j.Vertices, j.Most, j.Price = g.vertices(f), f.in, f.price
			return j, ctx.Err()
		}
	}
	if err := g.askAll(ctx); err != nil {
		return Joined{}, err
	}
	targets := g.targets()
	togo := g.reverse(targets, g.highestStart())
	var wanted []int
	for s := range g.Sources {
		j.Verdicts[s] = Verdict{Outlet: -1, Margin: math.NaN(), Feasible: g.feasible(s, togo)}
		if j.Verdicts[s].Feasible && (g.among == nil || slices.Contains(g.among, s)) {
			wanted = append(wanted, s)
		}
	}
	if len(wanted) < max(1, least) {
		j.Most = len(wanted)
		return j, nil
	}
	groups := g.together(wanted, targets)
	if j.Most = len(groups[0].sources); j.Most < max(1, least) {
		return j, nil
	}
	best := &forest{price: math.Inf(1)}
	for _, p := range groups {
		if g.base = togo; len(p.goals) < len(targets) {
			g.base = g.reverse(p.goals, g.highestStart())
		}
		g.plan = g.newPlanPrices()
		f, err := (&net{Search: g, group: p}).solve(ctx)
		if g.clearWalls(); err != nil {
			return Joined{}, err
		}
		if f.better(best) {
			best = f
		}
	}
	for _, s := range best.served() {
		j.Verdicts[s].Served = true
	}
	j.Vertices, j.Price = g.vertices(best), best.price
	return j, nil
}

// only is the way of a search's only source: to an outlet over the lattice, or
// straight where that is all. sure is false where that is not told quickly.
func (g *Search) only() (t *grown, sure bool) {
	t = &grown{}
	nodes, end, sure := g.directly()
	if end != nil {
		g.insert(t, 0, nodes, end)
	} else if sure {
		g.direct(0, t)
	}
	g.clearWalls()
	return t, sure
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
	targets := g.targets()
	list := make([]Verdict, len(g.Sources))
	for s := range g.Sources {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		list[s] = g.verdict(s, targets)
	}
	return list, nil
}

// targets lists the ends a route may have by an outlet.
func (g *Search) targets() (list []target) {
	g.askEnds()
	for k := range g.ends {
		list = append(list, g.targetAt(k))
	}
	return list
}

// targetAt is the target that end k leads to.
func (g *Search) targetAt(k int) target {
	e := &g.ends[k]
	a := e.arc
	a.priced += g.OutletCost
	return target{e.node, e.outlet, a, g.Outlets[e.outlet].MinInvert, k}
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
