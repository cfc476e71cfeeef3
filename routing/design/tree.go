package design

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// tree is the plan of the system before it has pipes: vertices with the way
// each drains.
type tree []vertex

type vertex struct {
	at     orb.Point
	next   int // vertex downstream, -1 at an outlet
	inflow int // index into the job's inflows, -1 where none
	outlet int // index into the outlets the plan uses (job.used), -1 where none
}

// straight is the most a line may stray sideways over a dropped vertex, m.
const straight = 1e-6

// simplified drops vertices a straight line passes through, but those where
// water joins and the one the outlet pipe starts at.
func (t tree) simplified() tree {
	in := t.incoming()
	drop := make([]bool, len(t))
	before := make([]int, len(t)) // the vertex upstream of a vertex with one
	for v := range t {
		if t[v].next >= 0 {
			before[t[v].next] = v
		}
	}
	for v := range t {
		n := t[v].next
		if n < 0 || in[v] != 1 || t[v].inflow >= 0 || t[n].outlet >= 0 {
			continue
		}
		a, b, c := t[before[v]].at, t[v].at, t[n].at
		side := math.Abs((c[0]-a[0])*(b[1]-a[1])-(c[1]-a[1])*(b[0]-a[0])) / planar.Distance(a, c)
		drop[v] = side <= straight && planar.Distance(a, b)+planar.Distance(b, c) <= planar.Distance(a, c)+straight
	}
	place := make([]int, len(t))
	var kept tree
	for v := range t {
		if !drop[v] {
			place[v] = len(kept)
			kept = append(kept, t[v])
		}
	}
	for v := range kept {
		n := kept[v].next
		for n >= 0 && drop[n] {
			n = t[n].next
		}
		if n >= 0 {
			kept[v].next = place[n]
		}
	}
	return kept
}

func (t tree) incoming() []int {
	in := make([]int, len(t))
	for _, v := range t {
		if v.next >= 0 {
			in[v.next]++
		}
	}
	return in
}

// downstream lists the vertices so that each comes before the one it drains to.
func (t tree) downstream() []int {
	wait := t.incoming()
	order := make([]int, 0, len(t))
	for v := range t {
		if wait[v] == 0 {
			order = append(order, v)
		}
	}
	for k := 0; k < len(order); k++ {
		if n := t[order[k]].next; n >= 0 {
			if wait[n]--; wait[n] == 0 {
				order = append(order, n)
			}
		}
	}
	return order
}

// chain is a run of edges without a join between: from an inflow or a join
// down to the next one or the outlet.
type chain struct {
	vertices []int // first to last
	inflows  int
	flow     float64 // m3/s
	time     float64 // duration of the rain that brings it, s
	bore     int     // in the catalogue, of all but the outlet pipe
}

// chains cuts the tree at inflows and joins, upstream ones first.
func (t tree) chains() []chain {
	in := t.incoming()
	cut := func(v int) bool { return in[v] != 1 || t[v].inflow >= 0 || t[v].outlet >= 0 }
	var list []chain
	for _, v := range t.downstream() {
		if !cut(v) || t[v].next < 0 {
			continue
		}
		c := chain{vertices: []int{v}}
		for n := t[v].next; ; n = t[n].next {
			c.vertices = append(c.vertices, n)
			if cut(n) {
				break
			}
		}
		list = append(list, c)
	}
	return list
}

func (c *chain) head() int { return c.vertices[0] }
func (c *chain) foot() int { return c.vertices[len(c.vertices)-1] }
