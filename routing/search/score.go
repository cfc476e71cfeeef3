package search

import "math"

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
// more is looked at to the end.
func (f *part) score(limit float64) (Plan, float64) {
	if lacking := f.draw(); lacking > 0 {
		return nil, noPlan * (1 + lacking)
	}
	q := f.drawn()
	if bare := q.length(); bare >= limit {
		return nil, bare // no ground is cheaper than lawn
	}
	f.planner.take(q)
	out, length := 0, 0.0
	for v, s := range q {
		if s.Next < 0 {
			continue
		}
		a := f.asDrawn(v)
		if length += a.priced; a.ok {
			continue
		}
		if out++; barred*float64(1+out) >= limit {
			return nil, barred * float64(1+out)
		}
	}
	if out > 0 {
		return nil, barred * float64(1+out)
	}
	if length >= limit {
		return nil, length
	}
	cost, short, ok := f.cost()
	if !ok {
		q = nil
		cost = noHeight*(1+8*short/(short+muchShort)) + length
	}
	if cost < limit && f.Apart > 0 && q.tangled(f.Apart) {
		return nil, barred
	}
	return q, cost
}

// length is the length of all pipes of a plan, m.
func (p Plan) length() (sum float64) {
	for _, s := range p {
		if s.Next >= 0 {
			sum += math.Hypot(p[s.Next].At[0]-s.At[0], p[s.Next].At[1]-s.At[1])
		}
	}
	return sum
}
