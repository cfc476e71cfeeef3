package profile

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Steps are what a crew sets numbers in.
type Steps struct {
	Invert float64 // m, above 0: a millimetre, or a hundredth of a foot
	Grade  float64 // fall over plan length, above 0: 0.001 is 0.1 %
}

// StepsError reports steps that are none.
type StepsError struct{ Steps Steps }

func (e *StepsError) Error() string {
	return fmt.Sprintf("inverts in steps of %g m and grades in steps of %g: both must be above 0", e.Steps.Invert, e.Steps.Grade)
}

// OnInvert tells whether an invert, elevation m, is a whole number of steps.
func (s Steps) OnInvert(y float64) bool {
	return math.Abs(y-math.Round(y/s.Invert)*s.Invert) <= rounding
}

// OnGrade tells whether a run can be laid by setting a whole grade: set at one
// end, it meets the invert printed at the other to less than one step.
func (s Steps) OnGrade(r Run) bool { return s.rank(r.InvertFrom-r.InvertTo, r.To-r.From) > 0 }

// Ranks of a run: a whole grade is worth more than any number of nearest
// inverts, an invert off its steps costs more than any number of whole grades.
const (
	nearestRank = 1
	gradeRank   = 1 << 10
	offRank     = -1 << 20
)

// rank tells how well a fall over a length suits a whole grade: not at all
// (0), to less than one step of inverts, or to the nearest one.
func (s Steps) rank(fall, length float64) int {
	whole := s.Grade * length
	switch off := math.Abs(fall - math.Round(fall/whole)*whole); {
	case off <= s.Invert/2+rounding:
		return gradeRank + nearestRank
	case off < s.Invert-rounding:
		return gradeRank
	}
	return 0
}

// SolveIn returns runs as Solve does and never more of them, in numbers a crew
// can set. Of all such runs it takes those with the fewest inverts off the
// steps, then the most whole grades, then the most of these with inverts at the
// nearest step, then the least dig. An invert off the steps, or a grade between
// whole ones, stands only where the law leaves no room. Every limit of the
// chain holds for the numbers returned, as tightly as for Solve's.
//
// The choice is exact where every set of breaks can be tried within settleWork,
// as it can for up to two runs or on small corridors: for given breaks it is a
// search over all inverts in steps, and breaks whose least dig without steps is
// worse than the best so far cannot be better. Beyond that breaks are moved one
// at a time, as in Solve. Off the steps stand Solve's own inverts.
//
// Cost: a corridor 0.3 m high takes about 300 x 300 looks for each run and set
// of breaks; most chains are done within 5 ms.
//
// Errors: those of Solve, and *StepsError.
func SolveIn(c *Chain, s Steps) ([]Run, error) {
	if !(s.Invert > 0 && s.Grade > 0) {
		return nil, &StepsError{s}
	}
	d, seq, err := solve(c)
	if err != nil {
		return nil, err
	}
	exact := d.lay(seq)
	t := &settler{digger: d, steps: s, work: settleWork}
	if best := t.best(seq); best.runs != nil {
		return best.runs, nil
	}
	if mixed := t.settle(seq, exact); mixed.runs != nil {
		return mixed.runs, nil
	}
	return exact, nil // rounding at the very limit
}

// settleWork bounds the pairs of inverts looked at for one chain: some 15 ms.
const settleWork = 5e6

// settleSets bounds the sets of breaks listed for one chain.
const settleSets = 2000

// settler finds inverts in steps.
type settler struct {
	*digger
	steps Steps
	work  int // pairs of inverts still to be looked at
}

// settled is runs and their worth, nil where there are none.
type settled struct {
	runs []Run
	worth
}

// worth orders runs: rank first, then area under the inverts, m2.
type worth struct {
	rank int
	area float64
}

func (w worth) above(v worth) bool { return w.rank > v.rank || w.rank == v.rank && w.area > v.area }

// candidate is a set of breaks with the greatest area without steps.
type candidate struct {
	seq  []int
	area float64
}

// best settles breaks from those Solve found on.
func (t *settler) best(seq []int) settled {
	sets, all := t.sets(len(seq) - 1)
	if all {
		return t.bestOf(sets, settled{})
	}
	best := t.settle(seq, nil)
	for moved := true; moved && t.work > 0; {
		before := best
		best = t.bestOf(t.moves(seq), best)
		if moved = best.runs != nil && (before.runs == nil || best.above(before.worth)); moved {
			seq = t.breaksOf(best.runs)
		}
	}
	return best
}

// bestOf settles sets of breaks, the most promising first, and returns the best
// of them and of one known.
func (t *settler) bestOf(sets []candidate, best settled) settled {
	slices.SortStableFunc(sets, func(a, b candidate) int { return cmp.Compare(b.area, a.area) })
	for _, s := range sets {
		full := best.runs != nil && best.rank == len(best.runs)*(gradeRank+nearestRank)
		if t.work <= 0 || full && s.area <= best.area {
			break
		}
		if found := t.settle(s.seq, nil); found.runs != nil && (best.runs == nil || found.above(best.worth)) {
			best = found
		}
	}
	return best
}

// sets lists every set of breaks of r runs, weighed; false where there are more
// than settleSets.
func (t *settler) sets(r int) (list []candidate, all bool) {
	end := len(t.f.q.breaks) - 1
	seq := make([]int, r+1)
	seq[r] = end
	tried := 0
	var choose func(k int) bool
	choose = func(k int) bool {
		if k == r {
			if tried++; tried > settleSets {
				return false
			}
			if t.f.between(seq[r-1], end) != nil {
				if area, ok := t.weigh(seq, 0); ok {
					list = append(list, candidate{slices.Clone(seq), area})
				}
			}
			return true
		}
		for _, l := range t.f.links[seq[k-1]] {
			if l.to < end && len(t.f.depart[k][l.to]) > 0 {
				seq[k] = l.to
				if !choose(k + 1) {
					return false
				}
			}
		}
		return true
	}
	all = choose(1)
	return list, all
}

// moves lists the sets of breaks that differ from one in a single break,
// weighed.
func (t *settler) moves(seq []int) (list []candidate) {
	seq = slices.Clone(seq)
	for k := 1; k < len(seq)-1; k++ {
		was := seq[k]
		for j := seq[k-1] + 1; j < seq[k+1]; j++ {
			if j == was || len(t.f.depart[k][j]) == 0 || t.f.between(seq[k-1], j) == nil || t.f.between(j, seq[k+1]) == nil {
				continue
			}
			seq[k] = j
			if area, ok := t.weigh(seq, 0); ok {
				list = append(list, candidate{slices.Clone(seq), area})
			}
		}
		seq[k] = was
	}
	return list
}

// breaksOf is the set of breaks runs have.
func (t *settler) breaksOf(laid []Run) []int {
	seq := []int{0}
	for _, r := range laid {
		k := seq[len(seq)-1] + 1
		for t.f.q.breaks[k].s != r.To {
			k++
		}
		seq = append(seq, k)
	}
	return seq
}
