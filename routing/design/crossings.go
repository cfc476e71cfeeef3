package design

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// crossings lists what the pipes meet, in the order of the pipes.
func (l *layer) crossings() []Crossing {
	var list []Crossing
	for k := range l.net.Pipes {
		p := &l.net.Pipes[k]
		laid := l.laid(p)
		for _, m := range l.law.Meetings(laid.From, laid.To) {
			if m.To-m.From < nodeApart {
				continue // two lines that touch
			}
			list = append(list, l.crossing(p, laid, m))
		}
	}
	l.alongWalls(list)
	return list
}

// crossing is what a pipe meets, and what to do there.
func (l *layer) crossing(p *network.Pipe, laid constraint.Laid, m constraint.Meeting) Crossing {
	at := (m.From + m.To) / 2
	c := Crossing{Pipe: p.ID, Kind: string(m.Kind), ID: m.ID, Length: m.To - m.From, Clearance: math.NaN()}
	if m.Utility != nil {
		c.Kind, at = "utility", m.Nearest
		var under bool
		c.Clearance, under = l.clearance(m, laid)
		c.Says = utilitySays(c, m, under)
	} else {
		c.Says = l.zoneSays(m, laid)
	}
	c.At, c.Station = pointOn(laid.From, laid.To, at/p.Length), l.net.Nodes[p.To].Station+p.Length-at
	return c
}

// clearanceStep is the spacing at which a pipe's clearance is looked at, m: finer
// than a checker's 5 cm.
const clearanceStep = 0.02

// clearance is the least height between the outsides of pipe and utility where they
// are near enough in plan for it to count, m, and whether the pipe lies under it;
// NaN where they are not, or the utility's depth is unknown.
func (l *layer) clearance(m constraint.Meeting, p constraint.Laid) (least float64, under bool) {
	_, within := l.law.Clearance(m.Utility, p.Size)
	length := distance(p.From, p.To)
	least = math.NaN()
	n := max(1, int(math.Ceil((m.To-m.From)/clearanceStep)))
	for k := 0; k <= n+1; k++ {
		s := m.From + (m.To-m.From)*float64(k)/float64(n)
		if k > n {
			s = m.Nearest
		}
		at, invert := pointOn(p.From, p.To, s/length), p.InvertUp+s/length*(p.InvertDown-p.InvertUp)
		if planar.DistanceFrom(m.Utility.Line, at) >= within {
			continue
		}
		top := l.law.UtilityTop(m.Utility, at)
		bottom := top
		if constraint.Given(m.Utility.OutsideDiameter) {
			bottom -= m.Utility.OutsideDiameter
		}
		over, below := invert-p.Size.Wall()-top, bottom-(invert+p.Size.Rise())
		if clear := math.Max(over, below); !(clear >= least) {
			least, under = clear, below > over
		}
	}
	return least, under
}

var handDig = fmt.Sprintf("have it marked and hand dig within %.2f m each side of the mark", constraint.HandDig)

// utilitySays is what to do at a utility.
func utilitySays(c Crossing, m constraint.Meeting, under bool) string {
	switch {
	case !constraint.Given(m.Utility.Top) && !constraint.Given(m.Utility.Depth):
		return "depth unknown: have it marked and expose before digging"
	case math.IsNaN(c.Clearance):
		return fmt.Sprintf("the pipe keeps %.2f m beside it: %s", m.Away, handDig)
	case under:
		return "the pipe passes under it: " + handDig + ", and hold it up while it is open"
	}
	return "the pipe passes over it: " + handDig
}

// boreCover is the cover a walk is bored under with, m: 12 in. Common practice, no
// source.
const boreCover = 12 * 0.0254

// rootCut is how thick roots may be cut, m: 2 in. Common practice, no source.
const rootCut = 2 * 0.0254

// zoneSays is what to do where a pipe crosses a zone.
func (l *layer) zoneSays(m constraint.Meeting, p constraint.Laid) string {
	gravel := slices.ContainsFunc(l.site.Paved, func(x constraint.Paved) bool {
		return x.Gravel && x.ID == m.ID && string(x.Kind) == string(m.Kind)
	})
	switch m.Kind {
	case constraint.ZoneWalk, constraint.ZonePatio:
		cover := l.coverOver(m, p)
		switch {
		case gravel:
			return "dig through it, and put the gravel back compacted"
		case cover >= boreCover:
			return "open cut and replace the panel, or bore under it"
		}
		return fmt.Sprintf("open cut and replace the panel: to bore under it %.3f m of cover is too little", down(cover, millimetre))
	case constraint.ZoneDriveway:
		if gravel {
			return "dig through it, and put the gravel back compacted; no thin-wall pipe under wheels"
		}
		return "saw cut, bed and patch; no thin-wall pipe under wheels"
	case constraint.ZoneRoots:
		return fmt.Sprintf("hand dig or bore among the roots; cut none over %.2f m without an arborist", rootCut)
	case constraint.ZoneWallStrip:
		return crossesWall
	}
	return "ask the holder of the easement first"
}

// coverOver is the least cover a pipe has in a zone, m.
func (l *layer) coverOver(m constraint.Meeting, p constraint.Laid) float64 {
	length := distance(p.From, p.To)
	in := p
	in.From, in.To = pointOn(p.From, p.To, m.From/length), pointOn(p.From, p.To, m.To/length)
	in.InvertUp = p.InvertUp + m.From/length*(p.InvertDown-p.InvertUp)
	in.InvertDown = p.InvertUp + m.To/length*(p.InvertDown-p.InvertUp)
	return l.law.Section(in).CoverMin
}

// What is said of a wall's strip.
const (
	crossesWall = "backfill by the wall settles: cross it square and compact under the pipe"
	alongWall   = "backfill by the wall settles: the pipe runs along it, so compact under it, or lay it farther out"
)

// alongWalls says of the runs of pipe that lie longer in a wall's strip than a
// crossing at 45 degrees that they run along it.
func (l *layer) alongWalls(list []Crossing) {
	inside := map[string]map[int]float64{} // lengths, by wall and pipe
	of := map[string]int{}
	for k := range l.net.Pipes {
		of[l.net.Pipes[k].ID] = k
	}
	for _, c := range list {
		if c.Kind == string(constraint.ZoneWallStrip) {
			if inside[c.ID] == nil {
				inside[c.ID] = map[int]float64{}
			}
			inside[c.ID][of[c.Pipe]] += c.Length
		}
	}
	for wall, lengths := range inside {
		for _, r := range runsOf(&l.net, slices.Sorted(maps.Keys(lengths))) {
			sum := 0.0
			for _, k := range r {
				sum += lengths[k]
			}
			if sum <= math.Sqrt2*l.criteria.Limits.WallStrip {
				continue
			}
			for i := range list {
				if c := &list[i]; c.Kind == string(constraint.ZoneWallStrip) && c.ID == wall && slices.Contains(r, of[c.Pipe]) {
					c.Says = alongWall
				}
			}
		}
	}
}

func pointOn(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}
