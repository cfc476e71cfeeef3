package search

import (
	"math"
	"math/bits"
)

// bundle is some trees that together take in a subset of the starts.
type bundle struct {
	cost   float64
	top    top
	before *bundle // the trees but this one
}

// cheapestTrees parts the starts among trees, each to an outlet of its own or joined
// to what is laid: most starts first, then the cheapest.
// None where no start comes to an end for less than asked.
func (t *steiner) cheapestTrees() (b *bundle) {
	if t.tops[t.full] == nil { // none was worth looking for
		return nil
	}
	subset := 0
	made := make([][]*bundle, min(t.slots, len(t.starts))+1) // by outlets used and subset
	for j := range made {
		made[j] = make([]*bundle, t.full+1)
	}
	made[0][0] = &bundle{}
	try := func(j, x int, from *bundle, p top) {
		if from == nil || math.IsInf(p.cost, 1) {
			return
		}
		if c := from.cost + p.cost; made[j][x] == nil || c < made[j][x].cost {
			made[j][x] = &bundle{c, p, from}
		}
	}
	for x := 1; x <= t.full; x++ {
		for y := x; y > 0; y = (y - 1) & x {
			if y&(x&-x) != 0 {
				try(0, x, made[0][x&^y], t.tops[y][0])
			}
		}
	}
	for o := 1; o <= len(t.Outlets); o++ {
		for j := len(made) - 2; j >= 0; j-- {
			for y := 1; y <= t.full; y++ {
				if math.IsInf(t.tops[y][o].cost, 1) {
					continue
				}
				left := t.full &^ y
				for x := left; ; x = (x - 1) & left {
					try(j+1, x|y, made[j][x], t.tops[y][o])
					if x == 0 {
						break
					}
				}
			}
		}
	}
	for j := range made {
		for x, m := range made[j] {
			if m == nil {
				continue
			}
			if n, most := bits.OnesCount(uint(x)), bits.OnesCount(uint(subset)); n > most || n == most && b != nil && m.cost < b.cost {
				subset, b = x, m
			}
		}
	}
	return b
}

// laying turns the trees of an answer into strands.
type laying struct {
	*steiner
	f *forest
	// enter tells what becomes of a start that comes to a strand by a first pipe.
	enter func(start, first int, strand int32)
	// join is the strand of a node laid before.
	join func(node int) int32
}

func (l *laying) bundle(b *bundle) {
	for ; b.before != nil; b = b.before {
		p := b.top
		if p.stem == 0 {
			l.enter(p.start, p.first, gone)
			continue
		}
		x := &l.goals[p.target]
		at := int32(-1 - x.end)
		if x.outlet < 0 {
			at = l.join(x.node)
		} else {
			at = l.f.add(int32(x.node), at)
		}
		l.stem(p.stem, at)
	}
}

// stem lays the pipes that make a stem, which ends at a strand.
func (l *laying) stem(i, at int32) {
	w := &l.list[i]
	switch {
	case w.b != 0:
		l.stem(w.a, at)
		l.stem(w.b, at)
	case w.a != 0:
		l.stem(w.a, l.f.add(l.list[w.a].node, at))
	default:
		l.enter(w.start, w.first, at)
	}
}
