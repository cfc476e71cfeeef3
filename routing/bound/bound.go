package bound

import (
	"context"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
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

// Trees are what a bound is for: so many trees, one or more, that join all
// inflows to places anywhere on the lines of Outlets, m. Known is the length of
// such trees that is known, m; longer ones are not looked at. Apart, where it is given,
// are lengths that no ways between two inflows, or one and, last, the outlets, go below,
// m, as Ways finds them.
type Trees struct {
	Inflows []Inflow
	Outlets []orb.LineString // two points or more each; a place is twice the same
	Number  int
	Known   float64
	Apart   [][]float64
}

// Length returns a plan length, m, that no such trees go below; 0 where nothing
// better is known. It errs where ctx ends.
func Length(ctx context.Context, p Plane, x Trees) (float64, error) {
	k := len(x.Inflows)
	if k == 0 || k > Most || x.Number > k {
		return 0, nil
	}
	set := &narrow
	for _, other := range []*stencil{&wide, &fine} {
		if other.loss(k, x.Number, x.Known/p.Step) < set.loss(k, x.Number, x.Known/p.Step) {
			set = other
		}
	}
	slack := slack(k, x.Number)
	most := set.stretch*x.Known/p.Step + slack
	// Trees start at nodes beside their outlets.
	reach := set.strayed + 1/math.Sqrt2
	within := most + float64(x.Number)/math.Sqrt2
	l := newLattice(p, set, x.near(within*p.Step), x.near((within+reach)*p.Step), reach)
	return l.shortest(ctx, x, most)
}

// StepFor is the spacing, m, of the lattice that has about so many nodes, counted
// once for each set of inflows, where trees may run.
func StepFor(p Plane, x Trees, nodes float64) float64 {
	near := x.near(x.Known)
	open := 0.0
	for u := p.Bound.Min[0]; u < p.Bound.Max[0]; u += p.Step {
		for v := p.Bound.Min[1]; v < p.Bound.Max[1]; v += p.Step {
			if at := (orb.Point{u, v}); near(at) && !p.Shut(at, 0) {
				open++
			}
		}
	}
	return p.Step * math.Sqrt(open*float64(int(1)<<len(x.Inflows))/nodes)
}

// near tells of a point whether trees through it may be no longer than most, m,
// on straight lines: a way there and back along trees comes by all terminals.
func (x *Trees) near(most float64) func(orb.Point) bool {
	n := len(x.Inflows) + 1
	away := func(p orb.Point, d []float64) []float64 {
		for i, q := range x.Inflows {
			d[i] = math.Hypot(p[0]-q.At[0], p[1]-q.At[1])
		}
		d[n-1] = x.toOutlet(p)
		return d
	}
	apart := make([][]float64, n)
	for i, q := range x.Inflows {
		apart[i] = away(q.At, make([]float64, n))
	}
	apart[n-1] = make([]float64, n)
	for i := range x.Inflows {
		apart[n-1][i] = apart[i][n-1]
	}
	if x.Number > 1 {
		overOutlets(apart)
	}
	past := ways(apart, math.Inf(1))[1<<n-1]
	d := make([]float64, n)
	return func(p orb.Point) bool {
		away(p, d)
		if x.Number > 1 {
			for i := range d {
				d[i] = min(d[i], d[n-1]+apart[n-1][i])
			}
		}
		return roundTrip(d, past, 1<<n-1)/2 <= most
	}
}

// toOutlet is the distance to the nearest place for an outlet, m.
func (x *Trees) toOutlet(p orb.Point) float64 {
	least := math.Inf(1)
	for _, line := range x.Outlets {
		for k := 1; k < len(line); k++ {
			if d := planar.DistanceFromSegmentSquared(line[k-1], line[k], p); d < least {
				least = d
			}
		}
	}
	return math.Sqrt(least)
}

// lattice is the plane's nodes with those that are shut.
type lattice struct {
	Plane
	*stencil
	cols, rows int
	shut       []bool
	onward     []int // from a node to the end of each step
	reach      int   // of the longest step along a side
}

// newLattice lays the nodes; those that are not near are shut too. beside is where
// what lies within reach of those that are may be.
func newLattice(p Plane, set *stencil, near, beside func(orb.Point) bool, reach float64) *lattice {
	pad := set.strayed * p.Step
	p.Bound = p.Bound.Pad(pad)
	l := &lattice{Plane: p, stencil: set, cols: int(math.Ceil((p.Bound.Max[0]-p.Bound.Min[0])/p.Step)) + 1,
		rows: int(math.Ceil((p.Bound.Max[1]-p.Bound.Min[1])/p.Step)) + 1}
	for _, x := range set.steps {
		l.onward = append(l.onward, x[1]*l.cols+x[0])
		l.reach = max(l.reach, x[0], x[1])
	}
	l.shut = make([]bool, l.cols*l.rows)
	for i, away := range l.toFree(beside, reach) {
		l.shut[i] = away > reach || !near(l.at(i)) || away > 0 && p.Shut(l.at(i), pad)
	}
	return l
}

// toFree is how far, in lattice steps, each node lies from the nearest one beside what
// is near whose square is not shut, up to reach; more where none lies so near.
func (l *lattice) toFree(beside func(orb.Point) bool, reach float64) []float64 {
	n := int(reach) + 1
	along := make([]int, l.cols*l.rows) // the row
	for r := range l.rows {
		row := along[r*l.cols : (r+1)*l.cols]
		last := -2 * n
		for c := range row {
			if at := l.at(r*l.cols + c); beside(at) && !l.Shut(at, l.Step/math.Sqrt2) {
				last = c
			}
			row[c] = c - last
		}
		last = l.cols + 2*n
		for c := l.cols - 1; c >= 0; c-- {
			if row[c] == 0 {
				last = c
			}
			row[c] = min(row[c], last-c)
		}
	}
	away := make([]float64, len(along))
	for i := range away {
		col, row := i%l.cols, i/l.cols
		least := 4 * n * n
		for r := max(0, row-n); r <= min(l.rows-1, row+n); r++ {
			if a := along[r*l.cols+col]; a <= n {
				least = min(least, a*a+(r-row)*(r-row))
			}
		}
		away[i] = math.Sqrt(float64(least))
	}
	return away
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

// along calls f with the nodes that are nearest to a place of a line, and maybe a
// few more, some more than once.
func (l *lattice) along(line orb.LineString, f func(i int)) {
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		n := math.Ceil(planar.Distance(a, b) / l.Step)
		for m := 0.0; m <= n; m++ {
			t := m / max(n, 1)
			q := orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
			// No place is more than half a step from the next q.
			l.round(q, 0.5+1/math.Sqrt2, func(i int, _, _ float64) {
				if planar.DistanceFromSegment(a, b, l.at(i)) <= l.Step/math.Sqrt2 {
					f(i)
				}
			})
		}
	}
}

// shortest is a length, m, that trees, so many, that join all inflows to outlets do
// not go below. Known is where they are all longer than most on the lattice.
func (l *lattice) shortest(ctx context.Context, x Trees, most float64) (float64, error) {
	s := &steiner{lattice: l, k: len(x.Inflows), trees: x.Number, most: whole(most) + 1, tours: x.halfTours()}
	s.ends = make([][]entry, s.k+1)
	for _, line := range x.Outlets {
		l.along(line, func(i int) {
			if !l.shut[i] {
				s.ends[s.k] = append(s.ends[s.k], entry{0, int32(i)})
			}
		})
	}
	for i, p := range x.Inflows {
		reach := l.strayed + l.stretch*p.Exit/l.Step
		l.round(p.At, reach, func(n int, u, v float64) {
			if d := l.norm(u, v); !l.shut[n] && d <= reach {
				s.ends[i] = append(s.ends[i], entry{whole(d), int32(n)})
			}
		})
	}
	if err := s.alone(ctx); err != nil {
		return 0, err
	}
	s.tour()
	length, err := s.join(ctx)
	return min(x.Known, length), err
}

// spreadOut settles lengths over the lattice from what the queue holds, no
// farther than is hopeful.
func (l *lattice) spreadOut(t []int32, q *queue, hopeful func(d int32, i int) bool) {
	for {
		d, v, ok := q.pop()
		if !ok {
			return
		}
		if d > t[v] || !hopeful(d, int(v)) {
			continue
		}
		col, row := int(v)%l.cols, int(v)/l.cols
		inland := col >= l.reach && row >= l.reach && col < l.cols-l.reach && row < l.rows-l.reach
		for k, x := range l.steps {
			if !inland {
				if c, r := col+x[0], row+x[1]; c < 0 || r < 0 || c >= l.cols || r >= l.rows {
					continue
				}
			}
			w := int(v) + l.onward[k]
			if e := d + l.lengths[k]; e < t[w] && !l.shut[w] {
				t[w] = e
				q.push(e, int32(w))
			}
		}
	}
}

// queue holds nodes by length in buckets of one lattice step. No step is
// shorter, so a bucket's nodes need no order.
type queue struct {
	buckets [][]entry
	at      int
	spare   [][]entry // buckets that came empty, for those to come
}

type entry struct {
	d, n int32
}

func (q *queue) push(d, node int32) {
	k := int(d / parts)
	for len(q.buckets) <= k {
		q.buckets = append(q.buckets, nil)
	}
	if n := len(q.spare); q.buckets[k] == nil && n > 0 {
		q.buckets[k], q.spare = q.spare[n-1], q.spare[:n-1]
	}
	q.buckets[k] = append(q.buckets[k], entry{d, node})
	q.at = min(q.at, k)
}

func (q *queue) pop() (d, n int32, ok bool) {
	for ; q.at < len(q.buckets); q.at++ {
		if b := q.buckets[q.at]; len(b) > 0 {
			q.buckets[q.at] = b[:len(b)-1]
			return b[len(b)-1].d, b[len(b)-1].n, true
		} else if b != nil {
			q.buckets[q.at], q.spare = nil, append(q.spare, b)
		}
	}
	return 0, 0, false
}
