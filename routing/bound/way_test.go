package bound

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// lined is the barriers of a field, so far within its rectangles and round it that
// they reach the edges.
func (f *field) lined(thin float64) (barriers []Barrier) {
	for k, b := range append([]orb.Bound{{Max: orb.Point{f.size, f.size}}}, f.boxes...) {
		by := -thin
		if k == 0 {
			by = thin
		}
		b = b.Pad(by)
		ring := b.ToRing()
		for i := 1; i < len(ring); i++ {
			barriers = append(barriers, Barrier{ring[i-1], ring[i], thin})
		}
	}
	return barriers
}

// Among rectangles: never above the shortest way by every line of sight, and as
// long but for the corners.
func TestWayAmongRectangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	const thin = 1e-4
	shut := 0
	for k := range 2000 {
		f, open := randomField(rng)
		a, b := open(), open()
		exact := f.geodesics([]orb.Point{a, b})[0][1]
		got, err := Way(t.Context(), f.lined(thin), Inflow{At: a}, places(b), 100)
		if err != nil {
			t.Fatal(err)
		}
		if math.IsInf(exact, 1) {
			shut++
			if !math.IsInf(got, 1) {
				t.Errorf("field %d: a way of %.6f, there is none", k, got)
			}
		} else if got > exact || got < exact-10*thin-2*rounding {
			t.Errorf("field %d: %.6f, the way is %.6f", k, got, exact)
		}
	}
	if shut == 0 || shut > 1000 {
		t.Errorf("%d of the fields have no way", shut)
	}
}

// apart is the distance of a barrier and the line from a to b, by thirds: that of a point
// moving along the line has one least. Far off it is less.
func apart(a, b orb.Point, w Barrier) float64 {
	ahead := math.Hypot(b[0]-a[0], b[1]-a[1]) / 2
	to := func(t float64) float64 {
		x, y := a[0]+t*(b[0]-a[0]), a[1]+t*(b[1]-a[1])
		ux, uy := w.B[0]-w.A[0], w.B[1]-w.A[1]
		s := 0.0
		if l := ux*ux + uy*uy; l > 0 {
			s = math.Min(1, math.Max(0, ((x-w.A[0])*ux+(y-w.A[1])*uy)/l))
		}
		return math.Hypot(x-w.A[0]-s*ux, y-w.A[1]-s*uy)
	}
	if far := to(0.5) - ahead; far > w.Radius {
		return far // or more
	}
	low, high := 0.0, 1.0
	for range 40 {
		third := (high - low) / 3
		if to(low+third) < to(high-third) {
			high -= third
		} else {
			low += third
		}
	}
	return math.Min(to(low), math.Min(to(0), to(1)))
}

// circle is so many places round c.
func circle(c orb.Point, r float64, around int) (list []orb.Point) {
	for k := range around {
		sin, cos := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / float64(around))
		list = append(list, orb.Point{c[0] + r*cos, c[1] + r*sin})
	}
	return list
}

// slowWay is a way to one of the ends that is surely free: by corners a little off the
// barriers and the ends of an exit straight to every side, by every line of sight. around
// is the number of corners round a circle.
func slowWay(barriers []Barrier, from Inflow, to []orb.Point, around int) float64 {
	free := func(a, b orb.Point) bool {
		for _, w := range barriers {
			if apart(a, b, w) < w.Radius-1e-9 {
				return false
			}
		}
		return true
	}
	points := append([]orb.Point{from.At}, circle(from.At, from.Exit*(1-1e-9), around)...)
	for _, w := range barriers {
		for _, c := range []orb.Point{w.A, w.B} {
			points = append(points, circle(c, w.Radius/math.Cos(math.Pi/float64(around)), around)...)
		}
	}
	ends := len(points)
	points = append(points, to...)
	d, done := make([]float64, len(points)), make([]bool, len(points))
	for i, p := range points {
		if d[i] = math.Hypot(p[0]-from.At[0], p[1]-from.At[1]); d[i] > from.Exit {
			d[i] = math.Inf(1)
		}
	}
	for {
		u := -1
		for i := range d {
			if !done[i] && !math.IsInf(d[i], 1) && (u < 0 || d[i] < d[u]) {
				u = i
			}
		}
		if u < 0 {
			return math.Inf(1)
		}
		if u >= ends {
			return d[u]
		}
		done[u] = true
		for v := range d {
			e := d[u] + math.Hypot(points[u][0]-points[v][0], points[u][1]-points[v][1])
			if !done[v] && e < d[v] && free(points[u], points[v]) {
				d[v] = e
			}
		}
	}
}

// Among barriers as thick as setbacks, out of an exit, to a stretch of curb: never
// above a way that is surely free, and not farther below than that is coarse.
func TestWayAmongBarriers(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 7))
	anywhere := func() orb.Point { return orb.Point{20 * rng.Float64(), 20 * rng.Float64()} }
	bent, through := 0, 0
	const n, around = 300, 24
	for k := range n {
		var barriers []Barrier
		for range 1 + rng.IntN(5) {
			a := anywhere()
			barriers = append(barriers, Barrier{a, a, 0.2 + 1.5*rng.Float64()})
			if rng.IntN(3) > 0 {
				barriers[len(barriers)-1].B = orb.Point{a[0] + 5*rng.NormFloat64(), a[1] + 5*rng.NormFloat64()}
			}
		}
		from := Inflow{At: anywhere()}
		if k%2 == 0 { // within a barrier, as a downspout in a roof's setback
			w, s := barriers[0], rng.Float64()
			from = Inflow{At: orb.Point{w.A[0] + s*(w.B[0]-w.A[0]), w.A[1] + s*(w.B[1]-w.A[1])}, Exit: w.Radius * (0.8 + rng.Float64())}
		}
		outlet := orb.LineString{anywhere(), anywhere()}
		var ends []orb.Point
		for k := range around + 1 {
			t := float64(k) / around
			ends = append(ends, orb.Point{outlet[0][0] + t*(outlet[1][0]-outlet[0][0]), outlet[0][1] + t*(outlet[1][1]-outlet[0][1])})
		}
		slow := slowWay(barriers, from, ends, around)
		got, err := Way(t.Context(), barriers, from, []orb.LineString{outlet}, 100)
		if err != nil || got > slow {
			t.Fatalf("field %d: %.6f, a way of %.6f: %v", k, got, slow, err)
		}
		if math.IsInf(got, 1) {
			continue
		}
		// Half of what lies between neighbouring places, for either end.
		coarse := (2*math.Pi*from.Exit + planar.Length(outlet)) / around
		if got < slow-coarse-0.02 {
			t.Errorf("field %d: %.6f, the shortest way found is %.6f", k, got, slow)
		}
		if got > planar.DistanceFromSegment(outlet[0], outlet[1], from.At)+0.01 {
			bent++
			if from.Exit > 0 {
				through++
			}
		}
	}
	if bent < n/6 || through < n/20 {
		t.Errorf("%d ways bend, %d out of an exit: too few to tell", bent, through)
	}
}

// From one exit into another: likewise, and the same from either end.
func TestWaysBetweenInflows(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 7))
	const n = 200
	bent := 0
	for k := range n {
		var barriers []Barrier
		var inflows []Inflow
		for range 2 + rng.IntN(3) {
			a := orb.Point{12 * rng.Float64(), 12 * rng.Float64()}
			w := Barrier{a, orb.Point{a[0] + 4*rng.NormFloat64(), a[1] + 4*rng.NormFloat64()}, 0.2 + rng.Float64()}
			barriers = append(barriers, w)
			if len(inflows) < 2 {
				s := rng.Float64()
				at := orb.Point{w.A[0] + s*(w.B[0]-w.A[0]), w.A[1] + s*(w.B[1]-w.A[1])}
				inflows = append(inflows, Inflow{At: at, Exit: w.Radius * (0.9 + rng.Float64())})
			}
		}
		from, to := inflows[0], inflows[1]
		straight := planar.Distance(from.At, to.At)
		slowly := func(around int) float64 {
			if straight <= from.Exit+to.Exit {
				return straight
			}
			return slowWay(barriers, from, circle(to.At, to.Exit*(1-1e-9), around), around) + to.Exit
		}
		around := 24
		slow := slowly(around)
		apart, err := Ways(t.Context(), barriers, inflows, places(orb.Point{}), 100)
		if err != nil || apart[0][1] > slow || apart[0][1] < straight-2*rounding {
			t.Fatalf("field %d: %.6f, a way of %.6f, straight %.6f: %v", k, apart[0][1], slow, straight, err)
		}
		slices.Reverse(inflows)
		back, err := Ways(t.Context(), barriers, inflows, places(orb.Point{}), 100)
		if err != nil || math.Abs(back[0][1]-apart[0][1]) > 2*rounding {
			t.Errorf("field %d: %.6f, back %.6f: %v", k, apart[0][1], back[0][1], err)
		}
		if math.IsInf(slow, 1) || math.IsInf(apart[0][1], 1) {
			continue
		}
		coarse := func() float64 { return 0.02 + 2*math.Pi*(from.Exit+to.Exit)/float64(around) }
		if apart[0][1] < slow-coarse() { // a narrow way out is found by more places alone
			around = 150
			slow = slowly(around)
		}
		if apart[0][1] < slow-coarse() {
			t.Errorf("field %d: %.6f, the shortest way found is %.6f", k, apart[0][1], slow)
		}
		if apart[0][1] > straight+0.01 {
			bent++
		}
	}
	if bent < n/6 {
		t.Errorf("%d ways bend: too few to tell", bent)
	}
}

// Ways whose length a formula gives.
func TestWaysByFormula(t *testing.T) {
	barrier := Barrier{orb.Point{-5, 0}, orb.Point{5, 0}, 1}
	long := Barrier{orb.Point{-50, 0}, orb.Point{50, 0}, 1}
	for _, x := range []struct {
		name     string
		barriers []Barrier
		from     Inflow
		outlets  []orb.LineString
		want     float64
	}{
		{"square to a slanted curb", nil, Inflow{At: orb.Point{0, 7}}, []orb.LineString{{{-20, -15}, {20, 15}}}, 7 * 0.8},
		{"to the end of a curb", nil, Inflow{At: orb.Point{3, 4}}, []orb.LineString{{{-20, 0}, {0, 0}}}, 5},
		// Tangents of 7 m to a circle 50^0.5 m off, and the arc between.
		{"round a barrier", []Barrier{barrier}, Inflow{At: orb.Point{0, 5}}, places(orb.Point{0, -5}),
			14 + 2*math.Pi - 2*(math.Pi/4+math.Atan(7))},
		{"out of a setback straight", []Barrier{long}, Inflow{At: orb.Point{0, 0.5}, Exit: 1}, places(orb.Point{6, 5}), 7.5},
		{"out of a setback as far along as the exit reaches", []Barrier{long}, Inflow{At: orb.Point{0, 0.5}, Exit: 1}, places(orb.Point{10, 1.5}),
			1 + math.Hypot(10-math.Sqrt(0.75), 0.5)},
		// The curb leaves the barrier where it is 1 m off.
		{"where a curb leaves a barrier", []Barrier{long}, Inflow{At: orb.Point{-10, 1}}, []orb.LineString{{{0, -3}, {5, 7}}}, 12},
		{"no way through", []Barrier{long}, Inflow{At: orb.Point{0, 0.5}, Exit: 1}, places(orb.Point{0, -5}), math.Inf(1)},
	} {
		got, err := Way(t.Context(), x.barriers, x.from, x.outlets, 90)
		if err != nil || got > x.want || got < x.want-1e-3 {
			t.Errorf("%s: %.6f, want %.6f: %v", x.name, got, x.want, err)
		}
	}
}

// A lot of 20 by 40 m, its house across it, so many roots in front, and a downspout
// behind.
func BenchmarkWay(b *testing.B) {
	for _, trees := range []int{0, 10, 100} {
		b.Run(fmt.Sprint("trees=", trees), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(9, 7))
			var barriers []Barrier
			ring := func(r orb.Ring, radius float64) {
				for k := 1; k < len(r); k++ {
					barriers = append(barriers, Barrier{r[k-1], r[k], radius})
				}
			}
			ring(orb.Bound{Max: orb.Point{20, 40}}.ToRing(), 0.3)
			ring(orb.Ring{{3, 20}, {17, 20}, {17, 32}, {10, 32}, {10, 30}, {3, 30}, {3, 20}}, 0.6)
			for range trees {
				at := orb.Point{2 + 16*rng.Float64(), 4 + 12*rng.Float64()}
				barriers = append(barriers, Barrier{at, at, 0.1 + 0.5*rng.Float64()})
			}
			for b.Loop() {
				length, err := Way(b.Context(), barriers, Inflow{orb.Point{12, 32}, 1.1}, []orb.LineString{{{1, 0.31}, {19, 0.31}}}, 50)
				if err != nil || math.IsInf(length, 1) {
					b.Fatal(length, err)
				}
			}
		})
	}
}
