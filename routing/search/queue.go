package search

// queue is a heap of nodes by value, equal values by lower node. Each entry has
// four below it: half the levels of two, in one line of memory.
type queue struct{ list []queued }

type queued struct {
	v float64
	n int32
}

func (a queued) before(b queued) bool { return a.v < b.v || a.v == b.v && a.n < b.n }

func (q *queue) len() int { return len(q.list) }

func (q *queue) push(v float64, node int) {
	x := queued{v, int32(node)}
	q.list = append(q.list, x)
	i := len(q.list) - 1
	for i > 0 {
		p := (i - 1) / 4
		if !x.before(q.list[p]) {
			break
		}
		q.list[i] = q.list[p]
		i = p
	}
	q.list[i] = x
}

func (q *queue) pop() (float64, int) {
	top, last := q.list[0], len(q.list)-1
	x := q.list[last]
	q.list = q.list[:last]
	if last == 0 {
		return top.v, int(top.n)
	}
	i := 0
	for first := 1; first < last; first = 4*i + 1 {
		c := first
		for k := first + 1; k < min(first+4, last); k++ {
			if q.list[k].before(q.list[c]) {
				c = k
			}
		}
		if !q.list[c].before(x) {
			break
		}
		q.list[i] = q.list[c]
		i = c
	}
	q.list[i] = x
	return top.v, int(top.n)
}
