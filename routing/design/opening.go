package design

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/network"
)

// Where a line can be opened and rodded: at a sediment trap, an inlet, a
// channel drain, or a cleanout.
//
//	downspout o-o trap ------o bend, 45 so far -------o cleanout: 90 with this one
//	                                                  |
//	            cleanout o <- spacing is used up ->   |
//
// A trap stands after every downspout that has a lateral of its own: at the
// lateral's first bend where that is near, since a trap turns water freely, else
// on its first pipe. Opened from above it is the lateral's cleanout at the head;
// the head of a main is reached from the laterals, whose wyes point downstream.
// From there on a cleanout stands at the bend that brings the turns since the
// last opening over cleanoutTurn, and where the spacing is used up. It takes the
// place of the bend: the turn shows in the lines. One more stands just above the
// outlet pipe, for the right-of-way line: the outlet pipe itself, with its
// smaller cover, is one straight pipe that no node may cut.

// cleanoutTurn is the sum of bends since the last opening above which a bend
// has a cleanout, radians: Chicago 18-29-708.
const cleanoutTurn = math.Pi / 4

// turnRounding is how far a sum of bends may pass cleanoutTurn, radians: the
// rounding of fittings' angles, under a degree.
const turnRounding = 0.01

// largerCleanout is the nominal diameter above which the spacing doubles, m:
// Chicago 18-29-708.3.1, 50 ft for 4 in and smaller, 100 ft above.
const largerCleanout = 4 * 0.0254

// Distances of traps and cleanouts, m. Common practice, no source.
const (
	trapReach     = 3.0 // a trap stands at a lateral's first bend up to here
	trapBeside    = 0.6 // else so far from the downspout, half way on a short pipe
	trapLeast     = 0.6 // a first pipe shorter than this has no room for a box
	openingBeside = 0.6 // a cleanout from the fitting it stands above
	openingNear   = 3.0 // an opening so near the outlet pipe serves it too
)

// opening is a place along a chain where it can be opened.
type opening struct {
	s    float64 // station along the chain, m
	kind network.NodeKind
}

// since is how much pipe and turning lies behind the last opening.
type since struct{ length, turn float64 }

// openings places traps and cleanouts, upstream chains first.
func (l *layer) openings() {
	l.opened = make([][]opening, len(l.chains))
	l.openVertex = make([]network.NodeKind, len(l.t))
	arriving := make([][]int, len(l.t))
	behind := make([]since, len(l.chains)) // at the foot of each chain
	for k := range l.chains {
		c := &l.chains[k]
		at, start := since{}, 0
		if heads := arriving[c.head()]; len(heads) > 0 {
			at = l.leastBehind(k, heads, behind)
		} else if l.in[l.t[c.head()].inflow].Kind == network.Downspout {
			start = l.trap(k)
		}
		behind[k] = l.cleanouts(k, start, at)
		if l.outletEdge(k) {
			l.rightOfWay(k, arriving[c.head()])
		}
		arriving[c.foot()] = append(arriving[c.foot()], k)
	}
}

// leastBehind is what lies behind the head of chain k on the way that comes in
// straightest: from one opening it can be rodded.
func (l *layer) leastBehind(k int, heads []int, behind []since) since {
	if i := l.t[l.chains[k].head()].inflow; i >= 0 && l.in[i].Kind != network.Downspout {
		return since{} // through a basin
	}
	best := since{math.Inf(1), math.Inf(1)}
	for _, m := range heads {
		v := l.chains[m].vertices
		b := behind[m]
		b.turn += turnAt(l.t[v[len(v)-2]].at, l.t[v[len(v)-1]].at, l.t[l.chains[k].vertices[1]].at)
		if b.turn < best.turn || b.turn == best.turn && b.length < best.length {
			best = b
		}
	}
	return best
}

// turnAt is the angle a line turns by at b, radians.
func turnAt(a, b, c orb.Point) float64 {
	x := (b[0]-a[0])*(c[0]-b[0]) + (b[1]-a[1])*(c[1]-b[1])
	y := (b[0]-a[0])*(c[1]-b[1]) - (b[1]-a[1])*(c[0]-b[0])
	return math.Abs(math.Atan2(y, x))
}

// trap places the sediment trap of a downspout at the head of chain k, where
// there is room; it returns the vertex of the chain it stands at, 0 where on
// the first pipe or nowhere.
func (l *layer) trap(k int) int {
	c, first := &l.chains[k], l.lengths[k][1]
	if first < trapLeast {
		return 0
	}
	inner := len(c.vertices) - 1
	if l.outletEdge(k) {
		inner-- // the outlet pipe starts at a fitting of its own
	}
	if first <= trapReach && inner > 1 {
		l.openVertex[c.vertices[1]] = network.SedimentTrap
		return 1
	}
	if !l.outletEdge(k) || len(c.vertices) > 2 {
		l.opened[k] = append(l.opened[k], opening{math.Min(trapBeside, first/2), network.SedimentTrap})
	}
	return 0
}

// cleanouts places them along chain k from vertex start on; it returns what
// lies behind its foot.
func (l *layer) cleanouts(k, start int, at since) since {
	c := &l.chains[k]
	spacing := l.criteria.Limits.CleanoutSpacing
	if l.boreOf(k).Diameter > largerCleanout {
		spacing *= 2
	}
	for i := start + 1; i < len(c.vertices); i++ {
		from, to := l.lengths[k][i-1], l.lengths[k][i]
		if i == 1 && len(l.opened[k]) > 0 {
			from = l.opened[k][0].s // the trap
		}
		if most := to - l.uncut(k, i); i == 1 && at.turn > cleanoutTurn+turnRounding && from+openingBeside <= most {
			// The join above turns too sharply to be rodded through.
			from, at = from+openingBeside, since{}
			l.opened[k] = append(l.opened[k], opening{from, network.Cleanout})
		}
		for most := to - l.uncut(k, i); at.length+to-from > spacing; {
			s := math.Min(from+math.Max(openingBeside, spacing-at.length), most)
			if s <= from+nodeApart {
				break // no room: the next fitting decides
			}
			l.opened[k] = append(l.opened[k], opening{s, network.Cleanout})
			from, at = s, since{}
		}
		at.length += to - from
		if i == len(c.vertices)-1 {
			break
		}
		at.turn += turnAt(l.t[c.vertices[i-1]].at, l.t[c.vertices[i]].at, l.t[c.vertices[i+1]].at)
		outletStart := l.outletEdge(k) && i == len(c.vertices)-2
		if (at.turn > cleanoutTurn+turnRounding || at.length > spacing) && !outletStart {
			l.openVertex[c.vertices[i]] = network.Cleanout
			at = since{}
		}
	}
	return at
}

// uncut is how much of edge i of chain k, from its lower end, no cleanout may
// cut: the outlet pipe, and beside a fitting.
func (l *layer) uncut(k, i int) float64 {
	last := i == len(l.chains[k].vertices)-1 && l.t[l.chains[k].foot()].outlet >= 0
	switch {
	case last && l.outletEdge(k):
		return math.Inf(1)
	case last:
		return l.criteria.Limits.DaylightZone
	}
	return openingBeside
}

// rightOfWay places the cleanout above the outlet pipe at the end of chain k,
// where none is near and the pipe above has room for it.
func (l *layer) rightOfWay(k int, heads []int) {
	i := len(l.chains[k].vertices) - 2 // where the outlet pipe starts
	if i == 0 {
		if len(heads) == 0 || l.t[l.chains[k].head()].inflow >= 0 {
			return
		}
		most := heads[0]
		for _, m := range heads {
			if l.chains[m].flow > l.chains[most].flow {
				most = m
			}
		}
		k, i = most, len(l.chains[most].vertices)-1
	}
	from, to := l.lengths[k][i-1], l.lengths[k][i]
	if l.openVertex[l.chains[k].vertices[i-1]] != "" && to-from <= openingNear {
		return
	}
	for _, o := range l.opened[k] {
		if o.s > to-openingNear && o.s < to {
			return
		}
	}
	if to-from >= 2*openingBeside {
		l.opened[k] = append(l.opened[k], opening{to - openingBeside, network.Cleanout})
	}
}
