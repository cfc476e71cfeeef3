package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// Barrier is a straight line, or a point where A is B, that no pipe longer than a
// micrometre comes as near to as Radius, m, but in an inflow's own exit.
type Barrier struct {
	A, B   orb.Point
	Radius float64
}

const (
	// dip is more than the law lets a pipe into a shape, m: it passes over stretches
	// up to touch, in each part of a shape by itself.
	dip = 10 * touch
	// behind is how far behind an edge that is not grown its barrier stands, m; half of
	// it is the barrier's radius.
	behind = 1e-3
	// overlap is how far such a barrier runs on past its edge, m: at corners of 10
	// degrees and more the barriers of both edges cross.
	overlap = 12 * behind
)

// Barriers are what shuts pipes in at any depth: they leave open a few millimetres
// more than Shut, and the middle of what they stand round.
func (w *Law) Barriers() (barriers []Barrier) {
	for _, b := range w.bars {
		if b.grow > dip {
			barriers = append(barriers, b.core()...)
		} else if b.solid {
			barriers = append(barriers, b.lining()...)
		}
	}
	return append(barriers, w.fence()...)
}

// core is what a shape was before it grew: barriers as thick as it grew.
func (s *shape) core() (barriers []Barrier) {
	for _, ring := range s.rings {
		for k := range ring {
			if a := ring[max(0, k-1)]; k > 0 || len(ring) == 1 {
				barriers = append(barriers, Barrier{a, ring[k], s.grow - dip})
			}
		}
	}
	return barriers
}

// lining is the barriers within a solid shape, along its edges.
func (s *shape) lining() (barriers []Barrier) {
	edges := &shape{rings: s.rings, grow: behind / 2, bound: s.bound.Pad(behind)}
	for _, x := range s.beside([]*shape{edges}) {
		if s.distance(along(x.A, x.B, 0.5)) < 0 {
			barriers = append(barriers, x)
		}
	}
	return barriers
}

// fence is the barriers round where pipes may run, along its edges.
func (w *Law) fence() (barriers []Barrier) {
	var grown []*shape
	for _, r := range w.region {
		grown = append(grown, &shape{rings: r.rings, solid: true, grow: behind / 2, bound: r.bound.Pad(behind)})
	}
	for _, r := range w.region {
		barriers = append(barriers, r.beside(grown)...)
	}
	return barriers
}

// beside is the barriers along both sides of a shape's edges, without what lies in
// one of the shapes kept clear.
func (s *shape) beside(clear []*shape) (barriers []Barrier) {
	for _, ring := range s.rings {
		for k := 1; k < len(ring); k++ {
			p, q := ring[k-1], ring[k]
			l := math.Hypot(q[0]-p[0], q[1]-p[1])
			if l <= touch {
				continue
			}
			ux, uy := (q[0]-p[0])/l, (q[1]-p[1])/l
			for _, side := range []float64{behind, -behind} {
				a := orb.Point{p[0] - side*uy - overlap*ux, p[1] + side*ux - overlap*uy}
				b := orb.Point{q[0] - side*uy + overlap*ux, q[1] + side*ux + overlap*uy}
				barriers = append(barriers, outside(a, b, clear)...)
			}
		}
	}
	return barriers
}

// outside is the stretches of the line from a to b that lie in none of the
// shapes, as barriers.
func outside(a, b orb.Point, shapes []*shape) (barriers []Barrier) {
	length := math.Hypot(b[0]-a[0], b[1]-a[1])
	in := []span{{length, length}}
	for _, s := range shapes {
		in = append(in, s.spans(a, b)...)
	}
	from := 0.0
	for _, x := range union(in) {
		if x.from > from+touch {
			barriers = append(barriers, Barrier{along(a, b, from/length), along(a, b, x.from/length), behind/2 - dip})
		}
		from = max(from, x.to)
	}
	return barriers
}
