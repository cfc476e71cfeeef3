package search

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// bentSteps is how far from its own place a node is bent at most along a side, in
// steps.
const bentSteps = 1.5

// bent is where a node stands that stands elsewhere.
type bent struct {
	is bool
	at orb.Point
}

func (l *Lattice) isBent(i int) bool { return l.bent != nil && l.bent[i].is }

// Bend moves nodes of the lattice onto a way in the plane, given by its points in
// order, so that a search finds that way besides all others: one onto each point,
// and more between them, until each is another's neighbour. Nodes that ways before
// this one have taken stay where they are; where that leaves none the lattice may
// lack the way.
func (l *Lattice) Bend(way []orb.Point) {
	if l.bent == nil {
		l.bent = make([]bent, len(l.Usable))
	}
	before := -1
	for k, p := range way {
		node := l.claim(p)
		if k > 0 && before >= 0 && node >= 0 {
			l.thread(before, node, way[k-1], p)
		}
		before = node
	}
}

// claim moves the nearest node that may be moved to p and returns it; -1: none.
func (l *Lattice) claim(p orb.Point) int {
	best, near := -1, math.Inf(1)
	c0, r0 := int(math.Round((p[0]-l.Origin[0])/l.Step)), int(math.Round((p[1]-l.Origin[1])/l.Step))
	for r := r0 - 1; r <= r0+1; r++ {
		for c := c0 - 1; c <= c0+1; c++ {
			if c < 0 || c >= l.Cols || r < 0 || r >= l.Rows {
				continue
			}
			i := r*l.Cols + c
			if l.isBent(i) && l.bent[i].at != p {
				continue
			}
			if d := planar.Distance(l.own(i), p); d < near {
				best, near = i, d
			}
		}
	}
	if best >= 0 {
		l.bent[best], l.Usable[best] = bent{true, p}, true
	}
	return best
}

// thread claims nodes on the line from node i at p to node j at q until each is a
// neighbour of the next.
func (l *Lattice) thread(i, j int, p, q orb.Point) {
	dx, dy := abs(j%l.Cols-i%l.Cols), abs(j/l.Cols-i/l.Cols)
	if max(dx, dy) <= usualReach && gcd(dx, dy) == 1 || planar.Distance(p, q) < l.Step/4 {
		return
	}
	m := orb.Point{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2}
	if k := l.claim(m); k >= 0 {
		l.thread(i, k, p, m)
		l.thread(k, j, m, q)
	}
}

// stray is how far along a side a node may stand from its own place, m.
func (l *Lattice) stray() float64 {
	if l.bent == nil {
		return 0
	}
	return bentSteps * l.Step
}

// nodeAt is the node that stands at p, -1 for none.
func (l *Lattice) nodeAt(p orb.Point) int {
	c, r := int(math.Round((p[0]-l.Origin[0])/l.Step)), int(math.Round((p[1]-l.Origin[1])/l.Step))
	if i := r*l.Cols + c; c >= 0 && c < l.Cols && r >= 0 && r < l.Rows && l.At(i) == p {
		return i
	}
	for i := range l.bent {
		if l.isBent(i) && l.bent[i].at == p {
			return i
		}
	}
	return -1
}
