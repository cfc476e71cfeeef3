package search

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// entry is a source and the first pipe it takes, an index of its links.
type entry struct{ source, link int }

// strand is a node pipes come to and the one pipe that leaves it.
type strand struct {
	node int32
	next int32   // strand downstream; -1-e: by end e to its outlet
	from []entry // sources whose first pipe ends here
}

// gone marks a strand taken out, by its node.
const gone = -1

// forest is a set of trees, each to an outlet of its own. Strands of one node
// may occur twice while it is in the making; settle joins them.
type forest struct {
	strands  []strand
	straight []entry // sources whose first pipe is the last
	price    float64 // m of plain pipe, outlets' price included
	in       int     // sources taken in
}

// better tells whether f takes in more sources than o, or as many for less.
func (f *forest) better(o *forest) bool {
	if f.in != o.in {
		return f.in > o.in
	}
	return f.price < o.price-cheaper
}

// cheaper is what a network must save to be called cheaper, m: more than sums
// of lengths in different order differ by, less than any answer is read to.
const cheaper = 1e-7

func (f *forest) add(node, next int32) int32 {
	f.strands = append(f.strands, strand{node: node, next: next})
	return int32(len(f.strands) - 1)
}

// served lists the sources taken in, in rising order.
func (f *forest) served() (list []int) {
	for _, s := range f.strands {
		for _, e := range s.from {
			list = append(list, e.source)
		}
	}
	for _, e := range f.straight {
		list = append(list, e.source)
	}
	slices.Sort(list)
	return list
}

// junctions lists the strands more than one pipe comes to.
func (f *forest) junctions() (list []int32) {
	into := make([]int, len(f.strands))
	for i, s := range f.strands {
		into[i] += len(s.from)
		if s.node != gone && s.next >= 0 {
			into[s.next]++
		}
	}
	for i, s := range f.strands {
		if s.node != gone && into[i] > 1 {
			list = append(list, int32(i))
		}
	}
	return list
}

// prune takes out strands nothing comes to.
func (f *forest) prune() {
	kids := make([]int, len(f.strands))
	for _, s := range f.strands {
		if s.node != gone && s.next >= 0 {
			kids[s.next]++
		}
	}
	for i := range f.strands {
		for j := int32(i); j >= 0; {
			s := &f.strands[j]
			if s.node == gone || kids[j] > 0 || len(s.from) > 0 {
				break
			}
			s.node = gone
			if j = s.next; j >= 0 {
				kids[j]--
			}
		}
	}
}

// order lists the strands upstream first; ok is false where some go round.
func (f *forest) order() (order []int32, ok bool) {
	kids := make([]int, len(f.strands))
	live := 0
	for _, s := range f.strands {
		if s.node != gone {
			live++
			if s.next >= 0 {
				kids[s.next]++
			}
		}
	}
	order = make([]int32, 0, live)
	for i, s := range f.strands {
		if s.node != gone && kids[i] == 0 {
			order = append(order, int32(i))
		}
	}
	for i := 0; i < len(order); i++ {
		if n := f.strands[order[i]].next; n >= 0 {
			if kids[n]--; kids[n] == 0 {
				order = append(order, n)
			}
		}
	}
	return order, len(order) == live
}

// inverts are the highest ones at each strand, by what comes to it; ok is false
// where a pipe has no admissible invert or an outlet's is missed.
func (g *Search) inverts(f *forest, order []int32) (high []float64, ok bool) {
	high = fill(len(f.strands), math.Inf(1))
	for _, i := range order {
		s := &f.strands[i]
		for _, e := range s.from {
			y, ok := g.links[e.source][e.link].down(g.Sources[e.source].Start, g.SlopeMin)
			if !ok {
				return nil, false
			}
			high[i] = min(high[i], y)
		}
		if s.next < 0 {
			e := &g.ends[-1-s.next]
			o := &g.Outlets[e.outlet]
			if y, ok := leniently(&e.arc, high[i], o.Slope); !ok || y < o.MinInvert-admit {
				return nil, false
			}
			continue
		}
		a := g.between(int(s.node), int(f.strands[s.next].node))
		y, ok := leniently(&a, high[i], g.SlopeMin)
		if !ok {
			return nil, false
		}
		high[s.next] = min(high[s.next], y)
	}
	return high, true
}

// leniently is down for an invert that may miss by the slack of the sweeps.
func leniently(a *arc, y, slope float64) (float64, bool) {
	if out, ok := a.down(y, slope); ok {
		return out, true
	}
	return a.down(y+admit, slope)
}

// settle makes the forest one pipe a node, prices it and proves it; false where
// the forest does not hold.
//
// Where two strands share a node, what comes to the higher one goes on by the
// lower one's pipe: that pipe carried as low an invert before, and whatever the
// other met further down now meets less. So this never costs or fails. Of two
// equally high ones the lower in the order stays, or water would go round.
func (g *Search) settle(f *forest) bool {
	for {
		order, ok := f.order()
		if !ok {
			return false
		}
		high, ok := g.inverts(f, order)
		if !ok {
			return false
		}
		at := make(map[int32]int32, len(order))
		joined := false
		for _, i := range order {
			j, twice := at[f.strands[i].node]
			if !twice {
				at[f.strands[i].node] = i
				continue
			}
			stay, leave := i, j
			if high[j] < high[i] {
				stay, leave = j, i
			}
			f.divert(leave, stay)
			joined = true
			break
		}
		if !joined {
			return g.price(f, order)
		}
	}
}

// divert sends what comes to one strand into another of the same node.
func (f *forest) divert(leave, stay int32) {
	for i := range f.strands {
		if f.strands[i].node != gone && f.strands[i].next == leave {
			f.strands[i].next = stay
		}
	}
	f.strands[stay].from = append(f.strands[stay].from, f.strands[leave].from...)
	f.strands[leave].from = nil
	f.prune()
}

// price sums what the forest costs; false where its outlets are too many or one
// is used twice.
func (g *Search) price(f *forest, order []int32) bool {
	f.price, f.in = 0, len(f.straight)
	var used []int
	use := func(outlet int) bool {
		f.price += g.OutletCost
		again := slices.Contains(used, outlet)
		used = append(used, outlet)
		return !again
	}
	for _, e := range f.straight {
		k := &g.links[e.source][e.link]
		f.price += k.priced
		if !use(k.outlet) {
			return false
		}
	}
	for _, i := range order {
		s := &f.strands[i]
		f.in += len(s.from)
		for _, e := range s.from {
			f.price += g.links[e.source][e.link].priced
		}
		if s.next >= 0 {
			f.price += g.between(int(s.node), int(f.strands[s.next].node)).priced
			continue
		}
		e := &g.ends[-1-s.next]
		f.price += e.priced
		if !use(e.outlet) {
			return false
		}
	}
	return len(used) <= g.outletsMax()
}

func (g *Search) outletsMax() int { return max(1, g.OutletsMax) }

// vertices turns the forest into points, each below the ones it drains to.
func (g *Search) vertices(f *forest) (list []Vertex) {
	order, _ := f.order()
	at := make([]int, len(f.strands))
	for k := len(order) - 1; k >= 0; k-- {
		s := &f.strands[order[k]]
		next := len(list)
		if s.next >= 0 {
			next = at[s.next]
		} else {
			o := g.ends[-1-s.next].outlet
			list = append(list, Vertex{g.Outlets[o].At, -1, -1, o})
		}
		at[order[k]] = len(list)
		list = append(list, Vertex{g.At(int(s.node)), next, -1, -1})
		for _, e := range s.from {
			list = append(list, Vertex{g.Sources[e.source].At, at[order[k]], e.source, -1})
		}
	}
	for _, e := range f.straight {
		o := g.links[e.source][e.link].outlet
		list = append(list, Vertex{g.Outlets[o].At, -1, -1, o}, Vertex{g.Sources[e.source].At, len(list), e.source, -1})
	}
	return list
}

// pipes calls f with both ends of every pipe.
func (g *Search) pipes(f *forest, do func(a, b orb.Point)) {
	for _, s := range f.strands {
		if s.node == gone {
			continue
		}
		p := g.At(int(s.node))
		for _, e := range s.from {
			do(g.Sources[e.source].At, p)
		}
		if s.next >= 0 {
			do(p, g.At(int(f.strands[s.next].node)))
		} else {
			do(p, g.Outlets[g.ends[-1-s.next].outlet].At)
		}
	}
	for _, e := range f.straight {
		do(g.Sources[e.source].At, g.Outlets[g.links[e.source][e.link].outlet].At)
	}
}

// crosses tells whether two pipes come together but at a common end.
func (g *Search) crosses(f *forest) bool {
	var laid []wall
	crossed := false
	g.pipes(f, func(a, b orb.Point) {
		for _, w := range laid {
			crossed = crossed || boxesMeet(a, b, w.a, w.b) && meets(a, b, w.a, w.b)
		}
		laid = append(laid, wall{a, b})
	})
	return crossed
}
