package profile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func area(laid []Run) float64 {
	sum := 0.0
	for _, r := range laid {
		sum += (r.InvertFrom + r.InvertTo) / 2 * (r.To - r.From)
	}
	return sum
}

// wide is a row over all the inverts of a sequence of runs: sum of a x <= c.
type wide struct {
	a []float64
	c float64
}

// system writes the limits of runs between breaks for the sides chosen: one
// unknown for each invert at a break, two at a node.
func (r *reference) system(breaks []float64) (rows []wide, weights []float64) {
	from, to := make([]int, len(breaks)), make([]int, len(breaks))
	n := 1
	for k := 1; k < len(breaks); k++ {
		to[k], from[k] = n, n
		n++
		if k < len(breaks)-1 && r.isNode(breaks[k]) {
			from[k] = n
			n++
		}
	}
	weights = make([]float64, n)
	add := func(i, j int, v row) {
		w := wide{make([]float64, n), v.c}
		w.a[i] += v.a
		w.a[j] += v.b
		rows = append(rows, w)
	}
	for k := 1; k < len(breaks); k++ {
		u, v := from[k-1], to[k]
		half := (breaks[k] - breaks[k-1]) / 2
		weights[u] += half
		weights[v] += half
		for _, w := range r.rows(breaks[k-1], breaks[k]) {
			add(u, v, w)
		}
		if from[k] != to[k] {
			add(to[k], from[k], row{-1, 1, 0})
		}
	}
	for _, w := range []row{{1, 0, r.c.StartHigh}, {-1, 0, -r.c.StartLow}} {
		if !math.IsInf(w.c, 0) {
			add(0, 1, w)
		}
	}
	if !math.IsInf(r.c.EndMin, 0) {
		add(0, n-1, row{0, -1, -r.c.EndMin})
	}
	return rows, weights
}

// corners visits every corner of the system: as many rows held as equalities
// as there are unknowns, and no row broken by more than ease.
func corners(rows []wide, n int, ease float64, visit func(x []float64)) {
	pick := make([]int, n)
	var choose func(k, from int)
	choose = func(k, from int) {
		if k == n {
			if x := solveEqualities(rows, pick); x != nil && keeps(rows, x, ease) {
				visit(x)
			}
			return
		}
		for j := from; j < len(rows); j++ {
			pick[k] = j
			choose(k+1, j+1)
		}
	}
	choose(0, 0)
}

func keeps(rows []wide, x []float64, ease float64) bool {
	for _, w := range rows {
		sum := 0.0
		for k := range x {
			sum += w.a[k] * x[k]
		}
		if sum > w.c+ease {
			return false
		}
	}
	return true
}

// solveEqualities is Gaussian elimination with the largest pivot; nil where the
// rows do not fix the unknowns.
func solveEqualities(rows []wide, pick []int) []float64 {
	n := len(pick)
	m := make([][]float64, n)
	for k, j := range pick {
		m[k] = append(slices.Clone(rows[j].a), rows[j].c)
	}
	for k := range m {
		p := k
		for j := k; j < n; j++ {
			if math.Abs(m[j][k]) > math.Abs(m[p][k]) {
				p = j
			}
		}
		m[k], m[p] = m[p], m[k]
		if math.Abs(m[k][k]) < 1e-9 {
			return nil
		}
		for j := range m {
			if j == k {
				continue
			}
			f := m[j][k] / m[k][k]
			for l := k; l <= n; l++ {
				m[j][l] -= f * m[k][l]
			}
		}
	}
	x := make([]float64, n)
	for k := range m {
		x[k] = m[k][n] / m[k][k]
	}
	return x
}

// Up to two runs the area must be the most there is: the best corner of all
// systems over every break and every choice of sides.
func TestLeastDigAgainstCorners(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	tried := [3]int{}
	for k := 0; tried[1]+tried[2] < 400 && k < 5000; k++ {
		c := randomChain(rng, 3+rng.IntN(2))
		laid, err := Solve(c)
		if err != nil || len(laid) > 2 || len(laid) == 1 && tried[1] >= 200 {
			continue
		}
		r := newReference(c, 0)
		all := allBreaks(c)
		sequences := [][]float64{{c.Start(), c.End()}}
		if len(laid) == 2 {
			sequences = nil
			for _, b := range all[1 : len(all)-1] {
				sequences = append(sequences, []float64{c.Start(), b, c.End()})
			}
		}
		best := math.Inf(-1)
		for sides := 0; sides < 1<<len(r.sides); sides++ {
			for j := range r.sides {
				r.sides[j] = sides>>j&1 == 1
			}
			for _, s := range sequences {
				rows, weights := r.system(s)
				corners(rows, len(weights), 1e-9, func(x []float64) {
					sum := 0.0
					for j := range x {
						sum += weights[j] * x[j]
					}
					best = math.Max(best, sum)
				})
			}
		}
		tried[len(laid)]++
		// Limits relaxed by the law's tolerance, over the chain's length, and
		// that leverage once more where a short run aims over a long one.
		if got := area(laid); math.Abs(got-best) > 1e-6 {
			t.Fatalf("corridor %d: area %.9f m2, best corner %.9f m2\n%+v\n%+v", k, got, best, laid, c)
		}
	}
	t.Logf("%d corridors of one run, %d of two", tried[1], tried[2])
	if tried[1] < 100 || tried[2] < 100 {
		t.Errorf("too few corridors tried: %v", tried)
	}
}

// With more runs the search may miss the best breaks. How far is stated at
// Solve; this holds it to that.
func TestLeastDigAgainstEverySetOfBreaks(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	tried, missed, worst := 0, 0, 0.0
	for k := 0; tried < 400 && k < 200000; k++ {
		c := randomChain(rng, 9)
		laid, err := Solve(c)
		if err != nil || len(laid) < 3 {
			continue
		}
		tried++
		q := newCorridor(c)
		q.tighten()
		f := q.reach()
		for range laid {
			f.extend()
		}
		d := &digger{f: f}
		best := math.Inf(-1)
		seq := make([]int, 1, len(laid)+1)
		var choose func()
		choose = func() {
			if len(seq) == len(laid) {
				full := append(seq, len(q.breaks)-1)
				if a, ok := d.weigh(full, 0); ok {
					best = math.Max(best, a)
				}
				return
			}
			for j := seq[len(seq)-1] + 1; j < len(q.breaks)-1; j++ {
				seq = append(seq, j)
				choose()
				seq = seq[:len(seq)-1]
			}
		}
		choose()
		height := (best - area(laid)) / (c.End() - c.Start())
		if height < -1e-8 {
			t.Fatalf("corridor %d: more area than any set of breaks has", k)
		}
		if height > 1e-8 {
			missed++
			worst = math.Max(worst, height)
		}
	}
	t.Logf("%d corridors of three runs and more, %d not at the most area, worst %.4f m of mean depth", tried, missed, worst)
	if tried < 400 {
		t.Errorf("only %d corridors", tried)
	}
}
