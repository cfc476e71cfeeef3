package sizing

import (
	"math"
	"slices"
)

// window is a run of levels.
type window struct{ lo, hi int }

// windows appends the levels the upper end may have over a lower end's level,
// in order.
func (s *solver) windows(list []window, p, size int, r reach, down int) []window {
	w := window{max(r.upLo, down+r.drop), min(r.upHi, down+r.dropMax)}
	if len(r.inner) == 0 {
		if w.lo <= w.hi {
			list = append(list, w)
		}
		return list
	}
	return s.innerWindows(list, p, size, r, down, w)
}

// innerWindows cuts a window by what stands between the ends. On the straight
// line from u to w the invert a share t of the length down is u (1-t) + w t, so
// a limit y there is one of u: (y - w t) / (1-t).
func (s *solver) innerWindows(list []window, p, size int, r reach, down int, w window) []window {
	length := s.Pipes[p].Length
	low := s.invert(size, down)
	var shut []window
	for _, st := range r.inner {
		t := math.Min(st.S/length, 1)
		if 1-t <= stationSlack/length { // a band at the lower end itself
			if low > st.Low && low < st.High {
				return list
			}
			continue
		}
		head := func(y float64) float64 { return (y - low*t) / (1 - t) }
		if !math.IsInf(st.Floor, -1) {
			w.lo = max(w.lo, s.over(size, head(st.Floor)))
		}
		if !math.IsInf(st.Ceiling, 1) {
			w.hi = min(w.hi, s.under(size, head(st.Ceiling)))
		}
		if st.High > st.Low {
			// Strictly between: the levels just on the band's edges are free.
			shut = append(shut, window{s.under(size, head(st.Low)) + 1, s.over(size, head(st.High)) - 1})
		}
	}
	slices.SortFunc(shut, func(a, b window) int { return a.lo - b.lo })
	for _, x := range shut {
		if x.lo > x.hi || x.hi < w.lo || x.lo > w.hi {
			continue
		}
		if w.lo < x.lo {
			list = append(list, window{w.lo, x.lo - 1})
		}
		w.lo = max(w.lo, x.hi+1)
	}
	if w.lo <= w.hi {
		list = append(list, w)
	}
	return list
}

// minima answers for the least of runs of a row: of any run with rows[j][i] the
// least of the 2^j values from i on; of runs whose ends never go back with a
// queue of the values that can still be the least.
type minima struct {
	rows  [][]float64
	queue []int // indices, their values rising
	first int   // of the queue
	next  int   // first index not yet taken in
}

// of starts on a row; anyRun says that between will be asked.
func (m *minima) of(values []float64, anyRun bool) {
	if len(m.rows) == 0 {
		m.rows = append(m.rows, nil)
	}
	m.rows[0] = values
	m.queue, m.first, m.next = m.queue[:0], 0, 0
	if !anyRun {
		return
	}
	for j := 1; 1<<j <= len(values); j++ {
		if j == len(m.rows) {
			m.rows = append(m.rows, nil)
		}
		above := m.rows[j-1]
		row := slices.Grow(m.rows[j][:0], len(values))[:len(values)-1<<j+1]
		for i := range row {
			row[i] = min(above[i], above[i+1<<(j-1)])
		}
		m.rows[j] = row
	}
}

// between returns the least of the values from lo to hi, both within the row.
func (m *minima) between(lo, hi int) float64 {
	j := 0
	for 2<<j <= hi-lo+1 {
		j++
	}
	return min(m.rows[j][lo], m.rows[j][hi+1-1<<j])
}

// sliding is between for lo and hi that never go back from call to call.
func (m *minima) sliding(lo, hi int) float64 {
	values := m.rows[0]
	for m.next = max(m.next, lo); m.next <= hi; m.next++ {
		v := values[m.next]
		for len(m.queue) > m.first && values[m.queue[len(m.queue)-1]] >= v {
			m.queue = m.queue[:len(m.queue)-1]
		}
		m.queue = append(m.queue, m.next)
	}
	for m.queue[m.first] < lo {
		m.first++
	}
	return values[m.queue[m.first]]
}
