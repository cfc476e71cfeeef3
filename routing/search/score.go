package search

import "github.com/paulmach/orb/planar"

// The prices of what keeps a part from being a plan, in metres of plain pipe:
// less than nothing else, but in order, so that moving the legs finds its way
// out of it.
const (
	noPlan   = 1e6 // and more by what legs lack
	barred   = 1e4 // for every pipe the law bars, or that comes too near another
	noHeight = 1e3 // and up to 8 times more by the height missing
)

// muchShort is a height missing that is not worth telling from more, m.
const muchShort = 0.02

// score draws the part and prices it; nothing that costs as much as limit or
// more is looked at to the end. The plan holds until the next is scored.
func (f *part) score(limit float64) (Plan, float64) {
	if lacking := f.draw(); lacking > 0 {
		return nil, noPlan * (1 + lacking)
	}
	q := f.drawn()
	f.planner.take(q)
	out, cost := f.least(limit)
	switch {
	case out > 0:
		return nil, barred * float64(1+out)
	case cost >= limit:
		return nil, cost
	}
	if short, ok := f.lacks(); !ok {
		q = nil
		cost += noHeight * (1 + 8*short/(short+muchShort))
	}
	if cost < limit && f.Apart > 0 && q.tangled(f.Apart) {
		return nil, barred
	}
	return q, cost
}

// least counts the pipes of the plan that the law bars and says what it costs, heights
// aside. Where either comes to limit it is told no further: pipes not asked for
// before count with their lengths, for no ground is cheaper than lawn.
func (f *part) least(limit float64) (out int, cost float64) {
	unknown := f.unknown[:0]
	cost = f.turns()
	for v, s := range f.plan {
		if s.Next < 0 {
			continue
		}
		if a := f.known(v); a == nil {
			unknown = append(unknown, v)
			cost += f.plan.pipe(v)
		} else if cost += a.priced; !a.ok {
			out++
		}
	}
	f.unknown = unknown
	for _, v := range unknown {
		if out > 0 && barred*float64(1+out) >= limit || out == 0 && cost >= limit {
			break
		}
		a := f.asDrawn(v)
		if cost += a.priced - f.plan.pipe(v); !a.ok {
			out++
		}
	}
	return out, cost
}

// pipe is the length of the pipe from point v of a plan, m.
func (p Plan) pipe(v int) float64 { return planar.Distance(p[v].At, p[p[v].Next].At) }
