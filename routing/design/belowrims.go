package design

import (
	"context"
	"math"

	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// largerMost is how many sizes larger than their flow asks for pipes are tried
// where the grade line passes a rim: two sizes carry four times and more.
const largerMost = 2

// rimSlack is the height of the grade line over a rim that is none, m: a tenth
// of the millimetre a level is printed to.
const rimSlack = 1e-4

// laidBelowRims is laid, with larger pipes where that is what brings the grade
// line of the design storm down below the open rims, or nearer to them.
func (d *job) laidBelowRims(ctx context.Context, p *planned) (*layer, error) {
	best, err := d.laid(ctx, p)
	if err != nil {
		return nil, err
	}
	plan := best.t
	for larger := 1; larger <= largerMost && best.overRims() > 0; larger++ {
		if l, err := d.lay(plan, larger); err == nil && l.drainsBetter(best) {
			best = l
		}
	}
	return best, ctx.Err()
}

// drainsBetter tells whether a layer keeps the grade line lower over the rims it
// passes than another or, both alike, leaves less of the design flow over.
func (l *layer) drainsBetter(than *layer) bool {
	a, b := l.overRims(), than.overRims()
	if math.Abs(a-b) > rimSlack {
		return a < b
	}
	return l.leftOver() < than.leftOver()
}

// muchFlow is the part of the design flow that turns which are no fitting's must
// carry more to be worth having.
const muchFlow = 0.02

// drainsMuchBetter tells whether a layer drains better than another by more than
// fittings that are sold are worth.
func (l *layer) drainsMuchBetter(than *layer) bool {
	return l.drainsBetter(than) && (than.overRims() > rimSlack || than.leftOver()-l.leftOver() > muchFlow*l.totalFlow())
}

// overRims is how far the grade line of the design storm stands over an open rim
// at most, m; 0 where it passes none.
func (l *layer) overRims() (most float64) {
	w := pipeworkOf(&l.net, l.criteria.Tailwater)
	reaches := w.reaches()
	grades, err := hydraulics.GradeLine(reaches)
	if err != nil {
		return math.Inf(1)
	}
	for k := range w.Pipes {
		if over := grades[k].Node - w.Nodes[w.Pipes[k].From].Rim; over > rimSlack {
			most = math.Max(most, over)
		}
	}
	return most
}

// overRim is the open rim that the grade line stands over most; nil for none.
func overRim(n *network.Network) (worst *network.Node) {
	for i := range n.Nodes {
		if v := &n.Nodes[i]; v.Freeboard < -rimSlack && (worst == nil || v.Freeboard < worst.Freeboard) {
			worst = v
		}
	}
	return worst
}
