package design

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// Water is what the terrain says of the surface round the lot.
type Water struct {
	LowSpots []LowSpot
	// Runoff returns the area that drains to a point over the surface, m2, and
	// the same area times its runoff coefficients.
	Runoff func(p orb.Point) (area, weighted float64)
	// Intercepts is Runoff for all that runs over a line.
	Intercepts func(line orb.LineString) (area, weighted float64)
	// Travel returns the longest time water takes over the surface to what it drains
	// to, a point or all along a line, s. Nil where nothing tells it: then the
	// storm's duration is taken.
	Travel func(to orb.Geometry) float64
}

// LowSpot is a place where water stands.
type LowSpot struct {
	ID               string
	Pit              orb.Point // its lowest place
	Depth            float64   // m
	ContributingArea float64   // m2
}

// roofTime is how long water takes off a roof, s: less than any storm's duration.
// Common practice, no source.
const roofTime = 0

// mostProposed is how many area drains are proposed at most; common practice,
// no source.
const mostProposed = 4

// inflows lists where water enters, given or proposed, with design flows.
func (d *job) inflows() []Inflow {
	var list []Inflow
	list = append(list, d.downspouts()...)
	list = append(list, d.areaDrains()...)
	return append(list, d.channelDrains()...)
}

// downspouts returns the roofs' inflows: the given ones where a roof has any,
// else proposed ones.
func (d *job) downspouts() []Inflow {
	type servedRoof struct {
		index int
		area  float64
	}
	var roofs []servedRoof
	for k := range d.site.Roofs {
		if a := d.site.Roofs[k].AreaInside(&d.law.Lot); a >= constraint.ServedRoofMin {
			roofs = append(roofs, servedRoof{k, a})
		}
	}
	given := d.givenDownspouts()
	var list []Inflow
	for _, r := range roofs {
		roof := &d.site.Roofs[r.index]
		spouts := given[roof.ID]
		if len(spouts) == 0 {
			spouts = d.proposeDownspouts(r.index, r.area)
		}
		c := d.criteria.Storm.Roof
		if constraint.Given(roof.RunoffCoeff) {
			c = roof.RunoffCoeff
		}
		for i, share := range d.shares(roof.ID, spouts) {
			s := spouts[i]
			area := r.area * share
			in := Inflow{ID: s.ID, Kind: network.Downspout, At: s.At, Rim: math.NaN(), Roof: roof.ID, Assumed: s.Assumed}
			in.shed(d.criteria.Storm, area, d.criteria.Storm.RunsOff(c)*area, roofTime)
			list = append(list, in)
		}
	}
	return list
}

// givenDownspouts returns the lot's downspouts by roof, each where it stands. What
// is left out Site.Odd says.
func (d *job) givenDownspouts() map[string][]constraint.Downspout {
	given := map[string][]constraint.Downspout{}
	for _, s := range d.site.Downspouts {
		k, at, why := d.site.Stands(s, d.criteria.Limits.DownspoutSnap)
		if why != "" {
			continue
		}
		if s.At = at; d.law.Lot.Contains(at) {
			given[d.site.Roofs[k].ID] = append(given[d.site.Roofs[k].ID], s)
		}
	}
	return given
}

func (d *job) proposeDownspouts(roof int, area float64) []constraint.Downspout {
	r := &d.site.Roofs[roof]
	n := max(2, int(math.Ceil(area/d.criteria.Limits.DownspoutRoofArea)))
	places := d.law.Eaves(roof)
	if len(places) < n {
		d.note("roof %s: %d downspouts wanted for %.1f m2, places on its eaves inside the lot: %d", r.ID, n, area, len(places))
		n = len(places)
	}
	var spouts []constraint.Downspout
	number := 0
	for i := range n {
		spouts = append(spouts, constraint.Downspout{
			ID: d.nextID(r.ID+"-ds", &number), At: places[i], Roof: r.ID, Share: math.NaN(), Assumed: true,
		})
	}
	if n > 0 {
		d.assume("roof %s: %s proposed, one for every %.1f m2 of roof or less", r.ID, counted(n, "downspout"), d.criteria.Limits.DownspoutRoofArea)
	}
	return spouts
}

// shares returns each downspout's share of its roof, and says where they do not
// add up.
func (d *job) shares(roof string, spouts []constraint.Downspout) []float64 {
	sum, open := 0.0, false
	for _, s := range spouts {
		if constraint.Given(s.Share) {
			sum += s.Share
		} else {
			open = true
		}
	}
	if sum > 1+shareSlack {
		d.note("roof %s: the shares of its downspouts add up to %.2f, so more water is led off than falls on it: lower them to 1 in all", roof, sum)
	} else if !open && sum < 1-shareSlack {
		d.note("roof %s: %.0f %% of it is on no downspout: raise their shares to 1 in all, or draw what takes the rest", roof, 100*(1-sum))
	}
	return constraint.Shares(spouts)
}

// shareSlack is what thirds written with two digits leave over.
const shareSlack = 0.011

// areaDrains returns the given inlets of the lot, else proposed ones at the
// low spots that matter.
func (d *job) areaDrains() []Inflow {
	var list []Inflow
	var bare []string // drains whose grate nobody described
	for _, in := range d.site.Inlets {
		if !d.law.Lot.Contains(in.At) {
			continue // Site.Odd says those in no lot
		}
		rim := in.Rim
		if !constraint.Given(rim) {
			rim = d.law.Ground.Ground(in.At[0], in.At[1])
		}
		f := d.surfaceInflow(in.ID, network.Inlet, in.At, rim)
		assumed := false
		if f.Grate, assumed = d.criteria.Grates.grateOf(in); assumed {
			bare = append(bare, in.ID)
		}
		list = append(list, f)
	}
	if len(list) > 0 {
		d.assumedGrates(bare)
		return list
	}
	l := d.criteria.Limits
	spots := slices.Clone(d.water.LowSpots)
	for i := range spots { // what a drain there would take, roofs left out
		spots[i].ContributingArea, _ = d.water.Runoff(spots[i].Pit)
	}
	spots = slices.DeleteFunc(spots, func(s LowSpot) bool {
		return s.Depth < l.InletDepth || s.ContributingArea < l.InletContributingArea || !d.law.Lot.Contains(s.Pit)
	})
	slices.SortStableFunc(spots, func(a, b LowSpot) int { return cmp.Compare(b.ContributingArea, a.ContributingArea) })
	number := 0
	for i, s := range spots {
		if i == mostProposed {
			d.note("of %s that matter, area drains are proposed at the %d that receive most", counted(len(spots), "low spot"), i)
			break
		}
		in := d.surfaceInflow(d.nextID("ad", &number), network.Inlet, s.Pit, d.law.Ground.Ground(s.Pit[0], s.Pit[1]))
		in.Assumed = true
		in.Grate, _ = d.criteria.Grates.grateOf(noGrate)
		bare = append(bare, in.ID)
		list = append(list, in)
		d.assume("area drain %s proposed at low spot %s, %.2f m deep, receiving %.1f m2", in.ID, s.ID, s.Depth, s.ContributingArea)
	}
	d.assumedGrates(bare)
	return list
}

// nextID is an id for what is proposed: a name with the next number that nothing
// drawn has.
func (d *job) nextID(name string, number *int) string {
	for {
		*number++
		if id := fmt.Sprintf("%s%d", name, *number); !d.siteHas(id) {
			return id
		}
	}
}

// siteHas tells whether what is drawn to become a node has an id.
func (d *job) siteHas(id string) bool {
	s := d.site
	return slices.ContainsFunc(s.Downspouts, func(x constraint.Downspout) bool { return x.ID == id }) ||
		slices.ContainsFunc(s.Inlets, func(x constraint.Inlet) bool { return x.ID == id }) ||
		slices.ContainsFunc(s.ChannelDrains, func(x constraint.ChannelDrain) bool { return x.ID == id }) ||
		slices.ContainsFunc(s.Outlets, func(x constraint.Outlet) bool { return x.ID == id })
}

// counted is a number of things in words.
func counted(n int, thing string) string {
	if n != 1 {
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}

// noGrate is a drain nobody described.
var noGrate = constraint.Inlet{GrateOpenArea: math.NaN(), GratePerimeter: math.NaN()}

// exitOf is how an inflow may leave. A rim below the ground, as one is given where
// the ground will be dug down to it, lowers the pipe.
func (d *job) exitOf(in *Inflow) constraint.Exit {
	x := d.law.ExitAt(in.At, in.Roof)
	if in.Rim < d.law.Ground.Ground(in.At[0], in.At[1]) {
		x.Rim = &in.Rim
	}
	return x
}

func (d *job) surfaceInflow(id string, kind network.NodeKind, p orb.Point, rim float64) Inflow {
	in := Inflow{ID: id, Kind: kind, At: p, Rim: rim}
	area, weighted := d.water.Runoff(p)
	in.shed(d.criteria.Storm, area, weighted, d.travel(p))
	return in
}

// travel is the time over the surface to a place, NaN where it is not known.
func (d *job) travel(to orb.Geometry) float64 {
	if d.water.Travel == nil {
		return math.NaN()
	}
	return d.water.Travel(to)
}
