package constraint

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// ServedRoofMin is the least part of a roof in a lot that asks for a downspout,
// m2: less is two drawn lines that do not quite agree.
const ServedRoofMin = 1

// What is taken for a slip of who drew a site, common practice, no source.
const (
	offRoof  = 2.0  // m from its roof that a downspout is drawn; a leader hardly runs farther
	aboveRim = 0.05 // m a rim stands over the ground; less is noise in any raster
	sliver   = 0.01 // m2 of a roof that are nothing
)

// Odd says what of a site will not do what it is drawn for, on the lots of these
// indices and beside all lots: what lies in no lot, downspouts far from their roofs,
// rims above the ground, lots over one another. The other lots' lines are not judged.
func (s *Site) Odd(ground *grid.Grid, limits Limits, lots []int) (says []string) {
	o := &oddities{site: s, ground: ground, judged: map[int]bool{}}
	for _, k := range lots {
		o.judged[k] = true
	}
	for k := range s.Lots {
		o.lots = append(o.lots, solidShape(s.Lots[k].Area, 0))
	}
	o.roofs()
	for _, d := range s.Downspouts {
		o.downspout(d, limits.DownspoutSnap)
	}
	for _, in := range s.Inlets {
		if o.concerns("inlet", in.ID, in.At) {
			o.rim("inlet "+in.ID, in.Rim, in.At)
		}
	}
	for _, c := range s.ChannelDrains {
		if points := everyStep(c.Line, channelLook); o.concerns("channel_drain", c.ID, points...) {
			o.rim("channel drain "+c.ID, c.Rim, points...)
		}
	}
	o.overlaps()
	return o.says
}

// channelLook is the spacing at which a channel drain is looked at, m.
const channelLook = 0.25

// everyStep returns points along a line at most so far apart, its vertices too.
func everyStep(line orb.LineString, step float64) (points []orb.Point) {
	for k := 1; k < len(line); k++ {
		n := max(1, int(math.Ceil(planar.Distance(line[k-1], line[k])/step)))
		for m := range n {
			points = append(points, along(line[k-1], line[k], float64(m)/float64(n)))
		}
	}
	return append(points, line[len(line)-1])
}

// oddities looks a site over.
type oddities struct {
	site   *Site
	ground *grid.Grid
	lots   []*shape // of the site, in order
	judged map[int]bool
	says   []string
}

func (o *oddities) say(format string, args ...any) {
	o.says = append(o.says, fmt.Sprintf(format, args...))
}

// lotAt returns the lot that a point lies in or on the line of, a judged one first;
// -1 where there is none.
func (o *oddities) lotAt(p orb.Point) int {
	at := -1
	for k, s := range o.lots {
		if s.bound.Pad(touch).Contains(p) && s.distance(p) <= touch {
			if at = k; o.judged[k] {
				break
			}
		}
	}
	return at
}

// concerns tells whether any of some points lies in a lot that is judged, and says
// it where they lie in no lot at all.
func (o *oddities) concerns(kind, id string, points ...orb.Point) bool {
	stray := true
	for _, p := range points {
		k := o.lotAt(p)
		if k >= 0 && o.judged[k] {
			return true
		}
		stray = stray && k < 0
	}
	if stray {
		o.say("%s %s lies in no lot: left out; draw it inside the lot it drains", kind, id)
	}
	return false
}

func (o *oddities) roofs() {
	var stray []string
	for k := range o.site.Roofs {
		r, most := &o.site.Roofs[k], 0.0
		for i, l := range o.lots {
			if most < ServedRoofMin && l.bound.Intersects(r.Outline.Bound()) {
				most = max(most, r.AreaInside(&o.site.Lots[i]))
			}
		}
		switch {
		case most < sliver:
			stray = append(stray, r.ID)
		case most < ServedRoofMin:
			o.say("roof %s has %.2f m2 inside a lot, less than %d m2: its water is not led off", r.ID, most, ServedRoofMin)
		}
	}
	switch n := len(stray); {
	case n == 1:
		o.say("roof %s lies in no lot: its water is not led off; draw it inside the lot it stands on, if that should be", stray[0])
	case n > 1:
		o.say("roofs %s lie in no lot: their water is not led off; draw each inside the lot it stands on, if that should be", strings.Join(stray, ", "))
	}
}

// Stands returns the roof a downspout drains, by index, and where it stands: on the
// outline where it is drawn inside by snap at most (m). why is why it cannot be used.
func (s *Site) Stands(d Downspout, snap float64) (roof int, at orb.Point, why string) {
	k := s.RoofOf(d)
	if k < 0 {
		if d.Roof != "" {
			return k, d.At, fmt.Sprintf("downspout %s names roof %s, which is not drawn: left out", d.ID, d.Roof)
		}
		return k, d.At, fmt.Sprintf("downspout %s has no roof to drain, none is drawn: left out", d.ID)
	}
	r := &s.Roofs[k]
	edge, inside := r.ToOutline(d.At)
	switch {
	case inside > snap:
		return k, d.At, fmt.Sprintf("downspout %s stands %.2f m inside roof %s, more than downspout_snap %.2f m: left out, check the drawing", d.ID, inside, r.ID, snap)
	case inside > 0:
		return k, edge, ""
	}
	return k, d.At, ""
}

func (o *oddities) downspout(d Downspout, snap float64) {
	k, at, why := o.site.Stands(d, snap)
	if !o.concerns("downspout", d.ID, at) {
		return
	}
	if why != "" {
		o.say("%s", why)
		return
	}
	r, lot := &o.site.Roofs[k], &o.site.Lots[o.lotAt(at)]
	if r.AreaInside(lot) < ServedRoofMin {
		o.say("downspout %s stands in lot %s, where roof %s has no part: left out; draw it in the lot of its roof", d.ID, lot.ID, r.ID)
		return
	}
	edge, inside := r.ToOutline(at)
	far := planar.Distance(at, edge)
	switch {
	case inside > 0 || far <= offRoof:
	case d.Roof == "":
		o.say("downspout %s is drawn %.2f m from roof %s, the nearest, and takes its water: draw it at the edge of its roof", d.ID, far, r.ID)
	default:
		o.say("downspout %s is drawn %.2f m from roof %s, whose water it takes: draw it at the roof's edge, or check which roof it names", d.ID, far, r.ID)
	}
}

// rim says it of a rim that stands above all the ground where water should come to
// it.
func (o *oddities) rim(name string, rim float64, points ...orb.Point) {
	top := math.Inf(-1)
	for _, p := range points {
		if z := o.ground.Ground(p[0], p[1]); !math.IsNaN(z) {
			top = max(top, z)
		}
	}
	if above := rim - top; above > aboveRim && !math.IsInf(top, -1) {
		o.say("%s: its rim stands %.2f m above the ground: no water reaches it; check the rim, or have the ground raised to it", name, above)
	}
}

// overlapSaid is the least overlap of two lots that is said, m2: less is lines that
// do not quite agree.
const overlapSaid = 1.0

func (o *oddities) overlaps() {
	for i := range o.lots {
		for k := i + 1; k < len(o.lots); k++ {
			if !o.judged[i] && !o.judged[k] {
				continue
			}
			if area := inBoth(o.lots[i], o.lots[k], overlapBands); area >= overlapSaid {
				o.say("lots %s and %s overlap by %.1f m2: no pipe of either may lie there; draw them so that they share a line", o.site.Lots[i].ID, o.site.Lots[k].ID, area)
			}
		}
	}
}
