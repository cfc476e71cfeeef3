package bound

import (
	"context"
	"math"
	"math/bits"
	"slices"

	"github.com/paulmach/orb"
)

// Most is the number of inflows up to which a bound is found: the work grows
// threefold with each.
const Most = 8

// Plane is where pipes may run.
type Plane struct {
	Bound orb.Bound // no pipe runs beyond, m
	Step  float64   // of the lattice, m
	// Shut tells that no pipe comes within by metres of p.
	Shut func(p orb.Point, by float64) bool
}

// Inflow is a place a pipe starts. Its first Exit metres, m, may run straight
// where pipes are shut out.
type Inflow struct {
	At   orb.Point
	Exit float64
}

// rounding is what sums of a few thousand steps in float32 may come out long,
// in lattice steps.
const rounding = 0.01

// Length returns a plan length, m, that no network from all inflows to so many
// outlets, one or more, goes below; 0 where nothing better is known. A place an
// outlet may have lies within spread of one of outlets. most is the length of a
// network that is known, m; longer ways are not looked at. It errs where ctx
// ends.
func Length(ctx context.Context, p Plane, inflows []Inflow, outlets []orb.Point, trees int, spread, most float64) (float64, error) {
	k := len(inflows)
	if k == 0 || k > Most || trees > k {
		return 0, nil
	}
	set, slack := &narrow, narrow.slack(k, trees)
	if wide.loss(k, trees, most/p.Step) < narrow.loss(k, trees, most/p.Step) {
		set, slack = &wide, wide.slack(k, trees)
	}
	l := newLattice(p, set)
	tree, err := l.shortest(ctx, inflows, outlets, trees, spread, set.stretch*most/p.Step+slack)
	if err != nil {
		return 0, err
	}
	return math.Max(0, (tree-slack)*p.Step/set.stretch), nil
}

// lattice is the plane's nodes with those that are shut; lengths are in steps.
type lattice struct {
	Plane
	*stencil
	cols, rows int
	shut       []bool
}

func newLattice(p Plane, set *stencil) *lattice {
	pad := set.strayed * p.Step
	p.Bound = p.Bound.Pad(pad)
	l := &lattice{Plane: p, stencil: set, cols: int(math.Ceil((p.Bound.Max[0]-p.Bound.Min[0])/p.Step)) + 1,
		rows: int(math.Ceil((p.Bound.Max[1]-p.Bound.Min[1])/p.Step)) + 1}
	l.shut = make([]bool, l.cols*l.rows)
	for i := range l.shut {
		l.shut[i] = p.Shut(l.at(i), pad)
	}
	return l
}

func (l *lattice) at(i int) orb.Point {
	return orb.Point{l.Bound.Min[0] + float64(i%l.cols)*l.Step, l.Bound.Min[1] + float64(i/l.cols)*l.Step}
}

// round calls f with each node within reach steps of q, open or shut.
func (l *lattice) round(q orb.Point, reach float64, f func(i int, x, y float64)) {
	u, v := (q[0]-l.Bound.Min[0])/l.Step, (q[1]-l.Bound.Min[1])/l.Step
	for row := max(0, int(v-reach)); row <= min(l.rows-1, int(v+reach)+1); row++ {
		for col := max(0, int(u-reach)); col <= min(l.cols-1, int(u+reach)+1); col++ {
			f(row*l.cols+col, u-float64(col), v-float64(row))
		}
	}
}

// shortest is the length of the shortest trees, so many, that join all inflows
// to outlets, no longer than most; most where all are longer.
func (l *lattice) shortest(ctx context.Context, inflows []Inflow, outlets []orb.Point, trees int, spread, most float64) (float64, error) {
	k := len(inflows)
	s := &steiner{lattice: l, trees: trees, best: make([][]float32, 1<<k), most: most, all: 1<<k - 1}
	ends := make([]float32, len(l.shut))
	fill(ends)
	var q queue
	for _, o := range outlets {
		reach := 1/math.Sqrt2 + spread/l.Step
		l.round(o, reach, func(i int, x, y float64) {
			if !l.shut[i] && math.Hypot(x, y) <= reach && ends[i] > 0 {
				ends[i] = 0
				q.push(0, int32(i))
			}
		})
	}
	within := func(d float32, _ int) bool { return float64(d) <= most }
	s.spreadOut(ends, &q, within)
	s.toOutlet = ends
	for i, p := range inflows {
		from := make([]float32, len(l.shut))
		fill(from)
		reach := l.strayed + l.stretch*p.Exit/l.Step
		l.round(p.At, reach, func(n int, x, y float64) {
			if d := l.norm(x, y); !l.shut[n] && d <= reach {
				from[n] = float32(d)
				q.push(from[n], int32(n))
			}
		})
		s.spreadOut(from, &q, within)
		s.best[1<<i] = from
	}
	return s.join(ctx)
}

// steiner is the search for the shortest tree: best[m] is, by node, the length
// of the shortest tree that joins the inflows of set m and the node.
type steiner struct {
	*lattice
	best     [][]float32
	toOutlet []float32
	trees    int
	most     float64
	all      int
}

// join builds trees of ever larger sets: two that meet at a node, then on over
// the lattice.
func (s *steiner) join(ctx context.Context) (float64, error) {
	// The shortest trees of each set to outlets, by their number less one.
	drained := make([][]float64, s.all+1)
	for m := 1; m <= s.all; m++ {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if bits.OnesCount(uint(m)) > 1 {
			t := make([]float32, len(s.shut))
			fill(t)
			for a := (m - 1) & m; a > m&^a; a = (a - 1) & m {
				x, y := s.best[a], s.best[m&^a]
				if x == nil || y == nil {
					continue
				}
				for i := range t {
					if d := x[i] + y[i]; d < t[i] {
						t[i] = d
					}
				}
			}
			var q queue
			for i := range t {
				if s.hopeful(t[i], i) {
					q.push(t[i], int32(i))
				} else {
					t[i] = float32(math.Inf(1))
				}
			}
			s.spreadOut(t, &q, s.hopeful)
			s.best[m] = t
		}
		drained[m] = slices.Repeat([]float64{s.most}, s.trees)
		for i, d := range s.best[m] {
			drained[m][0] = math.Min(drained[m][0], float64(d)+float64(s.toOutlet[i]))
		}
		for a := (m - 1) & m; a > 0; a = (a - 1) & m {
			for j := 1; j < s.trees; j++ {
				drained[m][j] = math.Min(drained[m][j], drained[a][0]+drained[m&^a][j-1])
			}
		}
	}
	return drained[s.all][s.trees-1], nil
}

// hopeful tells whether a tree of length d at node i may still be part of one
// not longer than the most: it has yet to reach an outlet.
func (s *steiner) hopeful(d float32, i int) bool {
	return float64(d)+float64(s.toOutlet[i]) <= s.most
}

// spreadOut settles lengths over the lattice from what the queue holds, no
// farther than is hopeful.
func (l *lattice) spreadOut(t []float32, q *queue, hopeful func(d float32, i int) bool) {
	for {
		d, v, ok := q.pop()
		if !ok {
			return
		}
		if d > t[v] {
			continue
		}
		col, row := int(v)%l.cols, int(v)/l.cols
		for k, x := range l.steps {
			c, r := col+x[0], row+x[1]
			if c < 0 || r < 0 || c >= l.cols || r >= l.rows {
				continue
			}
			w := r*l.cols + c
			e := d + l.lengths[k]
			if l.shut[w] || e >= t[w] || !hopeful(e, w) {
				continue
			}
			t[w] = e
			q.push(e, int32(w))
		}
	}
}

// queue holds nodes by length in buckets of one lattice step. No step is
// shorter, so a bucket's nodes need no order.
type queue struct {
	buckets [][]entry
	at      int
}

type entry struct {
	d float32
	n int32
}

func (q *queue) push(d float32, n int32) {
	k := int(d)
	for len(q.buckets) <= k {
		q.buckets = append(q.buckets, nil)
	}
	q.buckets[k] = append(q.buckets[k], entry{d, n})
	q.at = min(q.at, k)
}

func (q *queue) pop() (d float32, n int32, ok bool) {
	for ; q.at < len(q.buckets); q.at++ {
		if b := q.buckets[q.at]; len(b) > 0 {
			q.buckets[q.at] = b[:len(b)-1]
			return b[len(b)-1].d, b[len(b)-1].n, true
		}
	}
	return 0, 0, false
}

func fill(t []float32) {
	for i := range t {
		t[i] = float32(math.Inf(1))
	}
}
