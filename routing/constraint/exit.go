package constraint

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Exit is the way an inflow may leave: the setback of its own roof, and from
// under its rim.
type Exit struct {
	Length float64  // of the first pipe that may lie in setbacks, m; 0: none
	Roofs  []string // its own roof and those touching it
	Rim    *float64 // elevation its first pipe's crown begins at or below, m; nil: none
}

// Roofs closer than this to each other touch, m: drawn lines that share a wall
// rarely share their vertices to the millimetre.
const touching = 0.01

// exitStep is the spacing of directions tried for the shortest way out,
// radians: half a degree makes it less than a twenty thousandth too long.
const exitStep = math.Pi / 360

// ExitAt returns the exit of an inflow at p. roof is the id of its own roof, ""
// for the nearest one. An inflow in no roof's setback needs no exit.
func (w *Law) ExitAt(p orb.Point, roof string) Exit {
	own := w.ownRoof(p, roof)
	if own == nil || own.grown.distance(p) >= 0 {
		return Exit{}
	}
	x := Exit{Length: math.Inf(1), Roofs: []string{own.ID}}
	for i := range w.roofs {
		r := &w.roofs[i]
		if r != own && shapesTouch(r.bare, own.bare) {
			x.Roofs = append(x.Roofs, r.ID)
		}
	}
	far := own.grown.grow*2 + planar.Distance(own.bare.bound.Min, own.bare.bound.Max)
	for angle := 0.0; angle < 2*math.Pi; angle += exitStep {
		q := orb.Point{p[0] + far*math.Cos(angle), p[1] + far*math.Sin(angle)}
		in := own.grown.spans(p, q)
		if len(in) == 0 || in[0].to >= x.Length {
			continue
		}
		if w.underRoof(p, along(p, q, in[0].to/far)) {
			continue
		}
		x.Length = in[0].to
	}
	if math.IsInf(x.Length, 1) {
		return Exit{}
	}
	x.Length += ExitBeyond
	return x
}

func (w *Law) underRoof(a, b orb.Point) bool {
	for _, r := range w.roofs {
		if len(r.bare.spans(a, b)) > 0 {
			return true
		}
	}
	return false
}

func (w *Law) ownRoof(p orb.Point, id string) *roofZone {
	var own *roofZone
	best := math.Inf(1)
	for i := range w.roofs {
		r := &w.roofs[i]
		if r.ID == id {
			return r
		}
		if d := r.bare.distance(p); d < best {
			own, best = r, d
		}
	}
	return own
}

func shapesTouch(a, b *shape) bool {
	if !a.bound.Pad(touching).Intersects(b.bound) {
		return false
	}
	for _, ra := range a.rings {
		for i := 1; i < len(ra); i++ {
			for _, rb := range b.rings {
				for j := 1; j < len(rb); j++ {
					if segmentDistance(ra[i-1], ra[i], rb[j-1], rb[j]) <= touching {
						return true
					}
				}
			}
		}
	}
	return false
}

// ToOutline returns the point of a roof's outline nearest to p and how far p
// lies inside the drawn roof, m; zero where it lies outside.
func (r *Roof) ToOutline(p orb.Point) (at orb.Point, inside float64) {
	s := solidShape(r.Outline, 0)
	d := s.distance(p)
	best := math.Inf(1)
	for _, ring := range r.Outline {
		_, q := stationOf(orb.LineString(ring), p)
		if e := planar.Distance(p, q); e < best {
			at, best = q, e
		}
	}
	return at, max(0, -d)
}
