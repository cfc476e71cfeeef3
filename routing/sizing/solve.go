package sizing

import (
	"fmt"
	"math"
)

// Design is the cheapest choice.
type Design struct {
	Cost float64
	Runs []Run // one a pipe, in the problem's order
}

// Run is what one pipe became.
type Run struct {
	Size                 int // index into Problem.Sizes
	InvertUp, InvertDown float64
}

// Solve returns a design of the least cost on the grid of levels. Of equal ones
// it takes, from the outlet up, the highest level and then the smallest size.
// The result does not depend on anything but the problem.
//
// Errors: *ProblemError for a problem that is not one; *InfeasibleError where
// the first pipe, from the twigs down, has no size and inverts within its
// limits that also serve what arrives.
func Solve(p *Problem) (*Design, error) {
	if err := p.validate(); err != nil {
		return nil, err
	}
	s := &solver{Problem: p, arrive: make([][]int, len(p.Pipes)), tables: make([]table, len(p.Pipes))}
	for k := range p.Pipes {
		if n := p.Pipes[k].Next; n >= 0 {
			s.arrive[n] = append(s.arrive[n], k)
		}
	}
	if err := s.downstream(); err != nil {
		return nil, err
	}
	d := &Design{Runs: make([]Run, len(p.Pipes))}
	for _, k := range s.order {
		if err := s.fill(k); err != nil {
			return nil, err
		}
		t := &s.tables[k]
		if math.IsInf(t.at(len(p.Sizes)-1, t.lo), 1) {
			return nil, s.explain(k)
		}
	}
	for k := len(s.order) - 1; k >= 0; k-- {
		if root := s.order[k]; p.Pipes[root].Next < 0 {
			t := &s.tables[root]
			d.Cost += t.at(len(p.Sizes)-1, t.lo)
			if err := s.trace(d, root, len(p.Sizes)-1, t.lo); err != nil {
				return nil, err
			}
		}
	}
	return d, nil
}

// downstream orders the pipes so that each comes after those that arrive.
func (s *solver) downstream() error {
	wait := make([]int, len(s.Pipes))
	for k := range s.Pipes {
		wait[k] = len(s.arrive[k])
		if wait[k] == 0 {
			s.order = append(s.order, k)
		}
	}
	for i := 0; i < len(s.order); i++ {
		if n := s.Pipes[s.order[i]].Next; n >= 0 {
			if wait[n]--; wait[n] == 0 {
				s.order = append(s.order, n)
			}
		}
	}
	for k := range wait {
		if wait[k] > 0 {
			return faulty(pipePlace(k), "drains into itself, round a ring of pipes")
		}
	}
	return nil
}

// trace writes the runs of a pipe and all above it, given the largest size and
// the lowest level of its lower end.
func (s *solver) trace(d *Design, p, widest, level int) error {
	t := &s.tables[p]
	want := t.at(widest, level)
	down := max(level, t.lo)
	for t.at(widest, down+1) == want {
		down++
	}
	size := 0
	for t.at(size, down) != want {
		size++
	}
	r, _ := s.reach(p, size)
	heads, err := s.headCosts(p, size, r)
	if err != nil {
		return err
	}
	up := s.leastHead(p, size, r, heads, down)
	d.Runs[p] = Run{Size: size, InvertUp: s.invert(size, up), InvertDown: s.invert(size, down)}
	if s.Pipes[p].Shrinks {
		size = len(s.Sizes) - 1
	}
	for _, a := range s.arrive[p] {
		if err := s.trace(d, a, size, up); err != nil {
			return err
		}
	}
	return nil
}

// leastHead returns the level of a pipe's upper end that the least cost at its
// lower end's comes from, the highest of several.
func (s *solver) leastHead(p, size int, r reach, heads []float64, down int) int {
	if way := s.Pipes[p].Choices[size].Way; way != nil {
		return way.Up(heads, down)
	}
	best, up := math.Inf(1), r.upHi
	for _, w := range s.windows(nil, p, size, r, down) {
		for k := w.lo; k <= w.hi; k++ {
			cost := heads[k-r.upLo]
			if s.Cost.Run != nil {
				cost += s.Cost.Run(p, size, s.invert(size, k), s.invert(size, down))
			}
			if cost <= best {
				best, up = cost, k
			}
		}
	}
	return up
}

// Cause says what leaves a pipe without a choice.
type Cause string

// The causes, in the order they are asked.
const (
	NotOffered Cause = "no size is offered"
	NoSlope    Cause = "no size carries its flow within the limits of slope, filling and velocity"
	NoCorridor Cause = "no size has a level between floor and ceiling at both ends"
	NoFall     Cause = "no size has the fall it needs between its ends"
	NoWay      Cause = "no size has a grade that serves what arrives, keeps floor and ceiling along it and is not priced out"
)

// InfeasibleError names the first pipe, from the twigs down, with no choice.
type InfeasibleError struct {
	Pipe  int
	Cause Cause
	Short float64 // height missing with NoFall, m, in the size that misses least; else 0
}

func (e *InfeasibleError) Error() string {
	text := fmt.Sprintf("pipe %d: %s", e.Pipe, e.Cause)
	if e.Short > 0 {
		text += fmt.Sprintf("; %.3g m of height is missing", e.Short)
	}
	return text
}

// explain finds the cause of an empty table: the last one that any size gets to.
func (s *solver) explain(p int) error {
	e := &InfeasibleError{Pipe: p, Cause: NotOffered}
	rank := map[Cause]int{NotOffered: 0, NoSlope: 1, NoCorridor: 2, NoFall: 3, NoWay: 4}
	for d := range s.Sizes {
		cause, short := s.cause(p, d)
		switch {
		case rank[cause] > rank[e.Cause]:
			e.Cause, e.Short = cause, short
		case cause == e.Cause && short < e.Short:
			e.Short = short
		}
	}
	return e
}
