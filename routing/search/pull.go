package search

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// Chain is a way without joins between: its points downstream, and what the
// law says of a straight line between any two of them.
type Chain struct {
	Points []orb.Point
	// Line answers for a straight pipe from point i to point j, i < j; Slope is
	// its least slope.
	Line      func(i, j int) (line constraint.Line, slope float64)
	StartHigh float64 // highest invert at the first point
	Need      float64 // invert needed at the last one
	// Barred tells whether a line meets something that is not the law's: other
	// pipes.
	Barred func(a, b orb.Point) bool
}

// turnPrice is what one more node costs, in metres of plain pipe: a fitting and
// the care it takes; ours, common practice, no source.
const turnPrice = 0.3

// pulled is a way to a point: what it costs and the invert it comes with.
type pulled struct {
	cost, invert float64
	from, label  int // point and label before
	via          arc
	slope        float64
}

// Pull straightens a chain: of all ways over some of its points it keeps the
// cheapest admissible one, a node costing a little. It returns the points kept
// and the invert needed at the first; ok is false where not even all of them
// make a way.
func Pull(c Chain) (keep []int, need float64, ok bool) {
	n := len(c.Points)
	at := make([][]pulled, n)
	at[0] = []pulled{{invert: c.StartHigh, from: -1}}
	var st []constraint.Station
	for j := 1; j < n; j++ {
		for i := j - 1; i >= 0; i-- {
			if len(at[i]) == 0 || j-i > 1 && c.Barred(c.Points[i], c.Points[j]) {
				continue
			}
			line, slope := c.Line(i, j)
			var priced float64
			var open bool
			st, priced, open = line(st[:0], c.Points[i], c.Points[j])
			if !open {
				continue
			}
			a := compress(st, math.Hypot(c.Points[j][0]-c.Points[i][0], c.Points[j][1]-c.Points[i][1]), priced, slope)
			for k, l := range at[i] {
				if y, ok := a.down(l.invert, slope); ok {
					at[j] = addPulled(at[j], pulled{l.cost + a.priced + turnPrice, y, i, k, a, slope})
				}
			}
		}
	}
	best, cheapest := -1, math.Inf(1)
	for k, l := range at[n-1] {
		if l.invert >= c.Need-admit && l.cost < cheapest {
			best, cheapest = k, l.cost
		}
	}
	if best < 0 {
		return nil, 0, false
	}
	need = c.Need
	for j, k := n-1, best; ; {
		l := at[j][k]
		keep = append(keep, j)
		if l.from < 0 {
			break
		}
		need, _ = l.via.up(math.Min(need, l.via.ceil), l.slope)
		j, k = l.from, l.label
	}
	for a, b := 0, len(keep)-1; a < b; a, b = a+1, b-1 {
		keep[a], keep[b] = keep[b], keep[a]
	}
	return keep, need, true
}

// addPulled keeps only ways that are cheaper or higher than every other. Ways
// already gone on from keep their places: points are finished in order.
func addPulled(list []pulled, l pulled) []pulled {
	for _, o := range list {
		if o.cost <= l.cost && o.invert >= l.invert {
			return list
		}
	}
	out := list[:0]
	for _, o := range list {
		if !(l.cost <= o.cost && l.invert >= o.invert) {
			out = append(out, o)
		}
	}
	return append(out, l)
}

// Meets tells whether two straight pipes come together anywhere but at a
// common end.
func Meets(a, b, p, q orb.Point) bool { return meets(a, b, p, q) }

// Down returns the invert that leaves a straight pipe at most, given the
// highest one entering; ok is false where none does.
func Down(line constraint.Line, a, b orb.Point, invert, slope float64) (float64, bool) {
	st, priced, ok := line(nil, a, b)
	if !ok {
		return 0, false
	}
	return compress(st, math.Hypot(b[0]-a[0], b[1]-a[1]), priced, slope).down(invert, slope)
}
