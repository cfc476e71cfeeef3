package search

import (
	"math"

	"github.com/paulmach/orb"
)

// wall bars the arcs that cross or touch a pipe laid, but at its ends.
func (g *Search) wall(a, b orb.Point) {
	if g.MayCross {
		return
	}
	w := wall{a, b}
	g.walls = append(g.walls, w)
	if g.Forget {
		return // each arc is held against the walls when asked for
	}
	list, known := g.across[w] // the same pipes are laid time and again
	if !known {
		list = g.arcsAcross(a, b)
		g.across[w] = list
	}
	for _, p := range list {
		if !p.crossed {
			p.crossed = true
			g.barred = append(g.barred, p)
		}
	}
}

// arcsAcross are the arcs that cross or touch a pipe, but at its ends.
func (g *Search) arcsAcross(a, b orb.Point) (list []*arcPair) {
	reach := float64(g.Reach)*g.Step + g.stray()
	c0, c1 := g.colRange(min(a[0], b[0])-reach, max(a[0], b[0])+reach)
	r0, r1 := g.rowRange(min(a[1], b[1])-reach, max(a[1], b[1])+reach)
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			i := row*g.Cols + col
			if !g.Usable[i] {
				continue
			}
			p := g.At(i)
			for k, d := range g.offsets {
				if c := col + d[0]; c < 0 || c >= g.Cols || row+d[1] >= g.Rows {
					continue
				}
				q := g.At(i + d[1]*g.Cols + d[0])
				if boxesMeet(p, q, a, b) && meets(p, q, a, b) {
					list = append(list, g.slot(i, k))
				}
			}
		}
	}
	return list
}

// boxesMeet tells whether the boxes of two segments touch.
func boxesMeet(a, b, p, q orb.Point) bool { return !boxesApart(a, b, p, q, apart) }

// boxesApart tells whether the boxes of two segments lie farther apart than by, m.
func boxesApart(a, b, p, q orb.Point, by float64) bool {
	return max(a[0], b[0]) < min(p[0], q[0])-by || max(p[0], q[0]) < min(a[0], b[0])-by ||
		max(a[1], b[1]) < min(p[1], q[1])-by || max(p[1], q[1]) < min(a[1], b[1])-by
}

// walled tells whether a line meets a pipe laid.
func (g *Search) walled(a, b orb.Point) bool {
	for _, w := range g.walls {
		if boxesMeet(a, b, w.a, w.b) && meets(a, b, w.a, w.b) {
			return true
		}
	}
	return false
}

// clearWalls takes pipes laid away again, but those of other systems.
func (g *Search) clearWalls() {
	for _, p := range g.barred {
		p.crossed = false
	}
	g.walls, g.barred = nil, g.barred[:0]
	for _, w := range g.laid {
		g.wall(w.a, w.b)
	}
}

// Among asks Join for some sources alone, and keeps it off the pipes of other
// systems; with nil for both it is as at first.
func (g *Search) Among(sources []int, others []Vertex) {
	for _, n := range g.shut {
		g.Usable[n] = true
	}
	for _, k := range g.off {
		k.ok = true
	}
	g.among, g.laid, g.shut, g.off = sources, nil, nil, nil
	if len(others) > 0 {
		g.askEnds()
	}
	for _, v := range others {
		if i := g.nodeAt(v.At); i >= 0 && g.Usable[i] {
			g.shut = append(g.shut, i)
		}
		if v.Next >= 0 {
			g.laid = append(g.laid, wall{v.At, others[v.Next].At})
		}
	}
	for _, n := range g.shut {
		g.Usable[n] = false
	}
	clear(g.across)
	g.clearWalls()
	if len(others) == 0 {
		return
	}
	bar := func(k *link, from, to orb.Point) {
		if k.ok && (g.walled(from, to) || k.node >= 0 && !g.Usable[k.node]) {
			k.ok = false
			g.off = append(g.off, k)
		}
	}
	for i := range g.ends {
		k := &g.ends[i]
		bar(k, g.At(k.node), g.Outlets[k.outlet].At)
	}
	for s := range g.links {
		for i := range g.links[s] {
			k := &g.links[s][i]
			if k.node >= 0 {
				bar(k, g.Sources[s].At, g.At(k.node))
			} else {
				bar(k, g.Sources[s].At, g.Outlets[k.outlet].At)
			}
		}
	}
}

func (g *Search) colRange(x0, x1 float64) (int, int) {
	return max(0, int((x0-g.Origin[0])/g.Step)), min(g.Cols-1, int((x1-g.Origin[0])/g.Step))
}

func (g *Search) rowRange(y0, y1 float64) (int, int) {
	return max(0, int((y0-g.Origin[1])/g.Step)), min(g.Rows-1, int((y1-g.Origin[1])/g.Step))
}

// apart is how far pipes that do not join must pass each other, m.
const apart = 1e-6

// meets tells whether two segments come together anywhere but at a common end.
func meets(a, b, p, q orb.Point) bool {
	if a == p && b == q || a == q && b == p {
		return false
	}
	// Most lie on one side of the other.
	dx, dy := b[0]-a[0], b[1]-a[1]
	l := apart * math.Sqrt(dx*dx+dy*dy)
	if u, v := dx*(p[1]-a[1])-dy*(p[0]-a[0]), dx*(q[1]-a[1])-dy*(q[0]-a[0]); u > l && v > l || u < -l && v < -l {
		return false
	}
	side := func(o, e, x orb.Point) float64 {
		return ((e[0]-o[0])*(x[1]-o[1]) - (e[1]-o[1])*(x[0]-o[0])) / math.Hypot(e[0]-o[0], e[1]-o[1])
	}
	on := func(x, o, e orb.Point) bool { // x lies inside segment o e
		if x == o || x == e || math.Abs(side(o, e, x)) > apart {
			return false
		}
		return (x[0]-o[0])*(x[0]-e[0])+(x[1]-o[1])*(x[1]-e[1]) < 0
	}
	if on(a, p, q) || on(b, p, q) || on(p, a, b) || on(q, a, b) {
		return true
	}
	if a == p || a == q || b == p || b == q {
		return false
	}
	return side(a, b, p)*side(a, b, q) < 0 && side(p, q, a)*side(p, q, b) < 0
}
