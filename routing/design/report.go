package design

import (
	"fmt"
	"math"
	"strings"

	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// protections lists the stretches with less cover than preferred. Where the raster
// is lower than the top of curb behind it, that is taken, and said.
func (l *layer) protections() []Protection {
	var list []Protection
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		end := l.net.Nodes[p.To].Station
		s := l.law.Section(l.laid(p))
		for _, x := range s.Shallow {
			if x.To-x.From < nodeApart {
				continue
			}
			words := "less cover than preferred: keep wheels off, mark it for later diggers"
			if x.Short {
				words = "under the least cover: encase in concrete or sleeve in steel, as the authority over the right-of-way asks"
			}
			list = append(list, Protection{Pipe: p.ID, From: end + p.Length - x.To, To: end + p.Length - x.From, Cover: x.Cover, Says: words})
		}
		if s.Raised > 0 {
			l.assume("pipe %s: the raster is lower than the top of curb over the %.2f m behind it: taken as top of curb, have it shot; the least cover there is %.3f m", p.ID, s.Raised, s.CoverMin)
		}
	}
	return list
}

// warnings reports what the law lets pass but a designer should see.
func (l *layer) warnings() {
	l.drops()
	l.oddTurns()
	l.widerForFall()
	if !l.inTime() {
		l.note("flows are larger than the times water takes through the pipes leave: laid for less, pipes would not settle, or water would come higher over a rim")
	}
	lim := l.criteria.Limits
	l.deepFlow()
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		full := p.Capacity / (math.Pi / 4 * p.Size.Inside * p.Size.Inside)
		top := lim.VelocityMax
		if p.Role == network.OutletPipe {
			top = lim.OutletVelocityMax
		}
		switch {
		case full < lim.VelocityMin:
			l.note("pipe %s: %.2f m/s flowing full, under %.2f m/s: it will not scour itself clean, as it would laid at %.2f %%", p.ID, full, lim.VelocityMin,
				100*hydraulics.SlopeForVelocity(lim.VelocityMin, p.Size.Inside, p.Size.Roughness))
		case p.Velocity > top:
			l.note("pipe %s: %.2f m/s at design flow, over %.2f m/s: anchor it, guard what it strikes", p.ID, p.Velocity, top)
		}
	}
}

// deepFlow reports pipes that flow deeper than they should, those alike together.
func (l *layer) deepFlow() {
	most := l.criteria.Limits.DepthRatioMax
	ids, depths := map[string][]string{}, []string{}
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		if !(p.DepthRatio > most) || p.Flow > p.Capacity {
			continue
		}
		depth := fmt.Sprintf("%.0f", 100*p.DepthRatio)
		if ids[depth] == nil {
			depths = append(depths, depth)
		}
		ids[depth] = append(ids[depth], p.ID)
	}
	for _, depth := range depths {
		who := "pipe " + ids[depth][0] + " flows"
		if len(ids[depth]) > 1 {
			who = "pipes " + strings.Join(ids[depth], ", ") + " flow"
		}
		l.note("%s %s %% deep at design flow, over %.0f %%", who, depth, 100*most)
	}
}

// widerForFall says which pipes are wider than their flow asks for, and why.
func (l *layer) widerForFall() {
	last := len(l.criteria.Catalogue.Bores) - 1
	for _, wide := range l.mains()[1:] {
		bore := l.criteria.Catalogue.Bores[wide]
		var ids []string
		for k := range l.net.Pipes {
			if p := &l.net.Pipes[k]; p.Size.Nominal == bore.Nominal && l.boreFor(p.Flow, l.first, last)+l.larger < wide {
				ids = append(ids, p.ID)
			}
		}
		if len(ids) > 0 {
			l.note("%s: %s for fall, not for flow: that size may lie at %.2f %% (slope_min_large), and no smaller one finds the height", strings.Join(ids, ", "), bore.Nominal, 100*l.slopeMin(bore))
		}
	}
}

// dropNoted is the drop at a node from which it is noted, m: less than that a
// wye rolled up on the main takes. Common practice, no source.
const dropNoted = 0.15

// drops reports pipes that come in high above the one that leaves.
func (l *layer) drops() {
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		out := l.net.Nodes[p.To].Out
		if out < 0 {
			continue
		}
		d := p.InvertDown - l.net.Pipes[out].InvertUp
		if d < dropNoted {
			continue
		}
		at, below := &l.net.Nodes[p.To], l.net.Pipes[out].ID
		if p.Role == network.Main {
			l.note("main pipe %s ends %.3f m above pipe %s, which goes on from %s: build the drop with two bends and a riser, or lay the main steeper above it", p.ID, d, below, at.ID)
		} else {
			l.note("lateral pipe %s comes in %.3f m above pipe %s at %s: a vertical drop into the %s, or lay its last length steeper", p.ID, d, below, at.ID, strings.ReplaceAll(string(at.Kind), "_", " "))
		}
	}
}

// oddTurns reports turns that no bend or wye that is sold makes: not of 22.5 or
// 45 degrees, or of what comes to a wye beside its straight run.
func (l *layer) oddTurns() {
	var odd []string
	for _, p := range l.net.Pipes {
		at := l.net.Nodes[p.To]
		if at.Out < 0 || at.Kind.Inflow() || at.Kind == network.SedimentTrap {
			continue
		}
		turn := turnAt(l.net.Nodes[p.From].At, at.At, l.net.Nodes[l.net.Pipes[at.Out].To].At)
		if math.Abs(math.Remainder(turn, fittingStep)) > straightTurn {
			odd = append(odd, fmt.Sprintf("%.0f degrees from %s at %s", turn*180/math.Pi, p.ID, at.ID))
		}
	}
	if len(odd) > 0 {
		l.note("turns that no bend of 22.5 or 45 degrees makes, for want of height or room: %s; have a fitting made, or swing the pipe a little in its joints", strings.Join(odd, ", "))
	}
}

// fittingStep is the step of the angles bends are sold in, radians: 22.5
// degrees. Common practice, no source.
const fittingStep = math.Pi / 8

// overfull lists, for each outlet, the pipe that lacks most to carry its design
// flow, where one does.
func (l *layer) overfull() (list []*network.Pipe) {
	worst := map[int]*network.Pipe{} // by outlet node
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		end := p.To
		for l.net.Nodes[end].Out >= 0 {
			end = l.net.Pipes[l.net.Nodes[end].Out].To
		}
		most := 0.0
		if w := worst[end]; w != nil {
			most = w.Flow - w.Capacity
		}
		if over := p.Flow - p.Capacity; over > most*(1+overRounding) && over > overRounding*p.Flow {
			worst[end] = p
		}
	}
	for v := range l.net.Nodes {
		if w := worst[v]; w != nil {
			list = append(list, w)
		}
	}
	return list
}

// leftOver is the design flow beyond what the pipes carry, m3/s.
func (l *layer) leftOver() (flow float64) {
	for _, p := range l.overfull() {
		flow += p.Flow - p.Capacity
	}
	return flow
}

// overRounding is the share of a flow under which a shortage is rounding.
const overRounding = 1e-6

// notedOverfull notes the pipes that are asked for more than they carry full at
// their slope, and whether the water finds room under pressure.
func (l *layer) notedOverfull(spills []Spill) {
	finds := "the hydraulic grade line stays below every rim and leader, so the pressure of the full pipe takes it"
	if len(spills) > 0 && spills[0].Share < 1 {
		finds = "what finds no room comes out where the hydraulic grade line passes the ground"
	}
	for _, p := range l.overfull() {
		l.note("pipe %s carries %.3f L/s of its %.3f L/s flowing full, for which it would have to be at least %.3f m wide inside: %s", p.ID, p.Capacity*1000, p.Flow*1000,
			up(hydraulics.SizeForFlow(p.Flow, p.Size.Roughness, p.Slope()), millimetre), finds)
	}
}
