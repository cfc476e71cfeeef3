package design

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// channelStep is the spacing at which a channel drain is looked at, m.
const channelStep = 0.25

// channelDrains returns the channel drains of the lot. One takes what runs over
// its line; its pipe leaves at its lower end within the lot.
//
//	    garage
//	|     |     |   water of the drive and what runs onto it
//	v_____v_____v
//	=============o--- pipe     the line, its lower end
func (d *job) channelDrains() (list []Inflow) {
	for i := range d.site.ChannelDrains {
		c := &d.site.ChannelDrains[i]
		at, rim, ok := d.channelEnd(c.Line)
		if !ok {
			if slices.ContainsFunc(c.Line, d.law.Lot.Contains) {
				d.note("channel_drain %s: no ground along it is known: left out", c.ID)
			}
			continue // Site.Odd says those in no lot
		}
		if constraint.Given(c.Rim) {
			rim = c.Rim
		}
		area, weighted := d.water.Intercepts(c.Line)
		in := Inflow{ID: c.ID, Kind: network.ChannelDrain, At: at, Line: c.Line, Rim: rim, Grate: d.criteria.Grates.channelOf(planar.Length(c.Line))}
		in.shed(d.criteria.Storm, area, weighted, d.travel(c.Line))
		list = append(list, in)
	}
	return list
}

// channelEnd is where a channel drain's pipe leaves: its lower end, where only
// one lies in the lot that one, where none does the lowest place of it that
// does; and the lowest ground along it, where water would come out first.
func (d *job) channelEnd(line orb.LineString) (at orb.Point, lowest float64, ok bool) {
	lowest = math.Inf(1)
	level, end := math.Inf(1), false
	look := func(p orb.Point, isEnd bool) {
		z := d.law.Ground.Ground(p[0], p[1])
		if math.IsNaN(z) || !d.law.Lot.Contains(p) {
			return
		}
		lowest = math.Min(lowest, z)
		if isEnd && !end || isEnd == end && z < level {
			at, level, end, ok = p, z, isEnd, true
		}
	}
	for k := 1; k < len(line); k++ {
		n := max(1, int(math.Ceil(distance(line[k-1], line[k])/channelStep)))
		for m := range n {
			look(pointOn(line[k-1], line[k], float64(m)/float64(n)), k == 1 && m == 0)
		}
	}
	look(line[len(line)-1], true)
	return at, lowest, ok
}
