package profile

import (
	"cmp"
	"slices"
)

// Solve returns the fewest constant-grade runs from the chain's upper end to
// its lower one, in order downstream. Each run keeps to the law at every point
// within constraint.Tolerance, and starts where the one before ended, or below
// it at a node.
//
// The count is exact for the breaks given. Among as few runs the area under the
// inverts is made large, so that little is dug: for one and two runs it is the
// most there is, beyond that the best of a search that moves one break at a time
// from many starts. Measured against every set of breaks: of 4,000 random
// corridors of 12 stations that take three runs or more 5 missed the most, by
// 0.10 m of mean depth at worst (small corridors crossed by utilities); of 150
// rolling yards of 20 to 80 m with 24 breaks one, by 1 mm.
//
// Cost: for n stations and m breaks O(m n) clips of polygons that mostly have
// under ten corners; 1,000 stations with 100 breaks take 1 to 10 ms. Limits that
// curve evenly over thousands of stations make polygons of as many corners.
//
// Errors: *ChainError, *Shortfall where no profile is admissible at all, and
// *BreaksError where none is with these breaks and this largest slope.
func Solve(c *Chain) ([]Run, error) {
	d, seq, err := solve(c)
	if err != nil {
		return nil, err
	}
	return d.lay(seq), nil
}

// solve returns the breaks of the fewest runs and a digger that has just
// weighed them.
func solve(c *Chain) (*digger, []int, error) {
	if err := c.Validate(); err != nil {
		return nil, nil, err
	}
	if _, short := Highest(c); short != nil {
		return nil, nil, short
	}
	q := newCorridor(c)
	q.tighten()
	f, end := q.reach(), len(q.breaks)-1
	for r := 1; r <= end; r++ {
		f.extend()
		if len(f.arrive[r][end]) == 0 {
			continue
		}
		if d, seq := f.leastDig(r); seq != nil {
			return d, seq, nil
		}
	}
	return nil, nil, &BreaksError{Reached: q.breaks[f.furthest()].s, Breaks: len(q.breaks)}
}

// leastDig returns breaks of r runs of large area, nil where rounding leaves
// none, and the digger that has just weighed them.
func (f *reached) leastDig(r int) (*digger, []int) {
	type found struct {
		seq  []int
		area float64
	}
	d := &digger{f: f, tries: digTries}
	var starts []found
	for i := range f.q.breaks {
		for _, longest := range []bool{false, true} {
			if longest && r < 3 {
				continue // no choice is left
			}
			if seq := f.sequence(i, r, longest); seq != nil {
				if area, ok := d.weigh(seq, 0); ok {
					starts = append(starts, found{seq, area})
				}
			}
		}
	}
	if len(starts) == 0 {
		return nil, nil
	}
	slices.SortStableFunc(starts, func(a, b found) int { return cmp.Compare(b.area, a.area) })
	best := starts[0]
	for _, s := range starts {
		if area := d.improve(s.seq, s.area); area > best.area {
			best = found{s.seq, area}
		}
	}
	d.weigh(best.seq, 0)
	return d, best.seq
}

// gained is how much more area counts as more, m2: rounding in sums of some
// thousand square metres stays below it, and the search ends.
const gained = 1e-9

// improve moves one break of seq at a time to where the area is largest, while
// it grows and tries are left, and returns the area.
func (d *digger) improve(seq []int, area float64) float64 {
	if len(seq) <= 3 {
		return area // one break at most, and starts has every one
	}
	for moved := true; moved && d.tries > 0; {
		moved = false
		for k := 1; k < len(seq)-1; k++ {
			if _, ok := d.weigh(seq, 0); !ok {
				return area
			}
			was, to := seq[k], seq[k]
			for j := seq[k-1] + 1; j < seq[k+1] && d.tries > 0; j++ {
				if j == was || len(d.f.depart[k][j]) == 0 || d.f.between(seq[k-1], j) == nil || d.f.between(j, seq[k+1]) == nil {
					continue
				}
				seq[k] = j
				d.tries--
				if a, ok := d.weigh(seq, k); ok && a > area+gained {
					area, to, moved = a, j, true
				}
			}
			seq[k] = to
		}
	}
	return area
}

// rounding is how far apart two inverts computed in different ways may be and
// still be one, m: 1e-13 at an elevation of a thousand, with room. What it lets
// pass is weighed before it is used.
const rounding = 1e-11

// sequence returns breaks of r runs to the end, the last of which starts at
// break i and the others of which are long, or short, from there up; nil where
// there are none.
func (f *reached) sequence(i, r int, long bool) []int {
	end := len(f.q.breaks) - 1
	if i == end || len(f.depart[r-1][i]) == 0 {
		return nil
	}
	seq := make([]int, r+1)
	seq[r], seq[r-1] = end, i
	from, ok := f.startFor(i, end, r-1, everything)
	for k := r - 1; ok && k > 0; k-- {
		to, before := f.arrival(seq[k], k, from), seq[k]
		ok = false
		for n := 0; n < before && !ok; n++ {
			j := n
			if !long {
				j = before - 1 - n
			}
			if from, ok = f.startFor(j, before, k-1, to); ok {
				seq[k-1] = j
			}
		}
	}
	if !ok {
		return nil
	}
	return seq
}

// startFor returns an invert that r runs bring to break i and from which one
// more reaches break j at an invert within to.
func (f *reached) startFor(i, j, r int, to interval) (float64, bool) {
	if len(f.depart[r][i]) == 0 {
		return 0, false
	}
	for _, p := range f.between(i, j) {
		all := p.image(everything).meet(to)
		if all.low > all.high+rounding {
			continue
		}
		starts := p.starts(all.low)
		if to == everything {
			for _, v := range p {
				starts.take(v.from)
			}
		}
		for _, v := range f.depart[r][i] {
			low, high := max(v.low, starts.low), min(v.high, starts.high)
			if low <= high+rounding {
				return (low + high) / 2, true
			}
		}
	}
	return 0, false
}

// arrival returns an invert that r runs bring to break i and from which a run
// may start at y; as an interval of that one invert.
func (f *reached) arrival(i, r int, y float64) interval {
	if !f.q.breaks[i].node {
		return interval{y, y}
	}
	for _, side := range f.q.sides(f.q.breaks[i]) {
		if y < side.low-rounding || y > side.high+rounding {
			continue
		}
		for _, v := range f.arrive[r][i] {
			if w := v.meet(side); !w.empty() && w.high >= y-rounding {
				e := (max(y, w.low) + w.high) / 2
				return interval{e, e}
			}
		}
	}
	return interval{y, y}
}
