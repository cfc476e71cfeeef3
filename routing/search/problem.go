package search

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// Lattice is a square grid of points in site metres, but for those it is bent at.
type Lattice struct {
	Origin     orb.Point // of node 0
	Step       float64
	Cols, Rows int
	Usable     []bool // len Cols*Rows
	bent       []bent // by node, nil where none is
}

// At is the point of node i.
func (l *Lattice) At(i int) orb.Point {
	if l.bent != nil && l.bent[i].is {
		return l.bent[i].at
	}
	return l.own(i)
}

// own is the place node i has in the grid.
func (l *Lattice) own(i int) orb.Point {
	return orb.Point{l.Origin[0] + float64(i%l.Cols)*l.Step, l.Origin[1] + float64(i/l.Cols)*l.Step}
}

// Source is an inflow that must reach an outlet.
type Source struct {
	At    orb.Point
	Start float64 // highest invert there
	Leave constraint.Line
	Reach float64 // longest first pipe, m
}

// Outlet is a place a route may end.
type Outlet struct {
	At        orb.Point
	MinInvert float64
	Enter     constraint.Line
	Slope     float64                          // of the last pipe
	Reach     float64                          // longest last pipe, m
	LeaveFrom func(source int) constraint.Line // for a first pipe that is the last
}

// Problem is one lot for one bore. Its outlets may be changed between
// questions; what is known of the ground between points is kept.
type Problem struct {
	Lattice
	// Reach is how many steps the longest arc takes along a side: 1 gives 8
	// neighbours, 2 16, 3 32, 4 48; 0 is taken as usualReach.
	Reach    int
	SlopeMin float64
	// Interior prices no line at less than its length.
	Interior constraint.Line
	// Another, where given, is an Interior for one more goroutine.
	Another func() constraint.Line
	// Span, where given, is two elevations, m, that no invert of a pipe through p
	// lies outside of: what could come to nothing is not asked of Interior.
	Span func(p orb.Point) (low, high float64)
	// Forget asks Interior anew every time: a lattice of a million nodes has
	// arcs to fill a gigabyte, and one route comes by most of them once or never.
	Forget  bool
	Sources []Source
	Outlets []Outlet
	// OutletsMax is how many outlets one design may use, 0: one. OutletCost is the
	// price of each, in metres of plain pipe.
	OutletsMax int
	OutletCost float64
	// MayCross lets pipes pass each other between nodes without joining. On a lot
	// they may not.
	MayCross bool
	// Alike is the difference in height below which two ways to a point are not
	// told apart, m: 0 is exact, more is quicker where height is scarce.
	Alike float64
	// Effort is how many networks are improved where none is found exactly, each
	// grown in another order; 0 is taken as usualEffort.
	Effort int
}

// usualReach is the reach of a search that is given none.
const usualReach = 4

// halfOffsets lists half of the neighbours; the others are their opposites.
func halfOffsets(reach int) (list [][2]int) {
	for dy := 0; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			if dy == 0 && dx <= 0 || gcd(abs(dx), dy) != 1 || max(abs(dx), dy) > reach {
				continue
			}
			list = append(list, [2]int{dx, dy})
		}
	}
	return list
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Search answers questions about one problem, keeping the arcs it has asked
// the law for. It serves one goroutine.
type Search struct {
	Problem
	// Turn prices a change of direction at b and may forbid it, Depth the depth
	// of an arc between nodes with the inverts at its ends; nil: neither counts.
	Turn  func(a, b, c orb.Point) (price float64, ok bool)
	Depth func(from, to int, invertFrom, invertTo, length float64) float64

	among   []int   // sources Join is asked for, nil: all
	laid    []wall  // pipes of other systems
	shut    []int   // nodes they stand at
	off     []*link // first and last pipes that would meet them
	offsets [][2]int
	arcs    [][]arcPair // by node, nil where none was wanted yet, and offset
	first   [][]link    // of each source, to nodes
	links   [][]link    // of each source, to nodes and then to outlets
	*Ends
	walls   []wall              // pipes already laid
	across  map[wall][]*arcPair // arcs that pipes bar, of those between usable nodes
	barred  []*arcPair          // arcs they bar
	lengths []float64           // of the offsets, m
	around  []step              // to all neighbours
	spans   [][2]float64        // by node, zeros: not asked yet
	scratch arcPair             // where none are kept
	last    arc                 // a neighbour's, as it is told

	stations map[stationed]*[]constraint.Station
	whole    bool        // all arcs were asked for
	plan     *planPrices // what pipes between nodes cost at least
	base     *toGo       // what remains to the outlets
	st       []constraint.Station
}

// arcPair are the arcs between two nodes, there and back, as they are kept: in
// 48 bytes without a pointer, for a lattice has a dozen of them a node.
type arcPair struct {
	priced     float64
	ceil, need [2]float64
	asked      bool
	open       bool // the law lets a pipe lie there, with some inverts or with none
	ok         [2]bool
	ways       [2]bool // the arc has stations of its own to walk, in Search.stations
	crossed    bool
}

// There and back are the directions of a pair.
const (
	there = iota
	back
)

// stationed is an arc whose stations are kept.
type stationed struct{ node, offset, direction int }

// link joins a node to a source or an outlet.
type link struct {
	node, outlet int
	arc
}

type wall struct{ a, b orb.Point }

// New prepares a search.
func New(p Problem) *Search {
	if p.Reach == 0 {
		p.Reach = usualReach
	}
	g := &Search{Problem: p, offsets: halfOffsets(p.Reach), stations: map[stationed]*[]constraint.Station{}, across: map[wall][]*arcPair{}}
	g.lengths = p.lengthsOf(g.offsets)
	g.around = g.steps()
	if !g.Forget {
		g.arcs = make([][]arcPair, len(p.Usable))
	}
	for i := range g.Sources {
		g.first = append(g.first, g.firstPipes(&g.Sources[i]))
	}
	g.UseEnds(g.EndsAt(p.Outlets))
	return g
}

// lengthsOf are the lengths of offsets, m.
func (l *Lattice) lengthsOf(offsets [][2]int) (list []float64) {
	for _, d := range offsets {
		list = append(list, l.Step*math.Hypot(float64(d[0]), float64(d[1])))
	}
	return list
}

// Ends are outlets with what the law says of the last pipes to them, asked when they
// are first wanted. They may be kept for further questions.
type Ends struct {
	outlets []Outlet
	ends    []link    // last pipes, by outlet and then by node once all are asked for
	byNode  [][]int32 // ends of each node
	asked   []bool    // by node
	all     bool      // nothing is left to ask
	alone   [][]link  // of each source: first pipes that are the last
}

// EndsAt are the last pipes to outlets.
func (g *Search) EndsAt(outlets []Outlet) *Ends {
	n := len(g.Usable)
	e := &Ends{outlets: outlets, byNode: make([][]int32, n), asked: make([]bool, n), alone: make([][]link, len(g.Sources))}
	for i := range outlets {
		for s := range g.Sources {
			g.linkAlone(e, s, i)
		}
	}
	return e
}

// UseEnds changes where routes may end.
func (g *Search) UseEnds(e *Ends) {
	g.Outlets, g.Ends = e.outlets, e
	g.links = make([][]link, len(g.Sources))
	for s := range g.links {
		g.links[s] = slices.Concat(g.first[s], e.alone[s])
	}
}

// endsOf are the last pipes from node n, by number.
func (g *Search) endsOf(n int) []int32 {
	if !g.all && !g.asked[n] {
		g.asked[n] = true
		for i := range g.Outlets {
			o := &g.Outlets[i]
			if q := g.At(n); g.Usable[n] && q != o.At && planar.Distance(q, o.At) <= o.Reach {
				g.linkEnd(n, i)
			}
		}
	}
	return g.byNode[n]
}

// askEnds asks for all last pipes.
func (g *Search) askEnds() {
	if g.all {
		return
	}
	for i := range g.Outlets {
		o := &g.Outlets[i]
		g.within(o.At, o.Reach, func(n int) {
			if !g.asked[n] {
				g.linkEnd(n, i)
			}
		})
	}
	g.all = true
	slices.SortFunc(g.ends, func(a, b link) int { return cmp.Or(a.outlet-b.outlet, a.node-b.node) })
	clear(g.byNode)
	for k, e := range g.ends {
		g.byNode[e.node] = append(g.byNode[e.node], int32(k))
	}
}

// within calls f for every usable node within r of p.
func (l *Lattice) within(p orb.Point, r float64, f func(i int)) {
	box := r + l.stray()
	c0 := max(0, int(math.Ceil((p[0]-box-l.Origin[0])/l.Step)))
	c1 := min(l.Cols-1, int(math.Floor((p[0]+box-l.Origin[0])/l.Step)))
	r0 := max(0, int(math.Ceil((p[1]-box-l.Origin[1])/l.Step)))
	r1 := min(l.Rows-1, int(math.Floor((p[1]+box-l.Origin[1])/l.Step)))
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			i := row*l.Cols + col
			if q := l.At(i); l.Usable[i] && math.Hypot(q[0]-p[0], q[1]-p[1]) <= r && q != p {
				f(i)
			}
		}
	}
}

func (g *Search) ask(line constraint.Line, a, b orb.Point, m float64) arc {
	var priced float64
	var ok bool
	g.st, priced, ok = line(g.st[:0], a, b)
	if !ok {
		return arc{}
	}
	return compress(g.st, math.Hypot(b[0]-a[0], b[1]-a[1]), priced, m)
}

// linkEnd asks for the last pipe from node n to outlet i.
func (g *Search) linkEnd(n, i int) {
	o := &g.Outlets[i]
	if g.thinned(n, o.At) {
		return
	}
	if a := g.ask(o.Enter, g.At(n), o.At, o.Slope); a.ok {
		g.byNode[n] = append(g.byNode[n], int32(len(g.ends)))
		g.ends = append(g.ends, link{n, i, a})
	}
}

// linkAlone asks for the first pipe of source s that is the last, to outlet i.
func (g *Search) linkAlone(e *Ends, s, i int) {
	o := &e.outlets[i]
	if o.LeaveFrom == nil {
		return
	}
	if a := g.ask(o.LeaveFrom(s), g.Sources[s].At, o.At, o.Slope); a.ok {
		e.alone[s] = append(e.alone[s], link{-1, i, a})
	}
}

// Beyond thinBeyond metres from an outlet, last pipes start at every second
// point of a lattice finer than thinUnder: the long ones differ by little.
const (
	thinBeyond = 2.0
	thinUnder  = 0.4
)

func (g *Search) thinned(n int, at orb.Point) bool {
	if g.isBent(n) {
		return false
	}
	q := g.At(n)
	return g.Step < thinUnder && (n%g.Cols%2 == 1 || n/g.Cols%2 == 1) && math.Hypot(q[0]-at[0], q[1]-at[1]) > thinBeyond
}

// firstPipes asks for the first pipes of a source to nodes.
func (g *Search) firstPipes(s *Source) (list []link) {
	g.within(s.At, s.Reach, func(n int) {
		if a := g.ask(s.Leave, s.At, g.At(n), g.SlopeMin); a.ok {
			list = append(list, link{n, -1, a})
		}
	})
	return list
}
