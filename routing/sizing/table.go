package sizing

import (
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// levelSlack is how far past a limit a level may lie and still count as on it,
// in steps: above the rounding of elevations of a few thousand metres on steps
// of a millimetre (1e-9), and in height far below a level's reading.
const levelSlack = 1e-6

// table holds the least cost of everything above a pipe and the pipe itself: at
// [size][level - lo], its lower end at or above the level and its size at most
// the size. It never rises with size and never falls with level; +Inf where
// there is no way.
type table struct {
	lo   int // lowest level of the pipe's lower end
	cost [][]float64
}

// at returns the entry of any level.
func (t *table) at(size, level int) float64 {
	row := t.cost[size]
	level = max(level-t.lo, 0)
	if level >= len(row) {
		return math.Inf(1)
	}
	return row[level]
}

// settle turns a row of costs at levels themselves into one of at or above, and
// at most its size.
func (t *table) settle(size int) {
	row := t.cost[size]
	best := math.Inf(1)
	for k := len(row) - 1; k >= 0; k-- {
		best = min(best, row[k])
		row[k] = best
	}
	if size > 0 {
		for k, narrower := range t.cost[size-1] {
			row[k] = min(row[k], narrower)
		}
	}
}

type solver struct {
	*Problem
	arrive [][]int // pipes that end where a pipe starts
	order  []int   // each pipe after those that arrive
	tables []table
	heads  []float64 // scratch: cost above a pipe by level of its upper end
	least  minima
}

// offset is what is added to an invert of a size to get its level's elevation.
func (s *solver) offset(size int) float64 {
	if s.Match == Crowns {
		return s.Sizes[size].Inside
	}
	return 0
}

// invert is the invert of a size on a level.
func (s *solver) invert(size, level int) float64 {
	return s.Datum + float64(level)*s.Step - s.offset(size)
}

// under and over are the highest level not above and the lowest not below an
// invert of a size.
func (s *solver) under(size int, invert float64) int {
	return int(math.Floor((invert+s.offset(size)-s.Datum)/s.Step + levelSlack))
}

func (s *solver) over(size int, invert float64) int {
	return int(math.Ceil((invert+s.offset(size)-s.Datum)/s.Step - levelSlack))
}

// reach is what a pipe may do in one size: levels of its ends and slopes.
type reach struct {
	upLo, upHi, downLo, downHi int
	drop, dropMax              int // least and greatest fall, levels
	inner                      []constraint.Station
}

// reach returns false where the size is not offered or has no slope or level.
func (s *solver) reach(p, size int) (r reach, ok bool) {
	pipe := &s.Pipes[p]
	c := &pipe.Choices[size]
	if !c.offered() {
		return reach{}, false
	}
	if c.Way != nil {
		r.upLo, r.upHi, r.downLo, r.downHi = c.Way.Ends()
		return r, r.upLo <= r.upHi && r.downLo <= r.downHi
	}
	least, most, ok := hydraulics.SlopeRange(pipe.Flow, s.Sizes[size].Inside, s.Sizes[size].Roughness, c.Limits)
	if !ok {
		return reach{}, false
	}
	r.upLo, r.upHi = s.ends(c.Stations, size, 0)
	r.downLo, r.downHi = s.ends(c.Stations, size, pipe.Length)
	if r.upLo > r.upHi || r.downLo > r.downHi {
		return reach{}, false
	}
	r.drop = int(math.Ceil(least*pipe.Length/s.Step - levelSlack))
	r.dropMax = r.upHi - r.downLo
	if steepest := most*pipe.Length/s.Step + levelSlack; steepest < float64(r.dropMax) {
		r.dropMax = int(math.Floor(steepest))
	}
	for _, st := range c.Stations {
		within := st.S > stationSlack && st.S < pipe.Length-stationSlack
		if within || st.High > st.Low {
			r.inner = append(r.inner, st)
		}
	}
	return r, r.drop <= r.dropMax
}

// ends returns the levels between the floors and ceilings of the stations at
// one end of a pipe.
func (s *solver) ends(stations []constraint.Station, size int, at float64) (lo, hi int) {
	floor, ceiling := math.Inf(-1), math.Inf(1)
	for _, st := range stations {
		if math.Abs(st.S-at) <= stationSlack {
			floor, ceiling = math.Max(floor, st.Floor), math.Min(ceiling, st.Ceiling)
		}
	}
	return s.over(size, floor), s.under(size, ceiling)
}

// fill makes the table of a pipe from those of the pipes that arrive.
func (s *solver) fill(p int) error {
	reaches := make([]reach, len(s.Sizes))
	offered := make([]bool, len(s.Sizes))
	lo, hi := math.MaxInt, math.MinInt
	for d := range s.Sizes {
		if reaches[d], offered[d] = s.reach(p, d); offered[d] {
			lo, hi = min(lo, reaches[d].downLo), max(hi, reaches[d].downHi)
		}
	}
	t := table{lo: lo, cost: make([][]float64, len(s.Sizes))}
	for d := range s.Sizes {
		t.cost[d] = make([]float64, max(hi-lo+1, 0))
		for k := range t.cost[d] {
			t.cost[d][k] = math.Inf(1)
		}
		if offered[d] {
			if err := s.fillSize(p, d, reaches[d], t); err != nil {
				return err
			}
		}
		t.settle(d)
	}
	s.tables[p] = t
	return nil
}

// fillSize writes one size's row, its lower end on the level itself.
func (s *solver) fillSize(p, size int, r reach, t table) error {
	heads, err := s.headCosts(p, size, r)
	if err != nil {
		return err
	}
	row := t.cost[size][r.downLo-t.lo : r.downHi-t.lo+1]
	if way := s.Pipes[p].Choices[size].Way; way != nil {
		copy(row, way.Down(heads))
	} else if err := s.straight(p, size, r, row); err != nil {
		return err
	}
	if s.Cost.Foot == nil {
		return nil
	}
	for k := range row {
		if math.IsInf(row[k], 1) {
			continue
		}
		foot, err := s.priced(s.Cost.Foot(p, size, s.invert(size, r.downLo+k)), p, size)
		if err != nil {
			return err
		}
		row[k] += foot
	}
	return nil
}

// straight writes the least cost of one straight grade down to each level.
func (s *solver) straight(p, size int, r reach, row []float64) (err error) {
	s.least.of(s.heads, s.Cost.Run == nil && len(r.inner) > 0)
	var windows []window
	for down := r.downLo; down <= r.downHi; down++ {
		best := math.Inf(1)
		windows = s.windows(windows[:0], p, size, r, down)
		for _, w := range windows {
			if s.Cost.Run != nil {
				if best, err = s.leastRun(p, size, r, w, down, best); err != nil {
					return err
				}
				continue
			}
			// Without a station between the ends the windows only move up.
			if len(r.inner) == 0 {
				best = s.least.sliding(w.lo-r.upLo, w.hi-r.upLo)
				continue
			}
			best = min(best, s.least.between(w.lo-r.upLo, w.hi-r.upLo))
		}
		row[down-r.downLo] = best
	}
	return nil
}

// leastRun returns the least cost down to a level over a window, or best.
func (s *solver) leastRun(p, size int, r reach, w window, down int, best float64) (float64, error) {
	low := s.invert(size, down)
	for up := w.lo; up <= w.hi; up++ {
		head := s.heads[up-r.upLo]
		if math.IsInf(head, 1) {
			continue
		}
		run, err := s.priced(s.Cost.Run(p, size, s.invert(size, up), low), p, size)
		if err != nil {
			return 0, err
		}
		best = min(best, head+run)
	}
	return best, nil
}

// headCosts returns the cost of all that arrives and of the upper end, by level
// from upLo to upHi. The slice is scratch.
func (s *solver) headCosts(p, size int, r reach) ([]float64, error) {
	heads := s.heads[:0]
	widest := size
	if s.Pipes[p].Shrinks {
		widest = len(s.Sizes) - 1
	}
	for up := r.upLo; up <= r.upHi; up++ {
		sum := 0.0
		for _, a := range s.arrive[p] {
			sum += s.tables[a].at(widest, up)
		}
		if s.Cost.Head != nil && sum < math.Inf(1) {
			head, err := s.priced(s.Cost.Head(p, size, s.invert(size, up)), p, size)
			if err != nil {
				return nil, err
			}
			sum += head
		}
		heads = append(heads, sum)
	}
	s.heads = heads
	return heads, nil
}

func (s *solver) priced(cost float64, p, size int) (float64, error) {
	if math.IsNaN(cost) || math.IsInf(cost, -1) {
		return 0, faulty(pipePlace(p), "its cost in size %s is %g", s.Sizes[size].Nominal, cost)
	}
	return cost, nil
}
