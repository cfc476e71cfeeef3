package bound

import (
	"context"
	"math"
	"math/bits"

	"curbfall/routing/parallel"
)

// far is longer than any way that is looked at; two of it add up to no
// negative number.
const far = math.MaxInt32 / 2

// steiner is the search for the shortest trees, in parts of lattice steps.
// Terminals are the k inflows and, last, the outlets taken as one: trees to
// outlets are then one tree.
type steiner struct {
	*lattice
	k, trees int
	most     int32
	ends     [][]entry   // by terminal, nodes it is linked to
	from     [][]int32   // by terminal and node, the shortest way
	best     [][]int32   // by set of inflows and node, the shortest tree that joins them there
	apart    [][]int32   // by two terminals, the shortest way
	past     [][][]int32 // ways past sets of terminals
	tours    []float64   // by set of inflows, what a tree does not go below, m
}

// alone finds the ways from each terminal.
func (s *steiner) alone(ctx context.Context) error {
	s.from = make([][]int32, s.k+1)
	within := func(d int32, _ int) bool { return d <= s.most }
	parallel.Each(s.k+1, func(i int) {
		if ctx.Err() != nil {
			return
		}
		t := allFar(len(s.shut))
		var q queue
		for _, e := range s.ends[i] {
			if e.d < t[e.n] {
				t[e.n] = e.d
				q.push(e.d, e.n)
			}
		}
		s.spreadOut(t, &q, within)
		s.from[i] = t
	})
	return ctx.Err()
}

// tour finds the shortest ways past sets of terminals.
func (s *steiner) tour() {
	n := s.k + 1
	apart := make([][]int32, n)
	for a := range n {
		apart[a] = make([]int32, n)
		for b := range n {
			apart[a][b] = far
			for _, e := range s.ends[b] {
				apart[a][b] = min(apart[a][b], s.from[a][e.n]+e.d)
			}
		}
	}
	if s.trees > 1 {
		overOutlets(apart)
	}
	s.apart, s.past = apart, ways(apart, far)
}

// hopeful tells whether a tree of length d that joins the inflows of set m at
// node i may still be part of trees not longer than the most. What is still to
// come joins the node and all other terminals: gone along there and back it is
// a way round them all.
func (s *steiner) hopeful(d int32, m, i int) bool {
	rest := 1<<(s.k+1) - 1 - m
	var room [Most + 1]int32
	away := room[:s.k+1]
	for a := range away {
		if rest&(1<<a) != 0 {
			away[a] = s.from[a][i]
			if s.trees > 1 {
				away[a] = min(away[a], s.from[s.k][i]+s.apart[s.k][a])
			}
			if d+away[a] > s.most {
				return false
			}
		}
	}
	return d+roundTrip(away, s.past[rest], rest)/2 <= s.most
}

// join builds trees of ever larger sets: two that meet at a node, then on over
// the lattice. It returns a length all do not go below, m.
func (s *steiner) join(ctx context.Context) (float64, error) {
	s.best = make([][]int32, 1<<s.k)
	// What trees of each set to outlets do not go below, by their number less one.
	drained := make([][]float64, 1<<s.k)
	for size := 1; size <= s.k; size++ {
		var sets []int
		for m := range s.best {
			if bits.OnesCount(uint(m)) == size {
				sets = append(sets, m)
			}
		}
		parallel.Each(len(sets), func(i int) {
			if ctx.Err() != nil {
				return
			}
			m := sets[i]
			s.best[m] = s.joined(m)
			drained[m] = s.drained(m, drained)
		})
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
	}
	return drained[1<<s.k-1][s.trees-1], nil
}

// joined is best for a set whose parts have theirs.
func (s *steiner) joined(m int) []int32 {
	if bits.OnesCount(uint(m)) == 1 {
		return s.from[bits.TrailingZeros(uint(m))]
	}
	t := allFar(len(s.shut))
	for a := (m - 1) & m; a > m&^a; a = (a - 1) & m {
		x, y := s.best[a], s.best[m&^a]
		for i := range t {
			t[i] = min(t[i], x[i]+y[i])
		}
	}
	var q queue
	hopeful := func(d int32, i int) bool { return s.hopeful(d, m, i) }
	for i := range t {
		if t[i] <= s.most && hopeful(t[i], i) {
			q.push(t[i], int32(i))
		} else {
			t[i] = far
		}
	}
	s.spreadOut(t, &q, hopeful)
	return t
}

// drained is what trees from a set of inflows to outlets do not go below, m, by
// their number less one, given those of smaller sets.
func (s *steiner) drained(m int, smaller [][]float64) []float64 {
	list := make([]float64, s.trees)
	tree := s.most
	for i, d := range s.best[m] {
		tree = min(tree, d+s.from[s.k][i])
	}
	slack := slack(bits.OnesCount(uint(m)), 1)
	list[0] = max(s.tours[m], (float64(tree)/parts-slack)*s.Step/s.stretch)
	for j := 1; j < s.trees; j++ {
		list[j] = math.Inf(1)
	}
	for a := (m - 1) & m; a > 0; a = (a - 1) & m {
		for j := 1; j < s.trees; j++ {
			list[j] = min(list[j], smaller[a][0]+smaller[m&^a][j-1])
		}
	}
	return list
}

func allFar(n int) []int32 {
	t := make([]int32, n)
	for i := range t {
		t[i] = far
	}
	return t
}
