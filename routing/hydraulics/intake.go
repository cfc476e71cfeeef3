package hydraulics

import "math"

// Mouth is a place where water goes into a tree of reaches from above, or comes
// out of it: the upper node of a reach.
type Mouth struct {
	Reach int
	Most  float64 // that runs to it, m3/s
	// Lets returns what it lets in with water standing at an elevation over it
	// and the pipes' water at another under it, m3/s; nil where it lets in all.
	Lets func(over, within float64) float64
}

// intakeSlack is how exactly what a mouth takes is found, relative to the most
// that runs to any: far finer than any coefficient here.
const intakeSlack = 1e-5

// intakeSweeps ends the search where mouths shift the same water to and fro:
// which of them takes it then makes no difference to the sum.
const intakeSweeps = 40

// Taken returns what goes in at each mouth, m3/s: as much as runs to it, its
// mouth lets in, and the pipes carry off while the grade line under it stays at
// or below the water over it. Less than nothing is what comes out there of the
// other mouths' water.
//
// level returns the elevation of the water over a mouth with so much taken at
// each; the more a mouth takes, the lower it may be. Below the reach's Rim it
// counts as the rim. tailwater is the level
// outside an outlet at a flow; nil keeps the reaches' own. The reaches' flows are
// not read. Errors are those of GradeLine.
//
// One mouth after another is given the most it can have, until none changes:
// first as if the pipes held nothing back, and where the grade line then passes a
// rim, with them.
func Taken(reaches []Reach, mouths []Mouth, tailwater func(reach int, flow float64) float64, level func(mouth int, taken []float64) float64) ([]float64, error) {
	t, err := treeOf(reaches)
	if err != nil {
		return nil, err
	}
	s := &intake{t: t, reaches: append([]Reach(nil), reaches...), mouths: mouths, tailwater: tailwater, level: level, taken: make([]float64, len(mouths))}
	for k := range mouths {
		mustNotBeNegative(mouths[k].Most)
		s.taken[k] = mouths[k].Most
		s.slack = math.Max(s.slack, intakeSlack*mouths[k].Most)
	}
	s.sweep()
	s.flowAll()
	if s.over(t.gradeLine(s.reaches)) {
		s.piped = true
		s.sweep()
	}
	return s.taken, nil
}

type intake struct {
	t         *tree
	reaches   []Reach
	mouths    []Mouth
	tailwater func(reach int, flow float64) float64
	level     func(mouth int, taken []float64) float64
	taken     []float64
	slack     float64
	piped     bool // the pipes hold something back
}

// flowAll sets the reaches' flows and tailwaters from what is taken.
func (s *intake) flowAll() {
	for k := range s.reaches {
		s.reaches[k].Flow = 0
	}
	for k, m := range s.mouths {
		s.reaches[m.Reach].Flow += s.taken[k]
	}
	for i := len(s.t.order) - 1; i >= 0; i-- {
		r := &s.reaches[s.t.order[i]]
		r.Flow = math.Max(0, r.Flow) // what comes out is what arrives at most, but for rounding
		if r.Next >= 0 {
			s.reaches[r.Next].Flow += r.Flow
		} else if s.tailwater != nil {
			r.Tailwater = s.tailwater(s.t.order[i], r.Flow)
		}
	}
}

// over tells whether the grade line passes a mouth's rim.
func (s *intake) over(g []Grade) bool {
	for _, m := range s.mouths {
		if g[m.Reach].Freeboard < 0 {
			return true
		}
	}
	return false
}

// sweep gives the mouths what they can have, those farthest up first.
func (s *intake) sweep() {
	at := map[int][]int{}
	for k, m := range s.mouths {
		at[m.Reach] = append(at[m.Reach], k)
	}
	for n := range intakeSweeps {
		moved := 0.0
		for i := len(s.t.order) - 1; i >= 0; i-- {
			for _, k := range at[s.t.order[i]] {
				before, most := s.taken[k], s.mouths[k].Most
				if n == intakeSweeps-1 {
					most = before // what only comes down leaves every level below as low
				}
				s.give(k, most)
				moved = math.Max(moved, math.Abs(s.taken[k]-before))
			}
		}
		if moved <= 2*s.slack {
			break
		}
	}
}

// give gives mouth k the most it can have up to hi, with the others as they are.
func (s *intake) give(k int, hi float64) {
	if s.goes(k, hi) {
		return
	}
	lo := 0.0
	if s.piped {
		lo = -s.arriving(k)
	}
	for hi-lo > s.slack {
		if mid := (lo + hi) / 2; s.goes(k, mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	s.taken[k] = lo
	if s.piped {
		s.flowAll()
	}
}

// arriving is the flow that the other mouths bring to the node of mouth k, m3/s.
func (s *intake) arriving(k int) (flow float64) {
	r := s.mouths[k].Reach
	for _, a := range s.t.arrive[r] {
		flow += s.reaches[a].Flow
	}
	for j, m := range s.mouths {
		if j != k && m.Reach == r {
			flow += s.taken[j]
		}
	}
	return math.Max(0, flow)
}

// goes tells whether mouth k can take a flow, and sets it.
func (s *intake) goes(k int, flow float64) bool {
	s.taken[k] = flow
	m := &s.mouths[k]
	over := s.level(k, s.taken)
	if rim := s.reaches[m.Reach].Rim; !math.IsNaN(rim) {
		over = math.Max(over, rim)
	}
	within := math.Inf(-1)
	if s.piped {
		s.flowAll()
		within = s.t.gradeLine(s.reaches)[m.Reach].Node
	}
	return within <= over && (m.Lets == nil || flow <= m.Lets(over, within))
}
