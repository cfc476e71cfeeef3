package search

import (
	"fmt"
	"slices"
)

// cutting is a forest with something cut off that is to be joined again.
type cutting struct {
	kept    *forest
	order   []int32 // of what is kept
	members []member
	saved   float64 // price of the pipes cut off
}

// member is a source, or a piece of a tree that stays as it is.
type member struct {
	source int      // -1: a piece
	piece  []strand // its root first, next -1 there
	high   float64  // invert with which it comes to its root
	price  float64
}

// key tells cuttings apart by what they cut off.
func (c *cutting) key() string {
	var key []int
	for _, m := range c.members {
		if m.source >= 0 {
			key = append(key, m.source)
		} else {
			key = append(key, -1-int(m.piece[0].node))
		}
	}
	return fmt.Sprint(key)
}

func (f *forest) clone() *forest {
	c := &forest{strands: slices.Clone(f.strands), straight: slices.Clone(f.straight)}
	for i := range c.strands {
		c.strands[i].from = slices.Clone(c.strands[i].from)
	}
	return c
}

// hang adds a piece whose root's node is a strand already.
func (f *forest) hang(piece []strand, at int32) {
	base := int32(len(f.strands)) - 1 // the root takes no strand
	for k, s := range piece {
		if k == 0 {
			f.strands[at].from = append(f.strands[at].from, s.from...)
			continue
		}
		next := at
		if s.next > 0 {
			next = base + s.next
		}
		f.strands = append(f.strands, strand{s.node, next, slices.Clone(s.from)})
	}
}

// without is a forest less some sources and the pipes they alone use.
func (n *net) without(f *forest, group []int) *cutting {
	c := less(f, group)
	n.weigh(f, c)
	return c
}

// weigh prices what was cut off a forest.
func (n *net) weigh(f *forest, c *cutting) {
	c.order, _ = c.kept.order()
	n.price(c.kept, c.order)
	c.saved = f.price - c.kept.price
	for _, m := range c.members {
		c.saved -= m.price
	}
}

// less cuts sources off a forest.
func less(f *forest, group []int) *cutting {
	c := &cutting{kept: f.clone()}
	out := func(e entry) bool { return slices.Contains(group, e.source) }
	for i := range c.kept.strands {
		s := &c.kept.strands[i]
		s.from = slices.DeleteFunc(s.from, out)
	}
	c.kept.straight = slices.DeleteFunc(c.kept.straight, out)
	c.kept.prune()
	for _, s := range group {
		c.members = append(c.members, member{source: s})
	}
	return c
}

// region cuts a forest around a junction: what hangs on it, up to the next
// junctions and sources, and what hangs on those as far as there are no more
// than most pieces; none where it has more.
func (n *net) region(f *forest, junction int32, most int) *cutting {
	kids := make([][]int32, len(f.strands))
	for i, s := range f.strands {
		if s.node != gone && s.next >= 0 {
			kids[s.next] = append(kids[s.next], int32(i))
		}
	}
	degree := func(v int32) int { return len(kids[v]) + len(f.strands[v].from) }
	if degree(junction) > max(most, 3) {
		return nil
	}
	var sources []int
	var roots []int32
	open := func(v int32) { // what hangs on a junction
		for _, e := range f.strands[v].from {
			sources = append(sources, e.source)
		}
		for _, k := range kids[v] {
			for degree(k) == 1 && len(kids[k]) == 1 {
				k = kids[k][0]
			}
			if degree(k) == 1 {
				sources = append(sources, f.strands[k].from[0].source)
			} else {
				roots = append(roots, k)
			}
		}
	}
	open(junction)
	for k := 0; k < len(roots); {
		if len(sources)+len(roots)-1+degree(roots[k]) > most {
			k++
			continue
		}
		v := roots[k]
		roots = slices.Delete(roots, k, k+1)
		open(v)
	}
	slices.Sort(sources)
	c := less(f, sources)
	order, _ := f.order()
	high, ok := n.inverts(f, order)
	if !ok {
		return nil
	}
	for _, r := range roots {
		c.members = append(c.members, n.lift(c.kept, f, kids, r, high[r]))
	}
	c.kept.prune()
	n.weigh(f, c)
	return c
}

// lift takes the piece at a root out of what is kept.
func (n *net) lift(kept, f *forest, kids [][]int32, root int32, high float64) member {
	m := member{source: -1, high: high}
	list, at := []int32{root}, []int32{-1}
	for k := 0; k < len(list); k++ {
		s := f.strands[list[k]]
		for _, e := range s.from {
			m.price += n.links[e.source][e.link].priced
		}
		if k > 0 {
			m.price += n.between(int(s.node), int(f.strands[s.next].node)).priced
		}
		m.piece = append(m.piece, strand{s.node, at[k], s.from})
		for _, j := range kids[list[k]] {
			list, at = append(list, j), append(at, int32(k))
		}
		kept.strands[list[k]].node, kept.strands[list[k]].from = gone, nil
	}
	return m
}
