package design

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
	"curbfall/routing/search"
)

// emitterInstead is the remedy of an emitter in the yard where the curb cannot
// be reached; it has no rule where none would do. An inlet drains a low place,
// and the yard would give its water back.
func (d *job) emitterInstead(i int, now *trial) Remedy {
	if !d.mayDivide() || d.in[i].Kind != network.Downspout {
		return Remedy{} // where outlets are drawn water goes there and nowhere else
	}
	at, ok := d.emitterPlace(i, now.swept(coarse))
	if !ok || !d.withEmitter(at).reaches(i, now.arcs) {
		return Remedy{}
	}
	in := &d.in[i]
	return Remedy{Rule: "outlet.type", Now: math.NaN(), Needed: d.law.Ground.Ground(at[0], at[1]), Unit: "m",
		Says: fmt.Sprintf("an emitter in the yard in place of the curb, %.1f m %s of %s, its lid at the ground, %.3f m", distance(in.At, at), compass(in.At, at), in.ID, d.law.Ground.Ground(at[0], at[1]))}
}

// emitterPlace is the lattice's place, as far from what an emitter keeps away
// from as the limits ask, where inflow i arrives with the most height to spare
// under an emitter's lid.
func (d *job) emitterPlace(i int, w *search.Sweeps) (at orb.Point, ok bool) {
	lidMost := math.Inf(1) // no open rim lies below the lid
	for k := range d.in {
		if !math.IsNaN(d.in[k].Rim) {
			lidMost = math.Min(lidMost, d.in[k].Rim)
		}
	}
	best := 0.0
	l := d.lattice(coarse)
	for n, high := range w.Highest(i) {
		if math.IsInf(high, -1) {
			continue
		}
		p := l.At(n)
		lid := d.law.Ground.Ground(p[0], p[1])
		spare := high - (lid - d.criteria.Limits.EmitterRiseMax)
		if spare >= best && lid <= lidMost && d.law.Lot.Contains(p) && len(d.law.EmitterNear(p)) == 0 {
			best, at, ok = spare, p, true
		}
	}
	return at, ok
}

// withEmitter is the lot with an emitter as its one outlet.
func (d *job) withEmitter(at orb.Point) *job {
	site := *d.site
	site.Outlets = []constraint.Outlet{{ID: "emitter", At: at, Type: constraint.Emitter, Invert: math.NaN()}}
	e := *d
	e.site = &site
	return e.under(d.criteria.Limits)
}

// reaches tells whether inflow i gets out on the coarse lattice.
func (d *job) reaches(i int, arcs map[float64]*search.Arcs) bool {
	if len(d.out) == 0 {
		return false
	}
	w, ok := d.trialOf(arcs).swept(coarse).Best(i, 0)
	return ok && search.Enough(w.Margin)
}

// compass is the direction from a to b in one of eight.
func compass(a, b orb.Point) string {
	names := [8]string{"east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east"}
	eighth := int(math.Round(math.Atan2(b[1]-a[1], b[0]-a[0]) / (math.Pi / 4)))
	return names[(eighth+8)%8]
}
