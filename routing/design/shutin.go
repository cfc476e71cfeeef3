package design

import (
	"container/heap"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// shutIn says what shuts inflow i in that no pipe can leave at any depth, and
// where. Of all that surrounds it that is what a way would break through that
// breaks through as little as any to an outlet.
func (d *job) shutIn(i int) (says string, where *Binding) {
	says = "shut in by "
	reached, _ := d.search(d.leastHeight(fine, smallest)).Reachable(i)
	if len(reached) == 0 {
		says = "no straight first pipe can leave it: "
	}
	list := d.breach(d.in[i].At, reached)
	if len(list) == 0 {
		return "no pipe straight enough leads from it to an outlet", barredBinding(ruleEdge, d.law.Lot.ID, d.in[i].At)
	}
	most, names := 0, make([]string, len(list))
	for k, b := range list {
		names[k] = b.Rule + " of " + b.ID
		if b.length > list[most].length {
			most = k
		}
	}
	says += strings.Join(names, ", ")
	if len(reached) > 0 {
		says += ", " + bearing(d.in[i].At, list[0].at) + " it"
	}
	return says, barredBinding(list[most].Rule, list[most].ID, list[most].at)
}

// broken is what a way breaks through.
type broken struct {
	constraint.Bar
	at     orb.Point // first met
	length float64   // m
}

// What it is worth to go round what nobody takes away, in metres broken through
// that somebody may; open ground costs next to nothing.
const (
	breachFixed = 20.0
	breachOpen  = 1e-6
)

// atOutlet is how near a way comes to an outlet to have reached it, m.
const atOutlet = 2 * fine

// breach is what the way breaks through, in its order, that breaks through least
// from the places reached to an outlet; those are p alone where there is none.
func (d *job) breach(p orb.Point, reached []int) (list []broken) {
	l := d.lattice(fine)
	if len(reached) == 0 {
		reached = []int{d.nearestNode(p)}
	}
	cost, from := make([]float64, len(l.Usable)), make([]int, len(l.Usable))
	for k := range cost {
		cost[k], from[k] = math.Inf(1), -1
	}
	q := &nodes{cost: cost}
	for _, k := range reached {
		cost[k] = 0
		heap.Push(q, k)
	}
	for q.Len() > 0 {
		v := heap.Pop(q).(int)
		if d.toOutlet(l.At(v)) <= atOutlet {
			return d.brokenOn(v, from)
		}
		for _, s := range [8][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
			c, r := v%l.Cols+s[0], v/l.Cols+s[1]
			if c < 0 || c >= l.Cols || r < 0 || r >= l.Rows {
				continue
			}
			u := r*l.Cols + c
			_, weight := d.barring(l.At(u))
			if x := cost[v] + weight*distance(l.At(v), l.At(u)); x < cost[u] {
				cost[u], from[u] = x, v
				heap.Push(q, u)
			}
		}
	}
	return nil
}

// brokenOn gathers what the way to node v breaks through.
func (d *job) brokenOn(v int, from []int) (list []broken) {
	l := d.lattice(fine)
	way := []int{v}
	for from[v] >= 0 {
		v = from[v]
		way = append(way, v)
	}
	slices.Reverse(way)
	for k := 1; k < len(way); k++ {
		a, b := l.At(way[k-1]), l.At(way[k])
		bar, _ := d.barring(b)
		if bar.Rule == "" {
			continue
		}
		n := slices.IndexFunc(list, func(x broken) bool { return x.Bar == bar })
		if n < 0 {
			n, list = len(list), append(list, broken{Bar: bar, at: b})
		}
		list[n].length += distance(a, b)
	}
	return list
}

// barring is what bars a place of the lattice, and what a metre through it is worth.
func (d *job) barring(p orb.Point) (bar constraint.Bar, weight float64) {
	bar, ok := d.law.BarAt(p)
	switch {
	case math.IsNaN(d.law.Ground.Ground(p[0], p[1])):
		return constraint.Bar{Rule: ruleUnknown, ID: "the raster"}, breachFixed
	case ok && bar.Rule == constraint.RuleOtherLot:
		return bar, breachFixed
	case ok:
		return bar, 1
	case d.law.Open(p):
		return constraint.Bar{}, breachOpen
	}
	return constraint.Bar{Rule: ruleEdge, ID: d.law.Lot.ID}, breachFixed * breachFixed
}

// nearestNode is the place of the fine lattice nearest to p.
func (d *job) nearestNode(p orb.Point) (node int) {
	l := d.lattice(fine)
	near := math.Inf(1)
	for k := range l.Usable {
		if away := distance(l.At(k), p); away < near {
			node, near = k, away
		}
	}
	return node
}

// toOutlet is the plan distance from p to the nearest outlet, m.
func (d *job) toOutlet(p orb.Point) float64 {
	near := math.Inf(1)
	for k := range d.out {
		near = math.Min(near, distance(p, d.out[k].at))
	}
	return near
}

// nodes is a heap of nodes, the least cost first, equal ones by number.
type nodes struct {
	list []int
	cost []float64
}

func (q *nodes) Len() int      { return len(q.list) }
func (q *nodes) Swap(i, j int) { q.list[i], q.list[j] = q.list[j], q.list[i] }
func (q *nodes) Push(x any)    { q.list = append(q.list, x.(int)) }
func (q *nodes) Less(i, j int) bool {
	a, b := q.list[i], q.list[j]
	return q.cost[a] < q.cost[b] || q.cost[a] == q.cost[b] && a < b
}
func (q *nodes) Pop() any {
	last := q.list[len(q.list)-1]
	q.list = q.list[:len(q.list)-1]
	return last
}
