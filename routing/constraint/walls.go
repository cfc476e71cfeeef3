package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// Wall is a straight line, or a point where A is B, that no pipe longer than a
// micrometre comes as near to as Radius, m, but in an inflow's own exit.
type Wall struct {
	A, B   orb.Point
	Radius float64
}

const (
	// dip is more than the law lets a pipe into a shape, m: it passes over stretches
	// up to touch, in each part of a shape by itself.
	dip = 10 * touch
	// behind is how far behind an edge that is not grown its wall stands, m; half of
	// it is the wall's radius.
	behind = 1e-3
	// overlap is how far such a wall runs on past its edge, m: at corners of 10
	// degrees and more the walls of both edges cross.
	overlap = 12 * behind
)

// Walls are what shuts pipes in at any depth: they leave open a few millimetres
// more than Shut, and the middle of what they stand round.
func (w *Law) Walls() (walls []Wall) {
	for _, b := range w.bars {
		if b.grow > dip {
			walls = append(walls, b.core()...)
		} else if b.solid {
			walls = append(walls, b.lining()...)
		}
	}
	return append(walls, w.fence()...)
}

// core is what a shape was before it grew: walls as thick as it grew.
func (s *shape) core() (walls []Wall) {
	for _, ring := range s.rings {
		for k := range ring {
			if a := ring[max(0, k-1)]; k > 0 || len(ring) == 1 {
				walls = append(walls, Wall{a, ring[k], s.grow - dip})
			}
		}
	}
	return walls
}

// lining is the walls within a solid shape, along its edges.
func (s *shape) lining() (walls []Wall) {
	edges := &shape{rings: s.rings, grow: behind / 2, bound: s.bound.Pad(behind)}
	for _, x := range s.beside([]*shape{edges}) {
		if s.distance(along(x.A, x.B, 0.5)) < 0 {
			walls = append(walls, x)
		}
	}
	return walls
}

// fence is the walls round where pipes may run, along its edges.
func (w *Law) fence() (walls []Wall) {
	var grown []*shape
	for _, r := range w.region {
		grown = append(grown, &shape{rings: r.rings, solid: true, grow: behind / 2, bound: r.bound.Pad(behind)})
	}
	for _, r := range w.region {
		walls = append(walls, r.beside(grown)...)
	}
	return walls
}

// beside is the walls along both sides of a shape's edges, without what lies in
// one of the shapes kept clear.
func (s *shape) beside(clear []*shape) (walls []Wall) {
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
				walls = append(walls, outside(a, b, clear)...)
			}
		}
	}
	return walls
}

// outside is the stretches of the line from a to b that lie in none of the
// shapes, as walls.
func outside(a, b orb.Point, shapes []*shape) (walls []Wall) {
	length := math.Hypot(b[0]-a[0], b[1]-a[1])
	in := []span{{length, length}}
	for _, s := range shapes {
		in = append(in, s.spans(a, b)...)
	}
	from := 0.0
	for _, x := range union(in) {
		if x.from > from+touch {
			walls = append(walls, Wall{along(a, b, from/length), along(a, b, x.from/length), behind/2 - dip})
		}
		from = max(from, x.to)
	}
	return walls
}
