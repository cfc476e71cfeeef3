package search

import "math"

// measure prepares the least price that can remain: distances between starts
// and ends in plan, and trees over them.
func (t *steiner) measure() {
	k := len(t.starts)
	t.home = fill(k, math.Inf(1))
	between := make([][]float64, k+1)
	for i := range between {
		between[i] = fill(k+1, math.Inf(1))
	}
	for i, s := range t.starts {
		for _, w := range s.stems {
			t.home[i] = min(t.home[i], w.cost+t.togo.price[w.node])
			for j := range t.starts {
				between[i][j] = min(between[i][j], w.cost+t.starts[j].dist[w.node])
			}
		}
		for _, l := range s.straight {
			t.home[i] = min(t.home[i], l.priced)
		}
	}
	for i := range k {
		between[i][k], between[k][i] = t.home[i], t.home[i]
	}
	for i := range k {
		for j := range k {
			d := min(between[i][j], between[j][i])
			if t.many {
				d = min(d, t.home[i]+t.home[j])
			}
			between[i][j], between[j][i] = d, d
		}
	}
	t.span = make([]float64, t.full+1)
	for x := range t.span {
		t.span[x] = spanning(between, x|1<<k)
	}
}

// spanning is the least tree over the members of a set.
func spanning(d [][]float64, set int) (sum float64) {
	near := fill(len(d), math.Inf(1))
	in := len(d) - 1 // the ends are always in
	for left := set &^ (1 << in); left != 0; left &^= 1 << in {
		best := -1
		for i := range d {
			if left>>i&1 == 1 {
				near[i] = min(near[i], d[in][i])
				if best < 0 || near[i] < near[best] {
					best = i
				}
			}
		}
		sum += near[best]
		in = best
	}
	return sum
}

// rest is the least that must still be paid for a stem of subset x at v. A tree
// over v, the other starts and an end is at least half of any round over them:
// the least tree over the others and the two nearest to v.
func (t *steiner) rest(x int, v int32) float64 {
	home := t.togo.price[v]
	m1, m2, most := home, math.Inf(1), home
	for i := range t.starts {
		if x>>i&1 == 1 {
			continue
		}
		d := t.starts[i].dist[v]
		if t.many {
			d = min(d, home+t.home[i])
		}
		most = max(most, max(d, (home+d+t.home[i])/2))
		if d < m1 {
			m1, m2 = d, m1
		} else if d < m2 {
			m2 = d
		}
	}
	if x == t.full {
		return home
	}
	return max(most, (t.span[t.full&^x]+m1+m2)/2)
}
