package profile

import (
	"math"
	"slices"
)

// Levels is a chain on whole levels: its inverts at both ends and wherever a
// grade breaks are whole numbers of steps. It carries the cost of whatever
// arrives at each level of the upper end down to the levels of the lower end, as
// the design of a tree asks (routing/sizing).
type Levels struct {
	Price Price

	q     *corridor
	step  float64
	links [][]link // by the break they start at; nil: not asked
	least minima
}

// Price is what a chain may have and what that costs, in one unit of the
// caller's.
type Price struct {
	Runs int     // most runs, 1 at least
	Run  float64 // of each run
	// Dig is the price of a metre of pipe a metre below Top, elevation m: of the
	// area between the inverts and that elevation, m2.
	Dig, Top float64
}

// levelSlack is how far past a limit a level may lie and still count as on it,
// in steps: the rounding of an elevation of a few thousand metres on steps of a
// tenth of a millimetre.
const levelSlack = 1e-6

// NewLevels returns a valid chain on levels of step metres.
func NewLevels(c *Chain, step float64) *Levels {
	q := newCorridor(c)
	q.tighten()
	return &Levels{q: q, step: step, links: make([][]link, len(q.breaks))}
}

// Ends returns the lowest and the highest level of the upper end and of the
// lower one; a lowest above the highest where there is none.
func (l *Levels) Ends() (upLo, upHi, downLo, downHi int) {
	first, last := l.span(0), l.span(len(l.q.breaks)-1)
	return l.over(first.low), l.under(first.high), l.over(last.low), l.under(last.high)
}

// Fewest returns the fewest runs, up to most, that reach the lower end from any
// level of the upper one; most+1 where so many do not. No level is left twice: what
// runs from it reach, they reach with the fewest before it.
func (l *Levels) Fewest(most int) int {
	lo, hi, _, _ := l.Ends()
	at, foot := l.starts(make([]float64, max(0, hi-lo+1)))
	left := make([][]bool, len(at))
	for runs := 1; runs <= most; runs++ {
		at = l.run(at, &foot, runs == most)
		if slices.ContainsFunc(foot.cost, func(c float64) bool { return !math.IsInf(c, 1) }) {
			return runs
		}
		for j := range at {
			if n := len(at[j].cost); len(left[j]) < n {
				left[j] = make([]bool, n)
			}
			for k, c := range at[j].cost {
				if left[j][k] {
					at[j].cost[k] = math.Inf(1)
				}
				left[j][k] = left[j][k] || !math.IsInf(c, 1)
			}
		}
	}
	return most + 1
}

// Down returns the least cost at each level of the lower end, from the lowest
// of Ends up, given the cost at each level of the upper end; +Inf where there is
// no way. Both are of the level itself.
func (l *Levels) Down(heads []float64) []float64 { return l.carry(heads, l.Price.Runs).cost }

// Up returns the level of the upper end that Down's cost at a level of the lower
// end comes from, the highest of several.
func (l *Levels) Up(heads []float64, down int) int {
	foot := l.carry(heads, l.Price.Runs)
	return foot.from[down-foot.lo]
}

// levelled is the least cost at each level of a break, from lo up, and the level
// of the chain's upper end it comes from.
type levelled struct {
	lo   int
	cost []float64
	from []int
}

// none is a break that nothing has reached yet.
func (l *Levels) none(b int) levelled {
	span := l.span(b)
	lo := l.over(span.low)
	n := max(0, l.under(span.high)-lo+1)
	v := levelled{lo: lo, cost: make([]float64, n), from: make([]int, n)}
	for k := range v.cost {
		v.cost[k] = math.Inf(1)
	}
	return v
}

// span is the inverts between the limits at a break, of either side's run.
func (l *Levels) span(b int) interval {
	at := l.q.breaks[b]
	out := everything
	if !at.node { // every limit there holds
		for k := at.first; k <= at.last; k++ {
			out = out.meet(interval{l.q.points[k].Floor, l.q.points[k].Ceiling})
		}
		return out
	}
	out = nothing
	for k := at.first; k <= at.last; k++ {
		out.low, out.high = min(out.low, l.q.points[k].Floor), max(out.high, l.q.points[k].Ceiling)
	}
	return out
}

func (l *Levels) under(y float64) int { return int(math.Floor(y/l.step + levelSlack)) }
func (l *Levels) over(y float64) int  { return int(math.Ceil(y/l.step - levelSlack)) }

// carry lays up to so many runs. What comes after a break depends on the level
// there alone, so the least cost at each, run by run, is enough.
func (l *Levels) carry(heads []float64, runs int) levelled {
	at, foot := l.starts(heads)
	for k := 1; k <= runs; k++ {
		at = l.run(at, &foot, k == runs)
	}
	return foot
}

// starts are the costs by break before the first run, and at the lower end.
func (l *Levels) starts(heads []float64) (at []levelled, foot levelled) {
	end := len(l.q.breaks) - 1
	at = make([]levelled, end)
	at[0] = l.none(0)
	copy(at[0].cost, heads)
	for k := range at[0].from {
		at[0].from[k] = at[0].lo + k
	}
	return at, l.none(end)
}

// run lays one run more from every break, to the lower end and, but for the last, to
// the breaks between.
func (l *Levels) run(at []levelled, foot *levelled, last bool) (next []levelled) {
	end := len(at)
	next = make([]levelled, end)
	for i := range at {
		if !slices.ContainsFunc(at[i].cost, func(c float64) bool { return !math.IsInf(c, 1) }) {
			continue
		}
		for _, x := range l.linksOf(i) {
			switch {
			case x.to == end:
				l.lay(&at[i], foot, i, x)
			case !last:
				if next[x.to].cost == nil {
					next[x.to] = l.none(x.to)
				}
				l.lay(&at[i], &next[x.to], i, x)
			}
		}
	}
	for j := range next {
		l.drop(&next[j], j)
	}
	return next
}

func (l *Levels) linksOf(i int) []link {
	if l.links[i] == nil {
		l.links[i] = l.q.links(i)
	}
	return l.links[i]
}

// lay carries the costs at break i over every run of a link. The area under a
// run is half its length times the inverts at its ends, so that each end has its
// own share of the cost, and only the least of the upper ends counts.
func (l *Levels) lay(from, to *levelled, i int, x link) {
	half := (l.q.breaks[x.to].s - l.q.breaks[i].s) / 2
	dug := func(level int) float64 { return l.Price.Dig * half * (l.Price.Top - float64(level)*l.step) }
	for _, p := range x.sets {
		starts, ends := spans([]pairs{p})
		lo, hi := max(from.lo, l.over(starts.low)), min(from.lo+len(from.cost)-1, l.under(starts.high))
		if lo > hi {
			continue
		}
		least := l.least.of(hi-lo+1, func(k int) float64 { return from.cost[lo+k-from.lo] + dug(lo+k) })
		if math.IsInf(least, 1) {
			continue
		}
		for level := max(to.lo, l.over(ends.low)); level <= min(to.lo+len(to.cost)-1, l.under(ends.high)); level++ {
			if least+dug(level)+l.Price.Run >= to.cost[level-to.lo] {
				continue // no start does better
			}
			span := p.startsOf(max(ends.low, min(ends.high, float64(level)*l.step)))
			a, b := max(lo, l.over(span.low)), min(hi, l.under(span.high))
			if a > b {
				continue
			}
			k, cost := l.least.between(a-lo, b-lo)
			if cost += dug(level) + l.Price.Run; cost < to.cost[level-to.lo] {
				to.cost[level-to.lo], to.from[level-to.lo] = cost, from.from[lo+k-from.lo]
			}
		}
	}
}

// drop lets a run start below where the one before ended: at a node, on the same
// side of each utility.
func (l *Levels) drop(v *levelled, j int) {
	b := l.q.breaks[j]
	if !b.node || len(v.cost) == 0 {
		return
	}
	for _, side := range l.q.sides(b) {
		lo, hi := v.lo, v.lo+len(v.cost)-1
		if !math.IsInf(side.low, -1) {
			lo = max(lo, l.over(side.low))
		}
		if !math.IsInf(side.high, 1) {
			hi = min(hi, l.under(side.high))
		}
		for k := hi - 1 - v.lo; k >= lo-v.lo; k-- {
			if v.cost[k+1] < v.cost[k] {
				v.cost[k], v.from[k] = v.cost[k+1], v.from[k+1]
			}
		}
	}
}

// minima answers for the least of any run of a row, the last of equal ones:
// rows[j][i] is where the least of the 2^j values from i on stands. The rows are made
// when first asked for.
type minima struct {
	values []float64
	rows   [][]int32
	made   bool
}

// of takes the values of a row and returns the least.
func (m *minima) of(n int, value func(k int) float64) float64 {
	m.values, m.made = m.values[:0], false
	least := math.Inf(1)
	for k := range n {
		v := value(k)
		least = min(least, v)
		m.values = append(m.values, v)
	}
	return least
}

func (m *minima) make() {
	m.made = true
	n := len(m.values)
	for j := 0; 1<<j <= n; j++ {
		if j == len(m.rows) {
			m.rows = append(m.rows, nil)
		}
		m.rows[j] = m.rows[j][:0]
		for i := 0; i+1<<j <= n; i++ {
			at := int32(i)
			if j > 0 {
				at = m.less(m.rows[j-1][i], m.rows[j-1][i+1<<(j-1)])
			}
			m.rows[j] = append(m.rows[j], at)
		}
	}
}

// less returns where the lesser value stands, b where both are equal.
func (m *minima) less(a, b int32) int32 {
	if m.values[a] < m.values[b] {
		return a
	}
	return b
}

// between returns the least of the values from lo to hi and where it stands.
func (m *minima) between(lo, hi int) (int, float64) {
	if !m.made {
		m.make()
	}
	j := 0
	for 2<<j <= hi-lo+1 {
		j++
	}
	at := m.less(m.rows[j][lo], m.rows[j][hi+1-1<<j])
	return int(at), m.values[at]
}
