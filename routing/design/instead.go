package design

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
	"curbfall/routing/search"
)

// instead lists the remedies of another place to discharge, or one of another
// type, for inflow i: those that would do.
func (d *job) instead(i int, now *trial) (list []Remedy) {
	for _, other := range []func(int, *trial) (Remedy, bool){d.freeCurb, d.farSide} {
		if r, ok := other(i, now); ok {
			list = append(list, r)
		}
	}
	high := now.swept(coarse, smallest).Highest(i)
	drawn := d.drawnOutlet()
	yard := d.in[i].Kind == network.Downspout || drawn != nil && drawn.Type == constraint.Emitter // else it would give an inlet its water back
	if at, ok := d.emitterPlace(high); ok && yard {
		if r, ok := d.endingAt(i, at, constraint.Emitter, now.arcs); ok {
			list = append(list, r)
		}
	}
	if at, ok := d.daylightPlace(high); ok {
		if r, ok := d.endingAt(i, at, constraint.Daylight, now.arcs); ok {
			list = append(list, r)
		}
	}
	return list
}

// insteadOfDrowning gives the inflows set aside below an emitter's lid the places to
// discharge that would do.
func (d *job) insteadOfDrowning() {
	for k := range d.drowned {
		in := &d.drowned[k]
		e := &job{law: d.law, site: d.site, criteria: d.criteria, water: d.water, out: d.out}
		e.in = append(slices.Clone(d.in), *in)
		for _, x := range e.in {
			e.exits = append(e.exits, e.exitOf(&x))
		}
		in.Remedies = append(in.Remedies, e.instead(len(e.in)-1, e.trialOf(map[posing]*search.Arcs{}))...)
	}
}

// freeCurb is the remedy of any other point of the curb where an outlet is drawn.
func (d *job) freeCurb(i int, now *trial) (Remedy, bool) {
	drawn := d.drawnOutlet()
	if drawn == nil {
		return Remedy{}, false
	}
	c := d.criteria
	c.Outlet = constraint.CurbFace
	free := d.withOutlets(nil, c)
	w, ok := free.reaches(i, now.arcs)
	if !ok {
		return Remedy{}, false
	}
	o, at := drawn, free.out[w.Outlet].at
	there := d.withOutlets([]constraint.Outlet{{ID: o.ID, At: at, Type: constraint.CurbFace, Invert: math.NaN()}}, c)
	r := unfigured(Remedy{put: there.asChange(), Rule: "outlet.at", Type: constraint.CurbFace, Now: math.NaN(), Needed: free.out[w.Outlet].minInvert, Unit: "m", At: &at,
		Says: fmt.Sprintf("another curb point, %s %s, its invert %.3f m", bearing(o.At, at), o.ID, free.out[w.Outlet].minInvert)})
	if o.Type != constraint.CurbFace {
		r.Rule, r.Says = "outlet.type", fmt.Sprintf("the curb face in place of %s, %s it, invert %.3f m", o.ID, bearing(o.At, at), free.out[w.Outlet].minInvert)
	}
	r.figure(i, w, free, d)
	return r, true
}

// farSide is the remedy of a street that lies on the far side of the curb, where the
// ground puts it on the lot's.
func (d *job) farSide(i int, now *trial) (Remedy, bool) {
	if len(d.out) > 0 || !d.law.StreetDisagrees || d.drawnOutlet() != nil {
		return Remedy{}, false
	}
	face, side, word := d.law.Frontage.Face, constraint.Left, "left"
	if face.Street == constraint.Left {
		side, word = constraint.Right, "right"
	}
	site := *d.site
	site.Curbs = slices.Clone(site.Curbs)
	for k := range site.Curbs {
		if site.Curbs[k].ID == face.ID {
			site.Curbs[k].StreetSide = side
		}
	}
	e := *d
	e.site = &site
	far := e.under(d.criteria)
	w, ok := far.reaches(i, now.arcs)
	if !ok {
		return Remedy{}, false
	}
	r := unfigured(Remedy{put: far.asChange(), Rule: "curb.street_side", Now: math.NaN(), Needed: far.out[w.Outlet].minInvert, Unit: "m",
		Says: fmt.Sprintf("the street on the far side of curb %s, if that is where it is: give the curb street_side %s; the outlet's invert %.3f m", face.ID, word, far.out[w.Outlet].minInvert)})
	r.figure(i, w, far, d)
	return r, true
}

// drawnOutlet is the lot's outlet in the site file, nil where it has none.
func (d *job) drawnOutlet() *constraint.Outlet {
	for k := range d.site.Outlets {
		if o := &d.site.Outlets[k]; d.law.Reaches(o.At) {
			return o
		}
	}
	return nil
}

// endingAt is the remedy of an outlet of a type at a place in the yard, where
// inflow i gets out to it.
func (d *job) endingAt(i int, at orb.Point, kind constraint.OutletType, arcs map[posing]*search.Arcs) (Remedy, bool) {
	there := d.withOutlets([]constraint.Outlet{{ID: string(kind), At: at, Type: kind, Invert: math.NaN()}}, d.criteria)
	w, ok := there.reaches(i, arcs)
	if !ok {
		return Remedy{}, false
	}
	in, ground, now := &d.in[i], d.law.Ground.Ground(at[0], at[1]), "the curb"
	if o := d.drawnOutlet(); o != nil {
		now = o.ID
	}
	r := unfigured(Remedy{put: there.asChange(), Rule: "outlet.type", Type: kind, Now: math.NaN(), Needed: ground, Unit: "m", At: &at})
	r.Says = fmt.Sprintf("an emitter in the yard in place of %s, %s %s, its lid at the ground, %.3f m", now, bearing(in.At, at), in.ID, ground)
	if kind == constraint.Daylight {
		r.Says = fmt.Sprintf("an open end in the yard in place of %s, %s %s, its invert at the ground, %.3f m: stone where it strikes, and no building below", now, bearing(in.At, at), in.ID, ground)
	}
	r.figure(i, w, there, d)
	return r, true
}

// emitterPlace is the lattice's place, as far from what an emitter keeps away
// from as the limits ask, where pipes of the highest inverts by node arrive with
// the most height to spare under an emitter's lid.
func (d *job) emitterPlace(high []float64) (at orb.Point, ok bool) {
	lidMost := math.Inf(1) // no open rim lies below the lid
	for k := range d.in {
		if !math.IsNaN(d.in[k].Rim) {
			lidMost = math.Min(lidMost, d.in[k].Rim)
		}
	}
	return d.yardPlace(func(n int, lid float64) float64 {
		if lid > lidMost {
			return math.Inf(-1)
		}
		return high[n] - (lid - d.criteria.Limits.EmitterRiseMax)
	})
}

// daylightPlace is emitterPlace for a pipe that comes to the surface: within the
// daylight zone its cover runs out.
func (d *job) daylightPlace(high []float64) (at orb.Point, ok bool) {
	l := d.lattice(coarse)
	slope, reach := d.slopeMin(d.criteria.Catalogue.Bores[d.smallestMain()]), int(d.criteria.Limits.DaylightZone/coarse)
	return d.yardPlace(func(n int, ground float64) float64 {
		most := math.Inf(-1)
		for r := max(0, n/l.Cols-reach); r <= min(l.Rows-1, n/l.Cols+reach); r++ {
			for c := max(0, n%l.Cols-reach); c <= min(l.Cols-1, n%l.Cols+reach); c++ {
				away := distance(l.At(r*l.Cols+c), l.At(n))
				if away > 0 && away <= d.criteria.Limits.DaylightZone {
					most = math.Max(most, high[r*l.Cols+c]-slope*away-ground)
				}
			}
		}
		return most
	})
}

// yardPlace is the open place of the coarse lattice in the lot, away from what a
// discharge keeps away from, with the most height to spare.
func (d *job) yardPlace(spare func(node int, ground float64) float64) (at orb.Point, ok bool) {
	best, l := 0.0, d.lattice(coarse)
	for n, usable := range l.Usable {
		if !usable {
			continue
		}
		p := l.At(n)
		if s := spare(n, d.law.Ground.Ground(p[0], p[1])); s >= best && d.law.Lot.Contains(p) && len(d.law.EmitterNear(p)) == 0 {
			best, at, ok = s, p, true
		}
	}
	return at, ok
}

// withOutlets is the lot with these outlets alone.
func (d *job) withOutlets(list []constraint.Outlet, c Criteria) *job {
	site := *d.site
	site.Outlets = list
	e := *d
	e.site = &site
	return e.under(c)
}

// reaches is a way by which inflow i gets out on the coarse lattice.
func (d *job) reaches(i int, arcs map[posing]*search.Arcs) (*wayOut, bool) {
	if len(d.out) == 0 {
		return nil, false
	}
	t := d.trialOf(arcs)
	for _, wide := range d.mains() {
		if w, ok := t.swept(coarse, wide).Best(i, 0); ok && search.Enough(w.Margin) {
			return &wayOut{w, wide}, true
		}
	}
	return nil, false
}

// compass is the direction from a to b in one of eight.
func compass(a, b orb.Point) string {
	names := [8]string{"east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east"}
	eighth := int(math.Round(math.Atan2(b[1]-a[1], b[0]-a[0]) / (math.Pi / 4)))
	return names[(eighth+8)%8]
}
