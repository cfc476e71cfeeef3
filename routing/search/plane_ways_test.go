package search

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// found is the best that is known of a case in the plane: a way, what it costs,
// +Inf where none is known, and the largest margin of any way; -Inf: none gets there.
type found struct {
	path   []orb.Point
	cost   float64
	margin float64
}

const (
	// latticeCosts is the missing height up to which ways are moved in the plane, m:
	// more than a lattice costs that has lost a gap beside a slope. Up to nearlyThere,
	// as moved, a finer lattice is tried, and up to nearMiss one finer still.
	latticeCosts = 0.25
	nearlyThere  = 0.03
	nearMiss     = 0.008
	// waysRaised is to how many places on the curb ways are moved in the plane, and
	// waysApart how far those are apart, m.
	waysRaised = 6
	waysApart  = 0.6
	// waysBeside is how far ways are apart that are moved to the same place, in cells.
	waysBeside = 1.5
	// nodesMost is how many nodes a finer lattice may have.
	nodesMost = 150_000
)

// wanted is what a case in the plane is asked.
type wanted int

const (
	verdict  wanted = iota // whether any way gets there, to within what a lattice finer would tell
	cheapest               // the cheapest way
	highest                // that, and the largest margin
)

// solve looks for ways on the lattice of the case and on finer ones, bent to what is
// known, and from there in the plane.
func (m *continuous) solve(w wanted) *found {
	f := &found{cost: math.Inf(1), margin: math.Inf(-1)}
	y, ok := m.atStart()
	if !ok {
		return f
	}
	if at, need, ok := m.onCurb(m.stationOf(m.start())); ok && planar.Distance(at, m.start()) < 1e-9 {
		if f.margin = y - need; Enough(f.margin) {
			f.path, f.cost = []orb.Point{m.start()}, 0
		}
	}
	var known [][]orb.Point
	for _, finer := range []float64{1, 2, 4} {
		if finer > 2 && f.path != nil ||
			f.path == nil && !math.IsInf(f.margin, -1) && f.margin < -missing(finer) {
			break
		}
		m.onLattice(m.Cell/finer, f, &known, w)
		if w == verdict && !math.IsInf(f.margin, -1) {
			break
		}
	}
	return f
}

// missing is the missing height up to which a lattice so many times as fine is tried, m.
func missing(finer float64) float64 {
	switch finer {
	case 1:
		return math.Inf(1)
	case 2:
		return nearlyThere
	}
	return nearMiss
}

// onLattice looks on a lattice bent to the ways known, and adds to them.
func (m *continuous) onLattice(step float64, f *found, known *[][]orb.Point, w wanted) {
	if n := float64(m.NX*m.NY) * (m.Cell / step) * (m.Cell / step); step < m.Cell && n*m.share(f.cost) > nodesMost {
		return
	}
	g := m.pose(step, 4, f.cost, *known)
	targets := g.targets()
	heights := g.attained(0)
	margin := math.Inf(-1)
	for k := range targets {
		margin = math.Max(margin, g.margin(heights, &targets[k]))
	}
	f.margin = math.Max(f.margin, margin)
	if w == verdict && Enough(margin) {
		return
	}
	if Enough(margin) {
		m.take(f, m.shortest(g, targets))
	}
	if f.path != nil && (w != highest || step < m.Cell) || margin < -latticeCosts {
		return
	}
	most, enough, least := waysRaised, 0.0, 0.0
	if f.path != nil {
		most = 2
	}
	if w == highest {
		enough, least = math.Inf(1), f.margin
	}
	for _, way := range g.highestWays(targets, heights, most) {
		plan, margin := Raise(context.Background(), m.planOf(way), m.rules(), 4*m.Cell, enough, least)
		f.margin = math.Max(f.margin, margin)
		switch {
		case !Enough(margin) || f.path != nil:
			continue
		case w == verdict:
			return
		}
		raised := pathOf(plan)
		m.take(f, raised)
		*known = append(*known, raised)
		bent := m.pose(step, 4, f.cost, *known)
		m.take(f, m.shortest(bent, bent.targets()))
		if w != highest {
			return
		}
	}
}

// take refines a way, unless it lies all along the best known and is no cheaper, and
// notes it where it is better.
func (m *continuous) take(f *found, path []orb.Point) {
	if path == nil || m.costOf(path) >= f.cost && m.beside(path, f.path) {
		return
	}
	if path, cost := m.refined(path, f.cost); cost < f.cost {
		f.path, f.cost = path, cost
	}
}

// costOf is what a way costs.
func (m *continuous) costOf(path []orb.Point) (sum float64) {
	for k := 1; k < len(path); k++ {
		_, priced, ok := m.line(nil, path[k-1], path[k])
		if !ok {
			return math.Inf(1)
		}
		sum += priced
	}
	return sum
}

// beside tells whether a way lies by another all along.
func (m *continuous) beside(path, other []orb.Point) bool {
	far := func(p orb.Point) bool { return planar.DistanceFrom(orb.LineString(other), p) > waysBeside*m.Cell }
	return !slices.ContainsFunc(path, far)
}

// shortest is the cheapest way on a lattice with the point of the curb it ends at;
// nil: none.
func (m *continuous) shortest(g *Search, targets []target) (path []orb.Point) {
	nodes, end, ok := g.shortest(0, targets, g.reverse(targets, math.Inf(1)))
	if !ok {
		return nil
	}
	for _, n := range nodes {
		path = append(path, g.At(n))
	}
	return append(path, g.Outlets[targets[end].outlet].At)
}

// share is the part of the case's cells that ways of less than some cost may go by.
func (m *continuous) share(most float64) float64 {
	n := 0
	for k := range m.NX * m.NY {
		if m.open(k%m.NX, k/m.NX) && m.within(m.centre(k%m.NX, k/m.NX), most) {
			n++
		}
	}
	return float64(n) / float64(m.NX*m.NY)
}

// within tells whether ways of less than most may go by a point: no metre costs less
// than one.
func (m *continuous) within(p orb.Point, most float64) bool {
	return planar.Distance(m.start(), p)+planar.DistanceFromSegment(m.target(0), m.target(len(m.Targets)-1), p) < most
}

// highestWays are the ways that come highest to targets some way apart, by what is
// attained at the nodes.
func (g *Search) highestWays(targets []target, high []float64, most int) (list [][]orb.Point) {
	type end struct {
		margin float64
		target int
	}
	var ends []end
	for k := range targets {
		if m := g.margin(high, &targets[k]); !math.IsInf(m, -1) {
			ends = append(ends, end{m, k})
		}
	}
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(b.margin, a.margin) })
	var at []orb.Point
	for _, e := range ends {
		t := &targets[e.target]
		out := g.Outlets[t.outlet].At
		if len(list) == most || slices.ContainsFunc(at, func(p orb.Point) bool { return planar.Distance(p, out) < waysApart }) {
			continue
		}
		at = append(at, out)
		list = append(list, append(g.back(t.node, high), out))
	}
	return list
}

// back is the way by which node n is attained.
func (g *Search) back(n int, high []float64) (path []orb.Point) {
	path = []orb.Point{g.At(n)}
	for n != g.links[0][0].node {
		before := -1
		g.each(n, func(u int, s *step) {
			if before >= 0 || high[u] < high[n] || math.IsInf(high[u], -1) {
				return
			}
			if a := g.arriving(n, s); a != nil {
				if y, ok := a.down(high[u], g.SlopeMin); ok && y == high[n] && (high[u] > y || g.SlopeMin > 0) {
					before = u
				}
			}
		})
		if before < 0 {
			return path[:1]
		}
		n = before
		path = append(path, g.At(n))
	}
	slices.Reverse(path)
	return path
}

// start is the place a pipe begins at.
func (m *continuous) start() orb.Point {
	return m.centre(m.Start.Cell[0], m.Start.Cell[1])
}

// startStations is the corridor there.
func (m *continuous) startStations() []constraint.Station {
	return stationsAt(nil, 0, 0, m.at(m.start()), m.bandsAlong(nil, m.start(), m.start()))
}

// atStart is the highest invert there.
func (m *continuous) atStart() (float64, bool) {
	return compress(m.startStations(), 0, 0, m.SMin).down(m.startMost(), m.SMin)
}
