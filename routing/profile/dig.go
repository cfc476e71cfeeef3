package profile

import (
	"math"
	"slices"
)

// option is the best area to a break by one way round the utilities.
type option struct {
	arrive gain // over the invert of the run that ends here
	depart gain // over the invert of the run that starts here
	set    pairs
	parent int // option of the break before
}

// optionsKept bounds the ways round utilities followed at a break; a lot with
// five utilities across one pipe has 32. Those of most area stay.
const optionsKept = 32

// digger finds the least dig for given breaks, and searches breaks.
type digger struct {
	f *reached
	// stages[k] is the options at the k-th break of the sequence last weighed.
	stages [][]option
	tries  int // sequences still to be weighed
}

// digTries bounds the sequences weighed for one chain: a few milliseconds, and
// enough that twice as many find hardly more.
const digTries = 4000

// weigh returns the greatest area under the inverts for runs between the given
// breaks, and false where there is none. Stages before from are kept from the
// call before, which must have had the same breaks up to there.
func (d *digger) weigh(seq []int, from int) (float64, bool) {
	q := d.f.q
	if len(d.stages) < len(seq) {
		d.stages = make([][]option, len(seq))
	}
	if from == 0 {
		low, high := math.Inf(1), math.Inf(-1)
		for k := q.breaks[0].first; k <= q.breaks[0].last; k++ {
			low, high = min(low, q.points[k].Floor), max(high, q.points[k].Ceiling)
		}
		d.stages[0] = append(d.stages[0][:0], option{depart: gain{{low, 0}, {high, 0}}})
		from = 1
	}
	for k := from; k < len(seq); k++ {
		i, j := seq[k-1], seq[k]
		length := q.breaks[j].s - q.breaks[i].s
		d.stages[k] = d.stages[k][:0]
		for parent, o := range d.stages[k-1] {
			for _, p := range d.f.between(i, j) {
				if g := o.depart.through(p, length); g != nil {
					d.stages[k] = q.leave(d.stages[k], j, option{arrive: g, set: p, parent: parent})
				}
			}
		}
		if len(d.stages[k]) == 0 {
			return 0, false
		}
		d.stages[k] = mostArea(d.stages[k])
	}
	best := math.Inf(-1)
	for _, o := range d.stages[len(seq)-1] {
		best = max(best, o.arrive.peak().v)
	}
	return best, true
}

// leave appends what becomes of an option at break j: itself, or at a node one
// for each side a drop may keep to.
func (q *corridor) leave(options []option, j int, o option) []option {
	b := q.breaks[j]
	if !b.node {
		o.depart = o.arrive
		return append(options, o)
	}
	low := math.Inf(1)
	for k := b.first; k <= b.last; k++ {
		low = min(low, q.points[k].Floor)
	}
	for _, side := range q.sides(b) {
		if g := o.arrive.within(side); g != nil {
			part := o
			part.arrive, part.depart = g, g.dropped(max(low, side.low))
			options = append(options, part)
		}
	}
	return options
}

func mostArea(options []option) []option {
	if len(options) <= optionsKept {
		return options
	}
	slices.SortStableFunc(options, func(a, b option) int {
		switch x, y := a.arrive.peak().v, b.arrive.peak().v; {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return options[:optionsKept]
}

// lay returns the runs of most area for the sequence last weighed.
func (d *digger) lay(seq []int) []Run {
	q := d.f.q
	out := make([]Run, len(seq)-1)
	at, top := 0, corner{v: math.Inf(-1)}
	for k, o := range d.stages[len(seq)-1] {
		if c := o.arrive.peak(); c.v > top.v {
			at, top = k, c
		}
	}
	to := top.y
	for k := len(seq) - 1; k > 0; k-- {
		o := d.stages[k][at]
		parent := d.stages[k-1][o.parent]
		a, b := q.breaks[seq[k-1]], q.breaks[seq[k]]
		from := parent.depart.best(o.set.starts(to), (b.s-a.s)/2)
		out[k-1] = Run{From: a.s, To: b.s, InvertFrom: from, InvertTo: to}
		to = from
		if a.node {
			to = max(from, parent.arrive.peak().y)
		}
		at = o.parent
	}
	return out
}

// best returns the start within v of the most gain plus weight times start.
func (g gain) best(v interval, weight float64) float64 {
	d := g.domain()
	v.low = max(d.low, min(d.high, v.low)) // rounding may have set them apart
	v.high = max(v.low, min(d.high, v.high))
	at, most := v.high, g.at(v.high)+weight*v.high
	try := func(y float64) {
		if w := g.at(y) + weight*y; w > most {
			at, most = y, w
		}
	}
	try(v.low)
	for _, c := range g {
		if c.y > v.low && c.y < v.high {
			try(c.y)
		}
	}
	return at
}
