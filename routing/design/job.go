package design

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/search"
)

// job is the design of one lot while it is being made.
type job struct {
	law      *constraint.Law
	site     *constraint.Site
	criteria Criteria
	water    Water
	onItsOwn bool // no other is made beside it: all cores are its

	in        []Inflow
	drowned   []Inflow // set aside: below an emitter's lid
	exits     []constraint.Exit
	out       []discharge
	slidOut   []discharge                  // where ways off the lattice end, besides
	used      []discharge                  // those the plan ends at
	posed     map[posing]*posed            // the lot as posed to the search
	hopeless  []int                        // inflows known to have no way, which are asked for none
	distances *search.Distances            // of the inflows
	bent      map[float64]*search.Lattice  // by step, lattices with ways off them
	asIs      *trial                       // the lot under its limits, asked for single inflows
	entered   map[entering]constraint.Line // nil where asked for once

	assumed []string
	notes   []string
}

func (d *job) note(format string, args ...any) {
	d.notes = append(d.notes, fmt.Sprintf(format, args...))
}

func (d *job) assume(format string, args ...any) {
	d.assumed = append(d.assumed, fmt.Sprintf(format, args...))
}

// discharge is a place the system may end.
type discharge struct {
	id        string
	kind      constraint.OutletType
	at        orb.Point
	curb      *constraint.CurbPoint // for a curb face
	minInvert float64               // elevation m
	lid       float64               // elevation m, emitters alone
	ground    float64               // elevation m, of given outlets
	// Of an outlet a plan uses: the bore the way there was found for. To a curb face:
	// the bore of its outlet pipe and the flow that pipe is laid steep enough for, m3/s.
	bore     int
	hole     int
	holeFlow float64
}

// curbStep is the spacing of places tried along the frontage, m.
const curbStep = 0.25

// discharges lists where the system may end: the given outlets of the lot,
// else the curb face along the frontage. why is what rules all out.
func (d *job) discharges() (list []discharge, why constraint.Refusal) {
	given := false
	for _, o := range d.site.Outlets {
		if !d.law.Reaches(o.At) {
			continue
		}
		given = true
		if x, refused := d.givenDischarge(o); refused.Rule != "" {
			why = constraint.Refusal{Rule: refused.Rule, Says: fmt.Sprintf("outlet %s: %s", o.ID, refused.Says)}
			d.note("%s", why.Says)
		} else {
			list = append(list, x)
		}
	}
	if given {
		return list, why
	}
	if d.criteria.Outlet != constraint.CurbFace {
		return nil, constraint.Refusal{Rule: "outlet.type", Says: fmt.Sprintf("outlet.type %s needs an outlet point in the site file", d.criteria.Outlet)}
	}
	points, why := d.law.CurbPoints(curbStep)
	for _, p := range points {
		list = append(list, discharge{kind: constraint.CurbFace, at: p.At, curb: &p, minInvert: p.MinInvert, lid: math.NaN()})
	}
	return list, why
}

func (d *job) givenDischarge(o constraint.Outlet) (discharge, constraint.Refusal) {
	ground := d.law.Ground.Ground(o.At[0], o.At[1])
	x := discharge{id: o.ID, kind: o.Type, at: o.At, lid: math.NaN(), ground: ground}
	switch o.Type {
	case constraint.CurbFace:
		p, refused := d.law.CurbPointAt(o.At)
		if refused.Rule != "" {
			return x, refused
		}
		x.at, x.curb, x.minInvert = p.At, &p, p.MinInvert
	case constraint.Emitter:
		x.lid, x.minInvert = ground, ground-d.criteria.Limits.EmitterRiseMax
	case constraint.Daylight:
		x.minInvert = ground
	case constraint.StormInlet:
		if !constraint.Given(o.Invert) {
			return x, constraint.Refusal{Rule: "outlet_invert", Says: "a storm_inlet needs its invert: what enters below it runs back"}
		}
	}
	if math.IsNaN(ground) {
		return x, constraint.Refusal{Rule: ruleUnknown, Says: "the ground there is unknown"}
	}
	if constraint.Given(o.Invert) {
		x.minInvert = math.Max(o.Invert, x.minInvert)
		if o.Type == constraint.StormInlet {
			x.minInvert = o.Invert
		}
	}
	return x, constraint.Refusal{}
}

// slopeMin is the least slope of pipes of a bore.
func (d *job) slopeMin(b constraint.Bore) float64 {
	if b.Diameter >= largeDiameter-constraint.Tolerance {
		return d.criteria.Limits.SlopeMinLarge
	}
	if b.Lawn.Family == "pe_single_wall" {
		return math.Max(d.criteria.Limits.SlopeMin, d.criteria.Limits.SlopeMinSingleWall)
	}
	return d.criteria.Limits.SlopeMin
}

// largeDiameter is 8 in, from which slope_min_large holds, m.
const largeDiameter = 8 * 0.0254

// carries is the flow a bore carries flowing full at a slope: the least of its
// families, since a pipe may change family on the way, m3/s.
func carries(b constraint.Bore, slope float64) float64 {
	return math.Min(
		hydraulics.FullCapacity(b.Lawn.Inside, b.Lawn.Roughness, slope),
		hydraulics.FullCapacity(b.Hard.Inside, b.Hard.Roughness, slope))
}

// slopeFor is the slope at which a bore carries a flow.
func slopeFor(b constraint.Bore, flow float64) float64 {
	return math.Max(
		hydraulics.SlopeForFlow(flow, b.Lawn.Inside, b.Lawn.Roughness),
		hydraulics.SlopeForFlow(flow, b.Hard.Inside, b.Hard.Roughness))
}

// boreFor returns the index of the smallest bore from first to last that
// carries a flow at its least slope; last where none does.
func (d *job) boreFor(flow float64, first, last int) int {
	for k := first; k < last; k++ {
		if b := d.criteria.Catalogue.Bores[k]; carries(b, d.slopeMin(b)) >= flow {
			return k
		}
	}
	return last
}

// smallestMain is the index of the smallest bore a main may have.
func (d *job) smallestMain() int {
	for k, b := range d.criteria.Catalogue.Bores {
		if b.Diameter >= d.criteria.Catalogue.MainMin-constraint.Tolerance {
			return k
		}
	}
	return len(d.criteria.Catalogue.Bores) - 1
}

// holeFor is the index of the bore of the outlet pipe to a curb face for a
// flow: no larger than the hole through the curb.
func (d *job) holeFor(flow float64) int {
	last := 0
	for k, b := range d.criteria.Catalogue.Bores {
		if b.Diameter <= d.criteria.Limits.OutletSizeMax+constraint.Tolerance {
			last = k
		}
	}
	return d.boreFor(flow, min(last, d.smallestMain()), last)
}

// asOutlet is a bore laid wholly in the outlet pipe's family.
func asOutlet(b constraint.Bore) constraint.Bore {
	b.Lawn, b.Hard = b.Outlet, b.Outlet
	return b
}

// distance is the plan distance between two points, m.
func distance(a, b orb.Point) float64 { return planar.Distance(a, b) }
