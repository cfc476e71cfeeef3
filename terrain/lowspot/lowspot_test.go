package lowspot_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/lowspot"
)

func find(g *grid.Grid) ([]lowspot.LowSpot, []int32) {
	f := fill.Depressions(g)
	return lowspot.Find(g, f, flow.Directions(f), lowspot.Least{})
}

// A hand-drawn hollow: two cells deep 2 and 1, spilling at 3 over the east.
func TestHollow(t *testing.T) {
	rows := [][]float32{
		{9, 9, 9, 9, 9, 9},
		{9, 8, 8, 8, 8, 9},
		{9, 8, 1, 2, 3, 2},
		{9, 8, 8, 8, 8, 9},
		{9, 9, 9, 9, 9, 9},
	}
	g := grid.New(grid.NewFrame(0, 0, 2, 2), 6, 5)
	for r, row := range rows {
		copy(g.Z[r*6:], row)
	}
	spots, into := find(g)
	if len(spots) != 1 {
		t.Fatalf("%+v", spots)
	}
	s := spots[0]
	if s.SpillElevation != 3 || s.Depth != 2 || s.Pit != g.Index(2, 2) || s.Area != 8 || s.Volume != 12 {
		t.Errorf("%+v", s)
	}
	// By hand: the nine cells of columns and rows 1 to 3. The cells at (4,1) and
	// (4,3) fall to the rim's gap at (4,2) and out.
	n := 0
	for _, k := range into {
		if k == 0 {
			n++
		}
	}
	if s.ContributingArea != 36 || n != 9 {
		t.Errorf("%d cells, %v m2; by hand 9 cells, 36 m2", n, s.ContributingArea)
	}
}

// Water runs on over a hollow too shallow to count: what drains to it drains to
// the low spot below.
func TestShallow(t *testing.T) {
	g := grid.New(grid.NewFrame(0, 0, 1, 1), 9, 3)
	for i := range g.Z {
		g.Z[i] = 20
	}
	copy(g.Z[9:], []float32{20, 8, 7, 6.99, 7.01, 3, 1, 5, 0})
	f := fill.Depressions(g)
	dir := flow.Directions(f)
	if all, _ := lowspot.Find(g, f, dir, lowspot.Least{}); len(all) != 2 || all[1].ContributingArea != 3 {
		t.Errorf("every hollow: %+v", all)
	}
	spots, into := lowspot.Find(g, f, dir, lowspot.Least{Depth: 0.05})
	if len(spots) != 1 || spots[0].ContributingArea != 6 || into[g.Index(3, 1)] != 0 {
		t.Errorf("those that count: %+v, %v", spots, into[9:18])
	}
}

// A paraboloid dug into a plain: depth, area and volume by formula.
func TestParaboloid(t *testing.T) {
	const n, radius, depth = 121, 50.0, 2.0
	g := grid.New(grid.NewFrame(0, 0, 1, 1), n, n)
	for i := range g.Z {
		c, r := g.Cell(i)
		d := math.Hypot(float64(c-n/2), float64(r-n/2))
		g.Z[i] = float32(10 + math.Min(0, depth*(d*d/radius/radius-1)))
	}
	spots, _ := find(g)
	s := slices.MaxFunc(spots, func(a, b lowspot.LowSpot) int { return cmp.Compare(a.Depth, b.Depth) })
	if math.Abs(s.Depth-depth) > 1e-5 || math.Abs(s.Area/(math.Pi*radius*radius)-1) > 0.01 || math.Abs(s.Volume/(math.Pi*radius*radius*depth/2)-1) > 0.01 {
		t.Errorf("depth %v, area %v of %v, volume %v of %v", s.Depth, s.Area, math.Pi*radius*radius, s.Volume, math.Pi*radius*radius*depth/2)
	}
}

// Outlines enclose the area of their cells, outer rings run counter-clockwise,
// every ring is closed, none touches itself, a hole lies in the smallest ring
// round it, and the largest part comes first.
func TestOutline(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	holes := 0
	for range 500 {
		g := grid.New(grid.NewFrame(0, 0, 1.5, 2), 12, 12)
		var cells []int
		for i := range g.Z {
			if c, r := g.Cell(i); c > 0 && r > 0 && c < 11 && r < 11 && rng.IntN(2) == 0 {
				cells = append(cells, i)
			}
		}
		area, last := 0.0, math.Inf(1)
		outline := lowspot.Outline(g, cells)
		for _, p := range outline {
			if a := planar.Area(p); a > last {
				t.Fatalf("a part of %v after one of %v", a, last)
			} else {
				last = a
			}
			for _, h := range p[1:] {
				at := orb.Point{(h[0][0] + h[1][0]) / 2, (h[0][1] + h[1][1]) / 2}
				if !planar.RingContains(p[0], at) {
					t.Fatal("a hole outside its ring")
				}
				for _, q := range outline {
					if planar.RingContains(q[0], at) && math.Abs(planar.Area(q[0])) < math.Abs(planar.Area(p[0])) {
						t.Fatal("a smaller ring lies round a hole")
					}
				}
				holes++
			}
			if p[0].Orientation() != orb.CCW {
				t.Fatal("an outer ring runs clockwise")
			}
			for k, r := range p {
				if r[0] != r[len(r)-1] {
					t.Fatal("an open ring")
				}
				corners := map[orb.Point]bool{}
				for _, q := range r[1:] {
					if corners[q] {
						t.Fatalf("a ring touches itself at %v", q)
					}
					corners[q] = true
				}
				a := math.Abs(planar.Area(r))
				if k > 0 {
					a = -a
				}
				area += a
			}
		}
		if want := float64(len(cells)) * 3; math.Abs(area-want) > 1e-9 {
			t.Fatalf("area %v of %d cells, want %v", area, len(cells), want)
		}
	}
	if holes < 400 {
		t.Fatalf("%d holes: the draw has lost its grip", holes)
	}
}
