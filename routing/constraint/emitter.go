package constraint

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Septic is the type of a utility that an emitter's water must keep away from.
const Septic = "septic"

// Near is something an emitter stands too near to.
type Near struct {
	Rule     string // the limit's key
	What, ID string // what it is, and its id
	Away     float64
	Limit    float64 // m
}

// EmitterNear lists what an emitter at a point stands too near to: roofs, the
// lot's side and rear lines, its front line, and septic lines.
func (w *Law) EmitterNear(p orb.Point) (list []Near) {
	add := func(rule, what, id string, away, limit float64) {
		if away < limit-touch {
			list = append(list, Near{rule, what, id, away, limit})
		}
	}
	for k := range w.roofs {
		r := &w.roofs[k]
		add("emitter_setback_building", "roof", r.ID, max(0, r.bare.distance(p)), w.Limits.EmitterSetbackBuilding)
	}
	side, front := math.Inf(1), math.Inf(1)
	ring := counterClockwise(w.Lot.Area[0])
	for k := 1; k < len(ring); k++ {
		nearest := &side
		if w.Frontage != nil && w.Frontage.front[k] {
			nearest = &front
		}
		*nearest = min(*nearest, planar.DistanceFromSegment(ring[k-1], ring[k], p))
	}
	add("emitter_setback_lot_line", "lot line of", w.Lot.ID, side, w.Limits.EmitterSetbackLotLine)
	add("emitter_setback_street", "street line of", w.Lot.ID, front, w.Limits.EmitterSetbackStreet)
	for i := range w.site.Utilities {
		if u := &w.site.Utilities[i]; u.Type == Septic {
			add("septic_setback", "septic line", u.ID, planar.DistanceFrom(u.Line, p), w.Limits.SepticSetback)
		}
	}
	return list
}
