package bound

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// field is a square with rectangles no pipe may enter.
type field struct {
	size  float64
	boxes []orb.Bound
}

func (f *field) plane(step float64) Plane {
	return Plane{Bound: orb.Bound{Max: orb.Point{f.size, f.size}}, Step: step, Shut: func(p orb.Point, by float64) bool {
		for _, b := range f.boxes {
			if p[0]-b.Min[0] >= by && b.Max[0]-p[0] >= by && p[1]-b.Min[1] >= by && b.Max[1]-p[1] >= by {
				return true
			}
		}
		return math.Min(math.Min(p[0], p[1]), f.size-math.Max(p[0], p[1])) <= -by
	}}
}

func starts(points []orb.Point) (list []Inflow) {
	for _, p := range points {
		list = append(list, Inflow{At: p})
	}
	return list
}

func places(points ...orb.Point) (list []orb.LineString) {
	for _, p := range points {
		list = append(list, orb.LineString{p, p})
	}
	return list
}

// sees tells whether a straight line keeps out of all rectangles.
func (f *field) sees(a, b orb.Point) bool {
	for _, r := range f.boxes {
		from, to := 0.0, 1.0
		for k := range 2 {
			d := b[k] - a[k]
			if math.Abs(d) < 1e-12 {
				if a[k] <= r.Min[k]+1e-9 || a[k] >= r.Max[k]-1e-9 {
					from, to = 1, 0
				}
				continue
			}
			s, e := (r.Min[k]-a[k])/d, (r.Max[k]-a[k])/d
			from, to = math.Max(from, math.Min(s, e)), math.Min(to, math.Max(s, e))
		}
		if to-from > 1e-9 {
			return false
		}
	}
	return true
}

// geodesics are the shortest ways between all points and the rectangles'
// corners inside the square, by every line of sight.
func (f *field) geodesics(points []orb.Point) [][]float64 {
	for _, r := range f.boxes {
		for _, p := range []orb.Point{r.Min, r.Max, {r.Min[0], r.Max[1]}, {r.Max[0], r.Min[1]}} {
			if p[0] >= 0 && p[1] >= 0 && p[0] <= f.size && p[1] <= f.size {
				points = append(points, p)
			}
		}
	}
	n := len(points)
	d := make([][]float64, n)
	for i := range d {
		d[i] = make([]float64, n)
		for j := range d[i] {
			d[i][j] = math.Inf(1)
			if f.sees(points[i], points[j]) {
				d[i][j] = math.Hypot(points[i][0]-points[j][0], points[i][1]-points[j][1])
			}
		}
	}
	for m := range d {
		for i := range d {
			for j := range d {
				d[i][j] = math.Min(d[i][j], d[i][m]+d[m][j])
			}
		}
	}
	return d
}

func randomField(rng *rand.Rand) (*field, func() orb.Point) {
	f := &field{size: 10 + 10*rng.Float64()}
	for range rng.IntN(6) {
		x, y := f.size*rng.Float64(), f.size*rng.Float64()
		f.boxes = append(f.boxes, orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + 8*rng.Float64(), y + 8*rng.Float64()}})
	}
	return f, func() orb.Point {
		for {
			p := orb.Point{f.size * rng.Float64(), f.size * rng.Float64()}
			open := true
			for _, b := range f.boxes {
				open = open && !b.Contains(p)
			}
			if open {
				return p
			}
		}
	}
}

// One inflow: never above the shortest way by every line of sight, and not far
// below.
func TestNeverAboveTheShortestWay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	share, n := 0.0, 0
	for k := range 1600 {
		f, open := randomField(rng)
		a, b := open(), open()
		exact := f.geodesics([]orb.Point{a, b})[0][1]
		if math.IsInf(exact, 1) {
			continue
		}
		got, err := Length(context.Background(), f.plane(0.09+0.15*rng.Float64()), Trees{Inflows: []Inflow{{At: a}}, Outlets: places(b), Number: 1, Known: exact * (1 + rng.Float64())})
		if err != nil || got > exact {
			t.Fatalf("field %d: bound %.6f, the way is %.6f: %v", k, got, exact, err)
		}
		if exact > 5 {
			share, n = share+got/exact, n+1
		}
	}
	if share /= float64(n); share < 0.93 {
		t.Errorf("the bound is %.3f of the length on the mean", share)
	}
	t.Logf("%.4f of the length on the mean of %d", share, n)
}

// Several inflows: never above a tree by ways through one or two joins, each
// tried at many points, nor above one way each.
func TestNeverAboveATree(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 7))
	share, n := 0.0, 0
	for k := range 500 {
		f, open := randomField(rng)
		ends := []orb.Point{open(), open(), open()}
		if k%2 == 1 {
			ends = append(ends, open())
		}
		points := append([]orb.Point{}, ends...)
		for range 60 {
			points = append(points, open())
		}
		// Near the middle of the ends a join is likely.
		for range 40 {
			w := [4]float64{rng.ExpFloat64(), rng.ExpFloat64(), rng.ExpFloat64(), rng.ExpFloat64()}
			var p orb.Point
			sum := 0.0
			for i, e := range ends {
				p[0], p[1], sum = p[0]+w[i]*e[0], p[1]+w[i]*e[1], sum+w[i]
			}
			points = append(points, orb.Point{p[0] / sum, p[1] / sum})
		}
		d := f.geodesics(points)
		tree := shortestTree(d, len(ends))
		if math.IsInf(tree, 1) {
			continue
		}
		var err error
		x := Trees{Inflows: starts(ends[1:]), Outlets: places(ends[0]), Number: 1, Known: tree}
		if k%4 > 1 {
			if x.Apart, err = Ways(t.Context(), f.lined(1e-4), x.Inflows, x.Outlets, tree); err != nil {
				t.Fatal(err)
			}
		}
		got, err := Length(context.Background(), f.plane(0.15), x)
		if err != nil || got > tree {
			t.Fatalf("field %d: bound %.6f, a tree of %.6f: %v", k, got, tree, err)
		}
		if tree > 10 {
			share, n = share+got/tree, n+1
		}
	}
	t.Logf("%.4f of the length on the mean of %d", share/float64(n), n)
	if share/float64(n) < 0.8 {
		t.Error("the bound is far below")
	}
}

// shortestTree joins the first ends of the points by subsets, the others being
// places for joins.
func shortestTree(d [][]float64, ends int) float64 {
	best := make([][]float64, 1<<(ends-1))
	for m := 1; m < len(best); m++ {
		best[m] = make([]float64, len(d))
		for v := range d {
			best[m][v] = math.Inf(1)
			for i := range ends - 1 {
				if m == 1<<i {
					best[m][v] = d[i+1][v]
				}
			}
		}
		at := append([]float64{}, best[m]...)
		for a := (m - 1) & m; a > 0; a = (a - 1) & m {
			for v := range d {
				at[v] = math.Min(at[v], best[a][v]+best[m&^a][v])
			}
		}
		for v := range d {
			for w := range d {
				best[m][v] = math.Min(best[m][v], at[w]+d[w][v])
			}
		}
	}
	return best[len(best)-1][0]
}

// Three corners of a triangle of equal sides: the shortest tree is known.
func TestTriangle(t *testing.T) {
	f := &field{size: 30}
	side := 20.0
	ends := []orb.Point{{5, 5}, {25, 5}, {15, 5 + side*math.Sqrt(3)/2}}
	tree := side * math.Sqrt(3)
	for _, step := range []float64{0.3, 0.2, 0.1} {
		got, err := Length(context.Background(), f.plane(step), Trees{Inflows: starts(ends[:2]), Outlets: places(ends[2]), Number: 1, Known: 2 * side})
		if err != nil || got > tree || got < 0.9*tree {
			t.Errorf("step %g: bound %.3f, tree %.3f: %v", step, got, tree, err)
		}
	}
}

// Two inflows far apart, an outlet by each: two trees are the two short ways,
// one tree joins them first.
func TestTwoTrees(t *testing.T) {
	f := &field{size: 30}
	in, out := starts([]orb.Point{{5, 10}, {25, 10}}), places(orb.Point{5, 2}, orb.Point{25, 2})
	for trees, exact := range map[int]float64{1: 28, 2: 16} {
		got, err := Length(context.Background(), f.plane(0.1), Trees{Inflows: in, Outlets: out, Number: trees, Known: 40})
		if err != nil || got > exact || got < 0.93*exact {
			t.Errorf("%d trees: bound %.3f, exact %.3f: %v", trees, got, exact, err)
		}
	}
}

// As many trees as inflows are the ways to the nearest outlets, exactly: never
// above those, however little longer the known trees are.
func TestNeverAboveTreesSideBySide(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 7))
	share, n := 0.0, 200
	for c := range n {
		f := &field{size: 20}
		anywhere := func() orb.Point { return orb.Point{f.size * rng.Float64(), f.size * rng.Float64()} }
		var in, out []orb.Point
		for range 2 + rng.IntN(3) {
			in, out = append(in, anywhere()), append(out, anywhere())
		}
		exact := 0.0
		for _, p := range in {
			least := math.Inf(1)
			for _, q := range out {
				least = math.Min(least, math.Hypot(p[0]-q[0], p[1]-q[1]))
			}
			exact += least
		}
		x := Trees{Inflows: starts(in), Outlets: places(out...), Number: len(in), Known: exact * (1 + 0.6*rng.Float64())}
		got, err := Length(context.Background(), f.plane(0.15), x)
		if err != nil || got > exact {
			t.Fatalf("field %d: bound %.6f, %d ways of %.6f: %v", c, got, len(in), exact, err)
		}
		// And exactly where ways are given.
		if x.Apart, err = Ways(t.Context(), nil, x.Inflows, x.Outlets, x.Known); err != nil {
			t.Fatal(err)
		}
		if got, err := Length(t.Context(), f.plane(0.3), x); err != nil || got > exact || got < exact-1e-4 {
			t.Errorf("field %d: bound %.6f by ways, %d ways of %.6f: %v", c, got, len(in), exact, err)
		}
		share += got / exact / float64(n)
	}
	if share < 0.93 {
		t.Errorf("the bound is %.3f of the length on the mean", share)
	}
	t.Logf("%.4f of the length on the mean of %d", share, n)
}

// Two trees of three inflows among rectangles: never above any two trees by ways
// and one join tried at many points, whichever inflows they part.
func TestNeverAboveTwoTreesOfThree(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 7))
	share, n := 0.0, 0
	for c := range 150 {
		f, open := randomField(rng)
		var points []orb.Point
		for range 5 + 60 {
			points = append(points, open())
		}
		in, out := points[:3], points[3:5]
		d := f.geodesics(points)
		toOutlet := func(v int) float64 { return math.Min(d[v][3], d[v][4]) }
		exact := math.Inf(1)
		for a := range in {
			x, y := (a+1)%3, (a+2)%3
			for v := range d {
				exact = math.Min(exact, toOutlet(a)+toOutlet(v)+d[v][x]+d[v][y])
			}
		}
		if math.IsInf(exact, 1) {
			continue
		}
		x := Trees{Inflows: starts(in), Outlets: places(out...), Number: 2, Known: exact * (1 + 0.2*rng.Float64())}
		var err error
		if x.Apart, err = Ways(t.Context(), f.lined(1e-4), x.Inflows, x.Outlets, x.Known); err != nil {
			t.Fatal(err)
		}
		got, err := Length(t.Context(), f.plane(0.15), x)
		if err != nil || got > exact {
			t.Fatalf("field %d: bound %.6f, two trees of %.6f: %v", c, got, exact, err)
		}
		share, n = share+got/exact, n+1
	}
	if share /= float64(n); share < 0.95 {
		t.Errorf("the bound is %.3f of the length on the mean", share)
	}
	t.Logf("%.4f of the length on the mean of %d", share, n)
}

func TestStencils(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 7))
	for _, s := range []*stencil{&narrow, &wide, &fine} {
		for range 1000 {
			x, y := rng.NormFloat64(), rng.NormFloat64()
			if n, l := s.norm(x, y), math.Hypot(x, y); n < l*(1-1e-12) || n > s.stretch*l*(1+1e-12) {
				t.Fatalf("norm of (%v, %v) is %v, length %v", x, y, n, l)
			}
		}
		for _, d := range s.steps {
			x, y := float64(d[0]), float64(d[1])
			if math.Abs(s.norm(x, y)-math.Hypot(x, y)) > 1e-12 {
				t.Errorf("a step's norm is not its length: %v", d)
			}
		}
	}
	// 16, 48 and 72 directions stretch by up to 2.75, 0.76 and 0.25 %.
	for _, x := range []struct {
		*stencil
		steps   int
		stretch float64
	}{{&narrow, 16, 1.0275}, {&wide, 48, 1.0076}, {&fine, 72, 1.0025}} {
		if len(x.stencil.steps) != x.steps || math.Abs(x.stencil.stretch-x.stretch) > 1e-4 {
			t.Errorf("%d steps stretch by %.5f, want %d by %.4f", len(x.stencil.steps), x.stencil.stretch, x.steps, x.stretch)
		}
	}
}

// Two obstacles that close a gap together, each of them too thin there to close it
// alone, are gone round.
func TestGapClosedByTwo(t *testing.T) {
	f := &field{size: 20, boxes: []orb.Bound{
		{Min: orb.Point{-5, 9}, Max: orb.Point{10.2, 11}},
		{Min: orb.Point{9.8, 9}, Max: orb.Point{17, 11}},
	}}
	a, b := orb.Point{10, 5}, orb.Point{10, 15}
	exact := f.geodesics([]orb.Point{a, b})[0][1]
	got, err := Length(t.Context(), f.plane(0.1), Trees{Inflows: []Inflow{{At: a}}, Outlets: places(b), Number: 1, Known: exact})
	if err != nil || got > exact || got < 0.9*exact {
		t.Errorf("bound %.3f, the way round is %.3f: %v", got, exact, err)
	}
}
