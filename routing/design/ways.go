package design

import (
	"errors"
	"math"
	"slices"

	"curbfall/routing/profile"
	"curbfall/routing/sizing"
)

// ways are the offers to all chains on levels of inverts, priced.
type ways struct {
	*layer
	step   float64             // of the levels, m
	finer  int                 // levels in a step of inverts
	levels [][]*profile.Levels // by chain and bore, nil where not offered
	fewest [][]int             // the grades each needs
	price  price
}

// price is one number for all that sizes and grades are chosen by.
type price struct {
	pipe     []float64 // a metre of a bore
	dig, top float64   // a metre of pipe a metre below top
	off      float64   // an end off the steps of inverts
	run      float64   // a grade
	lack     float64   // a size a pipe lacks of those asked of it
}

// grades is how many of them a price holds.
func (p *price) grades(cost float64) int { return int(math.Mod(cost, p.lack) / p.run) }

// waysOn puts the offers on levels; nil where a chain has none there. Finer ones
// are for chains that lack height by the laying slack, and take it.
func (l *layer) waysOn(finer int) *ways {
	w := &ways{layer: l, step: l.criteria.InvertStep / float64(finer), finer: finer}
	for k := range l.chains {
		levels, fewest, some := make([]*profile.Levels, len(l.offers[k])), make([]int, len(l.offers[k])), false
		for b, ch := range l.offers[k] {
			if ch == nil || math.IsInf(highestEnd(ch), -1) {
				continue
			}
			if finer > 1 {
				ch = eased(ch)
			}
			x := profile.NewLevels(ch, w.step)
			if n := x.Fewest(runsMost); n <= runsMost {
				levels[b], fewest[b], some = x, n, true
			}
		}
		if !some {
			return nil
		}
		w.levels, w.fewest = append(w.levels, levels), append(w.fewest, fewest)
	}
	w.price = w.prices()
	return w
}

// best is the best choice there is; nil for none.
func (w *ways) best() (best *sizing.Design) {
	most := extraMost
	if w.finer > 1 {
		most = extraFine
	}
	for extra := 0; extra <= most; extra++ {
		d, err := sizing.Solve(w.problem(extra))
		if errors.As(err, new(*sizing.InfeasibleError)) {
			continue
		}
		if err != nil {
			panic(err) // the problem is posed wrongly
		}
		// What was not tried has a chain with more grades yet, and no other with
		// fewer than it needs: it can but lack fewer sizes.
		if best = d; d.Cost < w.price.lack && w.price.grades(d.Cost) <= w.least()+extra {
			break
		}
	}
	return best
}

// least is a number of grades that no choice goes below.
func (w *ways) least() (sum int) {
	for k := range w.levels {
		least := runsMost
		for b, x := range w.levels[k] {
			if x != nil {
				least = min(least, w.fewest[k][b])
			}
		}
		sum += least
	}
	return sum
}

// prices makes each thing dearer than all together that comes after it.
func (w *ways) prices() price {
	p := price{pipe: w.criteria.Costs.Pipe, dig: w.criteria.Costs.Dig, top: math.Inf(-1)}
	if !w.criteria.Costs.Given() {
		p.dig = 1
		for b := range w.criteria.Catalogue.Bores {
			p.pipe = append(p.pipe, float64(b)*w.criteria.InvertStep)
		}
	}
	bottom, length := math.Inf(1), 0.0
	for k := range w.offers {
		length += w.length(k)
		for _, ch := range w.offers[k] {
			if ch == nil {
				continue
			}
			for _, st := range ch.Stations {
				p.top, bottom = math.Max(p.top, st.Ceiling), math.Min(bottom, st.Floor)
			}
		}
	}
	p.top, bottom = p.top+layingSlack, bottom-layingSlack
	p.off = 1 + length*(slices.Max(p.pipe)+p.dig*(p.top-bottom))
	p.run = p.off * float64(2*len(w.chains)+1)
	p.lack = p.run * float64(len(w.chains)*(runsMost+extraMost)+1)
	return p
}

// ownLength is the plan length of chain k without the outlet pipe to a curb face,
// whose bore is the hole's, m.
func (l *layer) ownLength(k int) float64 {
	if l.outletEdge(k) {
		return l.lengths[k][len(l.lengths[k])-2]
	}
	return l.length(k)
}

// length is the plan length of chain k, m.
func (l *layer) length(k int) float64 { return l.lengths[k][len(l.lengths[k])-1] }

// problem is the tree with so many grades more in each chain than it needs.
func (w *ways) problem(extra int) *sizing.Problem {
	p := &sizing.Problem{Step: w.step, Cost: sizing.Cost{Head: w.head, Foot: w.foot}}
	for _, b := range w.criteria.Catalogue.Bores {
		p.Sizes = append(p.Sizes, b.Hard) // of one family, so in order
	}
	next := make([]int, len(w.t)) // by vertex: the chain that starts there
	for v := range next {
		next[v] = -1
	}
	for k := range w.chains {
		next[w.chains[k].head()] = k
	}
	for k := range w.chains {
		pipe := sizing.Pipe{Next: next[w.chains[k].foot()], Length: w.length(k), Flow: w.chains[k].flow, Shrinks: w.allOutlet(k), Choices: make([]sizing.Choice, len(p.Sizes))}
		for b, x := range w.levels[k] {
			if x != nil {
				x.Price = profile.Price{Runs: w.fewest[k][b] + extra, Run: w.price.run, Dig: w.price.dig, Top: w.price.top}
				pipe.Choices[b].Way = x
			}
		}
		p.Pipes = append(p.Pipes, pipe)
	}
	return p
}

// head is the price of a chain's upper end.
func (w *ways) head(_, _ int, invert float64) float64 {
	if int(math.Round(invert/w.step))%w.finer != 0 {
		return w.price.off
	}
	return 0
}

// foot is the price of a chain's lower end and of its pipe.
func (w *ways) foot(k, bore int, invert float64) float64 {
	cost := w.head(k, bore, invert) + w.ownLength(k)*w.price.pipe[bore]
	if w.larger > 0 && !w.allOutlet(k) {
		cost += w.price.lack * float64(max(0, w.amply(k)-bore))
	}
	return cost
}
