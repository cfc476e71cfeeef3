package constraint

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// CurbPoint is a place on the face of curb where an outlet may come through.
type CurbPoint struct {
	Face      *Face
	Station   float64 // m along the curb
	At        orb.Point
	Gutter    float64 // elevation m
	MinInvert float64 // gutter + outlet_above_gutter, elevation m
}

// Refusal is what rules a place to discharge out; the zero value nothing.
type Refusal struct {
	Rule string // the limit's key, or what of the site file
	Says string
}

// CurbPoints returns the places along the frontage where an outlet to the curb
// face is allowed, at most step apart; why is what rules them all out.
func (w *Law) CurbPoints(step float64) (points []CurbPoint, why Refusal) {
	if why := w.faceless(); why != (Refusal{}) {
		return nil, why
	}
	from, to := w.CurbReach()
	if from > to {
		return nil, Refusal{"frontage_margin", fmt.Sprintf("the frontage is narrower than twice frontage_margin %.2f m", w.Limits.FrontageMargin)}
	}
	n := int(math.Ceil((to - from) / step))
	why = Refusal{"curb_clearance_driveway", "no point of the frontage is clear of driveways and of unknown ground"}
	for k := 0; k <= n; k++ {
		s := from
		if n > 0 {
			s += (to - from) * float64(k) / float64(n)
		}
		if p, ok := w.CurbPoint(s); ok {
			points, why = append(points, p), Refusal{}
		}
	}
	return points, why
}

// CurbReach is the stretch along the curb, m, on which outlets may be;
// empty, from > to, where the frontage is too narrow.
func (w *Law) CurbReach() (from, to float64) {
	return w.Frontage.From + w.Limits.FrontageMargin, w.Frontage.To - w.Limits.FrontageMargin
}

// CurbLine is the curb between two stations along it, m.
func (w *Law) CurbLine(from, to float64) orb.LineString {
	line := w.Frontage.Face.Line
	first, _, _ := pointAt(line, from)
	last, _, _ := pointAt(line, to)
	part := orb.LineString{first}
	for k, s := 1, 0.0; k < len(line)-1; k++ {
		if s += planar.Distance(line[k-1], line[k]); from < s && s < to {
			part = append(part, line[k])
		}
	}
	return append(part, last)
}

// faceless is why the lot has no face of curb to come through.
func (w *Law) faceless() Refusal {
	f := w.Frontage
	switch {
	case f == nil:
		return Refusal{"curb", "no side of the lot faces a curb"}
	case f.Face.Type != VerticalCurb:
		return Refusal{"curb.type", "the curb is not vertical: it has no face to come through"}
	case f.lotSide(w.Lot.Area) == f.Face.Street:
		return Refusal{"curb.street_side", "the ground is lower on the lot's side of curb " + f.Face.ID + ", so its face is not toward the street; if the street is on the far side, give the curb street_side"}
	}
	return Refusal{}
}

// CurbPoint returns the place at plan distance s along the curb; ok is false
// near a driveway or where the gutter is unknown.
func (w *Law) CurbPoint(s float64) (p CurbPoint, ok bool) {
	face := w.Frontage.Face
	at, _, _ := pointAt(face.Line, s)
	for _, d := range w.site.Paved {
		if d.Kind == Driveway && solidShape(d.Area, w.Limits.CurbClearanceDriveway).distance(at) < -touch {
			return p, false
		}
	}
	g := face.Gutter(s)
	return CurbPoint{face, s, at, g, g + w.Limits.OutletAboveGutter}, !math.IsNaN(g)
}

// lotSide is the side of the curb the lot lies on.
func (f *Frontage) lotSide(lot orb.Polygon) Side {
	// The middle of a corner-hugging lot can lie across the curb's line carried
	// on; the middle of its front edge cannot.
	ring := counterClockwise(lot[0])
	for k := 1; k < len(ring); k++ {
		if f.front[k] {
			return sideOfEdge(f.Face.Line, ring[k-1], ring[k])
		}
	}
	center := lot[0].Bound().Center()
	return sideOf(f.Face.Line, center)
}

// sideOfEdge is the side of the curb of a lot that lies left of its edge from a
// to b. An edge drawn along the curb lies on neither side: it tells by its
// direction.
func sideOfEdge(curb orb.LineString, a, b orb.Point) Side {
	m := along(a, b, 0.5)
	s, foot := stationOf(curb, m)
	if planar.Distance(m, foot) > touch {
		return sideOf(curb, m)
	}
	if _, ux, uy := pointAt(curb, s); ux*(b[0]-a[0])+uy*(b[1]-a[1]) > 0 {
		return Left
	}
	return Right
}

// atCurb is how far a given curb outlet may be drawn from the curb, m: a
// point snapped by eye.
const atCurb = 1.0

// CurbPointAt returns the place on the face of curb for an outlet drawn at p;
// why is what rules it out.
func (w *Law) CurbPointAt(p orb.Point) (point CurbPoint, why Refusal) {
	if why := w.faceless(); why != (Refusal{}) {
		return point, why
	}
	f := w.Frontage
	s, at := stationOf(f.Face.Line, p)
	if d := planar.Distance(p, at); d > atCurb {
		return point, Refusal{"outlet", fmt.Sprintf("it is drawn %.2f m from the curb, more than %.2f m: draw it on the face of curb", d, atCurb)}
	}
	if margin := w.Limits.FrontageMargin; s < f.From+margin-touch || s > f.To-margin+touch {
		return point, Refusal{"frontage_margin", fmt.Sprintf("it is less than frontage_margin %.2f m inside the lot lines carried to the curb", margin)}
	}
	point, ok := w.CurbPoint(s)
	if !ok {
		return point, Refusal{"curb_clearance_driveway", "it is within curb_clearance_driveway of a driveway, or its gutter is unknown"}
	}
	return point, Refusal{}
}

// Reaches tells whether a point lies where this lot's pipes may end: in the
// lot, in its frontage, or within a metre of them.
func (w *Law) Reaches(p orb.Point) bool {
	for _, r := range w.region {
		if r.distance(p) <= atCurb {
			return true
		}
	}
	return false
}
