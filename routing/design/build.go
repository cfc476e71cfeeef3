package design

import (
	"fmt"
	"math"
	"slices"

	"curbfall/routing/constraint"
	"curbfall/routing/network"

	"github.com/paulmach/orb"
)

// changeApart is how near a fitting the pipe need not change where the ground
// over it does, m: no crew lays a shorter piece.
const changeApart = 0.05

// nodeApart is the least distance between two nodes of a pipe, m.
const nodeApart = 1e-3

// build makes nodes and pipes, upstream chains first.
func (l *layer) build() {
	l.openings()
	l.node = make([]int, len(l.t))
	for v := range l.node {
		l.node[v] = -1
	}
	for k := range l.chains {
		l.buildChain(k)
	}
	l.finish()
}

// ends lists the stations along chain k where a pipe ends: vertices, grade
// breaks, openings, and where the ground changes between lawn and hard surface.
func (l *layer) ends(k int) []float64 {
	ends := slices.Clone(l.lengths[k])
	near := func(s, apart float64) bool {
		return slices.ContainsFunc(ends, func(e float64) bool { return math.Abs(e-s) < apart })
	}
	add := func(s float64) {
		if !near(s, nodeApart) {
			ends = append(ends, s)
		}
	}
	for _, r := range l.runs[k] {
		add(r.To)
	}
	for _, o := range l.opened[k] {
		add(o.s)
	}
	c, bore := &l.chains[k], l.boreOf(k)
	if bore.Lawn != bore.Hard {
		for i := 1; i < len(c.vertices); i++ {
			if i == len(c.vertices)-1 && l.outletEdge(k) {
				break
			}
			for _, paved := range l.law.PavedAlong(l.t[c.vertices[i-1]].at, l.t[c.vertices[i]].at) {
				for _, s := range []float64{paved.From, paved.To} {
					s = math.Min(s+l.lengths[k][i-1], l.length(k)) // a sum may pass it by its rounding
					if !near(s, changeApart) || !l.hardFits(k, s) {
						add(s)
					}
				}
			}
		}
	}
	slices.Sort(ends)
	return ends
}

// hardFits tells whether the pipe for hard surface has its cover under the lawn
// beside station s of chain k, where it changes; the other pipe is no thicker.
func (l *layer) hardFits(k int, s float64) bool {
	at := l.pointAt(k, s)
	return l.runOver(k, s, s).invertFrom(s)+l.boreOf(k).Hard.Rise()+l.criteria.Limits.CoverMin <= l.law.Ground.Ground(at[0], at[1])
}

func (l *layer) buildChain(k int) {
	c := &l.chains[k]
	ends := l.ends(k)
	from := l.vertexNode(c.head())
	for i := 1; i < len(ends); i++ {
		to := l.nodeAt(k, ends[i])
		if to == from {
			continue // vertices closer than nodes: corners that are all but one
		}
		s0, s1 := ends[i-1], ends[i]
		run := l.runOver(k, s0, s1)
		size, role := l.sizeAt(k, s0, s1)
		p := network.Pipe{
			ID: fmt.Sprintf("p%d", len(l.net.Pipes)+1), Role: role, From: from, To: to,
			Length: distance(l.net.Nodes[from].At, l.net.Nodes[to].At), Size: size, Flow: c.flow, RainDuration: c.time,
			InvertUp: run.invertFrom(s0), InvertDown: run.invertFrom(s1),
		}
		pipeAt(&p)
		l.net.Nodes[from].Out = len(l.net.Pipes)
		l.net.Pipes = append(l.net.Pipes, p)
		from = to
	}
}

type straightRun struct{ from, to, up, down float64 }

func (r straightRun) invertFrom(s float64) float64 {
	t := (s - r.from) / (r.to - r.from)
	return r.up*(1-t) + r.down*t
}

// runOver is the run that holds over s0..s1 of chain k.
func (l *layer) runOver(k int, s0, s1 float64) straightRun {
	mid := (s0 + s1) / 2
	for _, r := range l.runs[k] {
		if mid <= r.To {
			return straightRun{r.From, r.To, r.InvertFrom, r.InvertTo}
		}
	}
	panic("a pipe beyond the last run")
}

// sizeAt is the pipe and role between two ends of chain k.
func (l *layer) sizeAt(k int, s0, s1 float64) (constraint.Size, network.Role) {
	c, bore := &l.chains[k], l.boreOf(k)
	last := l.t[c.foot()].outlet >= 0 && s1 >= l.lengths[k][len(l.lengths[k])-1]-nodeApart
	if last && l.outletEdge(k) {
		return l.holeOf(k).Outlet, network.OutletPipe
	}
	role := network.Main
	if c.inflows == 1 {
		role = network.Lateral
	}
	if last {
		role = network.OutletPipe
	}
	a, b := l.pointAt(k, s0+(s1-s0)/4), l.pointAt(k, s1-(s1-s0)/4)
	if len(l.law.PavedAlong(a, b)) > 0 {
		return bore.Hard, role
	}
	return bore.Lawn, role
}

// nodeAt returns the node at station s of chain k, making it if need be.
func (l *layer) nodeAt(k int, s float64) int {
	c := &l.chains[k]
	for i, e := range l.lengths[k] {
		if i > 0 && math.Abs(e-s) < nodeApart {
			return l.vertexNode(c.vertices[i])
		}
	}
	kind := network.Reducer
	for _, r := range l.runs[k] {
		if math.Abs(r.To-s) < nodeApart {
			kind = network.GradeBreak
		}
	}
	for _, o := range l.opened[k] {
		if math.Abs(o.s-s) < nodeApart {
			kind = o.kind
		}
	}
	return l.newNode(network.Node{Kind: kind, At: l.pointAt(k, s)})
}

// newNode appends a node with nothing known but what is given.
func (l *layer) newNode(n network.Node) int {
	n.Ground = l.law.Ground.Ground(n.At[0], n.At[1])
	n.Out = -1
	if !n.Kind.Inflow() {
		n.Rim, n.Inflow = math.NaN(), math.NaN()
	}
	if n.Kind != network.OutletNode {
		n.Gutter, n.Lid = math.NaN(), math.NaN()
	}
	if n.ID == "" {
		n.ID = l.unused("n%d", len(l.net.Nodes)+1)
	}
	l.net.Nodes = append(l.net.Nodes, n)
	return len(l.net.Nodes) - 1
}

// unused is an id of a pattern, with the first number from one on that no other node
// has.
func (l *layer) unused(pattern string, from int) string {
	for ; l.taken(fmt.Sprintf(pattern, from)); from++ {
	}
	return fmt.Sprintf(pattern, from)
}

// taken tells whether a node has an id, or will: inflows and outlets keep theirs.
func (l *layer) taken(id string) bool {
	return l.siteHas(id) || slices.ContainsFunc(l.in, func(in Inflow) bool { return in.ID == id }) ||
		slices.ContainsFunc(l.net.Nodes, func(n network.Node) bool { return n.ID == id })
}

// vertexNode returns the node of a tree vertex, making it at first.
func (l *layer) vertexNode(v int) int {
	if l.node[v] >= 0 {
		return l.node[v]
	}
	x := l.t[v]
	n := network.Node{Kind: network.Bend, At: x.at}
	switch {
	case x.inflow >= 0:
		in := &l.in[x.inflow]
		n = network.Node{ID: in.ID, Kind: in.Kind, At: x.at, Rim: in.Rim, Roof: in.Roof, Inflow: in.Flow, Assumed: in.Assumed}
	case x.outlet >= 0:
		o := &l.used[x.outlet]
		n = network.Node{ID: o.id, Kind: network.OutletNode, At: x.at, OutletType: o.kind, Gutter: math.NaN(), Lid: o.lid}
		if o.curb != nil {
			n.Gutter = o.curb.Gutter
			if l.criteria.Tailwater.GutterFlow {
				n.Street, _ = l.streetWater(o.curb)
			}
		}
		if n.ID == "" {
			if n.ID = "outlet"; x.outlet > 0 || l.taken(n.ID) {
				n.ID = l.unused("outlet-%d", x.outlet+1)
			}
		}
	case l.overturned(v):
		n.Kind = network.SedimentTrap // a basin with a sump and a lid
	case l.t.incoming()[v] > 1:
		n.Kind = network.Wye
	case l.openVertex[v] != "":
		n.Kind = l.openVertex[v]
	case !l.bends(v):
		n.Kind = network.Reducer
	}
	l.node[v] = l.newNode(n)
	return l.node[v]
}

// overturned tells whether water turns at a vertex by more than a fitting does.
func (l *layer) overturned(v int) bool {
	most := l.turnMost(l.t.incoming()[v] > 1)
	for _, x := range l.t {
		if x.next == v && turnAt(x.at, l.t[v].at, l.t[l.t[v].next].at) > most {
			return true
		}
	}
	return false
}

// bends tells whether the pipe turns at a vertex with one pipe in.
func (l *layer) bends(v int) bool {
	for u := range l.t {
		if l.t[u].next == v {
			a, b, c := l.t[u].at, l.t[v].at, l.t[l.t[v].next].at
			side := (b[0]-a[0])*(c[1]-b[1]) - (b[1]-a[1])*(c[0]-b[0])
			return math.Abs(side) > straight*distance(a, b)
		}
	}
	return false
}

// finish fills what needs the whole network: stations, inverts, what lies over
// each pipe.
func (l *layer) finish() {
	n := &l.net
	for i := range n.Nodes {
		station := 0.0
		for v := i; n.Nodes[v].Out >= 0; v = n.Pipes[n.Nodes[v].Out].To {
			station += n.Pipes[n.Nodes[v].Out].Length
		}
		n.Nodes[i].Station = station
		if out := n.Nodes[i].Out; out >= 0 {
			n.Nodes[i].Invert = n.Pipes[out].InvertUp
		}
	}
	for k := range n.Pipes {
		p := &n.Pipes[k]
		if n.Nodes[p.To].Out < 0 {
			n.Nodes[p.To].Invert = p.InvertDown
		}
		// Where pipe narrows the fitting that narrows it is what a crew looks for,
		// bend or not.
		if v := &n.Nodes[p.To]; v.Kind == network.Bend && v.Out >= 0 && n.Pipes[v.Out].Size.Diameter < p.Size.Diameter {
			v.Kind = network.Reducer
		}
		s := l.law.Section(l.laid(p))
		p.CoverMin, p.DepthMax = s.CoverMin, s.DepthMax
	}
	for i := range n.Nodes {
		n.Nodes[i].InvertDepth = n.Nodes[i].Ground - n.Nodes[i].Invert
	}
}

// laid is a pipe as the law looks at it.
func (l *layer) laid(p *network.Pipe) constraint.Laid {
	laid := constraint.Laid{From: l.net.Nodes[p.From].At, To: l.net.Nodes[p.To].At, Size: p.Size,
		InvertUp: p.InvertUp, InvertDown: p.InvertDown}
	if p.Role == network.OutletPipe {
		laid.Curb = l.curbAt(laid.To)
	}
	return laid
}

func (d *job) curbAt(p orb.Point) *constraint.CurbPoint {
	for _, o := range d.used {
		if o.curb != nil && o.at == p {
			return o.curb
		}
	}
	return nil
}
