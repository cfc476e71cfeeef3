package design

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// shallow is the pipe of a way with less cover than is asked now.
type shallow struct {
	length   float64 // m
	from, to float64 // from the outlet, m: nothing outside has too little
}

// figure puts into a remedy what inflow i's way comes to under what the remedy
// changes, alone and with the pipe as high as it may lie.
func (r *Remedy) figure(i int, w *wayOut, changed, now *job) (low shallow) {
	list, ok := changed.trace(i, w)
	if !ok {
		return low
	}
	out, a := changed.endOf(w), changed.leastHeight(coarse, w.wide)
	bore, hole := changed.criteria.Catalogue.Bores[a.bore], changed.criteria.Catalogue.Bores[a.hole]
	end := list[len(list)-1].away
	r.Length, r.CoverMin, r.DepthMax, r.Size = end, math.Inf(1), math.Inf(-1), bore.Nominal
	r.Carries = carries(bore, changed.slopeMin(bore))
	if out.curb != nil {
		r.Carries = math.Min(r.Carries, hydraulics.FullCapacity(hole.Outlet.Inside, hole.Outlet.Roughness, changed.slopeMin(hole)))
		if hole.Nominal != bore.Nominal {
			r.Size += ", " + hole.Nominal + " through the curb"
		}
	}
	at := out.at
	r.Outlet = &at
	for k := 1; k < len(list); k++ {
		from, to := &list[k-1], &list[k]
		if to.away-from.away < constraint.Tolerance {
			continue // a jump of the law, or the end of a pipe
		}
		pipe := constraint.Laid{From: from.at, To: to.at, Size: bore.Lawn, InvertUp: from.invert, InvertDown: to.invert}
		middle := pointOn(from.at, to.at, 0.5)
		asked := now.law.Covering(middle)
		if asked.Kind != "" {
			pipe.Size = bore.Hard
		}
		if to.last && out.curb != nil {
			pipe.Size, pipe.Curb, asked.Cover = hole.Outlet, out.curb, now.criteria.Limits.OutletCover
		}
		s := changed.law.Section(pipe)
		r.CoverMin, r.DepthMax = math.Min(r.CoverMin, s.CoverMin), math.Max(r.DepthMax, s.DepthMax)
		if s.CoverMin < asked.Cover-layingSlack && !(to.last && out.kind == constraint.Daylight) {
			if low.length == 0 {
				low.to = end - from.away
			}
			low.length, low.from = low.length+to.away-from.away, end-to.away
		}
	}
	return low
}

// words says where a remedy bears, for its sentence; nothing where nowhere.
func (s shallow) words() string {
	if s.length == 0 {
		return ""
	}
	return fmt.Sprintf(", over %.2f m of pipe, %.2f m to %.2f m from the outlet", s.length, s.from, s.to)
}

// unfigured is a remedy without a way of its own.
func unfigured(r Remedy) Remedy {
	nan := math.NaN()
	r.Length, r.CoverMin, r.DepthMax, r.Carries, r.Lift = nan, nan, nan, nan, nan
	return r
}

// bearing says where b lies from a: "3.3 m south-west of".
func bearing(a, b orb.Point) string {
	return fmt.Sprintf("%.1f m %s of", distance(a, b), compass(a, b))
}
