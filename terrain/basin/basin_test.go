package basin_test

import (
	"cmp"
	"fmt"
	"math/bits"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"curbfall/terrain/basin"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// ExampleFollow parts a row: two pits, a void, and cells that drain straight
// out at the ends.
func ExampleFollow() {
	const e, w = 1, 16
	dir := []uint8{flow.Out, w, e, flow.Pit, w, e, flow.Pit, flow.Void, e, flow.Out}
	l := basin.Follow(dir, len(dir))
	fmt.Println(l.Of, l.Pits)
	// Output: [1 1 2 2 2 3 3 0 1 1] [3 6]
}

// A ring has as many arcs as a walk from neighbour to touching neighbour finds,
// and one head in each.
func TestArcs(t *testing.T) {
	for ring := range 256 {
		seen, arcs := 0, 0
		for k := range 8 {
			if ring>>k&1 == 0 || seen>>k&1 == 1 {
				continue
			}
			arcs++
			if basin.Heads(uint8(ring))>>k&1 == 0 {
				t.Errorf("ring %08b: no head at its arc from %d", ring, k)
			}
			stack := []int{k}
			for seen |= 1 << k; len(stack) > 0; {
				a := grid.Steps[stack[len(stack)-1]]
				stack = stack[:len(stack)-1]
				for m, b := range grid.Steps {
					touch := max(a.Col-b.Col, b.Col-a.Col, a.Row-b.Row, b.Row-a.Row) == 1
					if touch && ring>>m&1 == 1 && seen>>m&1 == 0 {
						seen |= 1 << m
						stack = append(stack, m)
					}
				}
			}
		}
		if last := basin.Heads(uint8(ring)) &^ basin.Others(uint8(ring)); ring > 0 && (bits.OnesCount8(last) != 1 || !sameArc(ring, bits.TrailingZeros8(last), bits.Len8(uint8(ring))-1)) {
			t.Errorf("ring %08b: heads %08b, others %08b", ring, basin.Heads(uint8(ring)), basin.Others(uint8(ring)))
		}
		heads := 0
		for k := range 8 {
			heads += int(basin.Heads(uint8(ring)) >> k & 1)
		}
		if basin.Saddle(uint8(ring)) != (arcs > 1) || heads != arcs {
			t.Errorf("ring %08b has %d arcs: saddle %v, %d heads", ring, arcs, basin.Saddle(uint8(ring)), heads)
		}
	}
}

// sameArc tells whether two neighbours of a ring hang together in it.
func sameArc(ring, a, b int) bool {
	reached := 1 << a
	for range 8 {
		for k, p := range grid.Steps {
			for m, q := range grid.Steps {
				touch := max(p.Col-q.Col, q.Col-p.Col, p.Row-q.Row, q.Row-p.Row) == 1
				if touch && reached>>k&1 == 1 && ring>>m&1 == 1 {
					reached |= 1 << m
				}
			}
		}
	}
	return reached>>b&1 == 1
}

// Every cell carries the number of the pit a walk from it ends at, for any
// number of cores; pits are numbered in the order of their cells.
func TestFollow(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(1, 2))
	for range 30 {
		g := grid.New(grid.NewFrame(0, 0, 1, 1), 3+rng.IntN(90), 20+rng.IntN(120))
		dir := make([]uint8, len(g.Z))
		for i := range dir {
			dir[i] = draw(rng, g, i)
		}
		for _, cores := range []int{1, 2, 5} {
			runtime.GOMAXPROCS(cores)
			l := basin.Follow(dir, g.Cols)
			for k, i := range l.Pits {
				if dir[i] != flow.Pit || k > 0 && i <= l.Pits[k-1] {
					t.Fatalf("pit %d at %d", k, i)
				}
			}
			for i := range dir {
				j := i
				for n := flow.Next(g, dir, j); n >= 0; n = flow.Next(g, dir, j) {
					j = n
				}
				want := map[uint8]uint32{flow.Out: basin.Outside, flow.Void: basin.None}[dir[j]]
				if dir[j] == flow.Pit {
					want = l.Of[j]
					if int(l.Pits[want-basin.First]) != j {
						t.Fatalf("pit %d carries %d", j, want)
					}
				}
				if l.Of[i] != want {
					t.Fatalf("%d cores: cell %d carries %d, want %d", cores, i, l.Of[i], want)
				}
			}
		}
	}
}

// draw gives a cell a way that leads in no circle: eastward, or along columns
// north alone in even ones and south in odd ones.
func draw(rng *rand.Rand, g *grid.Grid, i int) uint8 {
	c, r := g.Cell(i)
	south, north := uint8(4), uint8(64)
	var ways []uint8
	if c < g.Cols-1 {
		ways = append(ways, 1)
	}
	if c%2 == 0 && r > 0 {
		ways = append(ways, north, north, north)
	}
	if c%2 == 1 && r < g.Rows-1 {
		ways = append(ways, south, south, south)
	}
	switch k := rng.IntN(60); {
	case k == 0:
		return flow.Pit
	case k == 1 || len(ways) == 0:
		return flow.Out
	default:
		return ways[k%len(ways)]
	}
}

// Passes come by level, equal ones in the order given, for any number of cores,
// and a level is the elevation it was made of.
func TestSorted(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	rng := rand.New(rand.NewPCG(7, 8))
	var list []basin.Pass
	for i := range uint32(200_000) {
		z := float32(rng.NormFloat64())
		switch i % 4 {
		case 1:
			z *= 1e-30
		case 2:
			z = float32(rng.IntN(3) - 1)
		case 3:
			z *= 1e6
		}
		if got := basin.Elevation(basin.Order(z)); got != z {
			t.Fatalf("%v comes back as %v", z, got)
		}
		list = append(list, basin.Pass{Level: basin.Order(z), Cell: i})
	}
	for _, length := range []int{0, 1, 5000, len(list)} {
		want := slices.Clone(list[:length])
		slices.SortStableFunc(want, func(a, b basin.Pass) int { return cmp.Compare(basin.Elevation(a.Level), basin.Elevation(b.Level)) })
		for _, cores := range []int{1, 2, 3, 8} {
			runtime.GOMAXPROCS(cores)
			if got := basin.Sorted(slices.Clone(list[:length])); !slices.Equal(got, want) {
				t.Fatalf("%d passes, %d cores: in another order", length, cores)
			}
		}
	}
}
