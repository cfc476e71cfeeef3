package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// CurbPoint is a place on the face of curb where an outlet may come through.
type CurbPoint struct {
	Face      *Face
	Station   float64 // m along the curb
	At        orb.Point
	Gutter    float64 // elevation m
	MinInvert float64 // gutter + outlet_above_gutter, elevation m
}

// CurbPoints returns the places along the frontage where an outlet to the curb
// face is allowed, at most step apart; why says what rules them all out.
func (w *Law) CurbPoints(step float64) (points []CurbPoint, why string) {
	f := w.Frontage
	switch {
	case f == nil:
		return nil, "the lot faces no curb"
	case f.Face.Type != VerticalCurb:
		return nil, "the curb is not vertical: it has no face to come through"
	case f.lotSide(w.Lot.Area) == f.Face.Street:
		return nil, "the street side of the curb is toward the lot"
	}
	from, to := f.From+w.Limits.FrontageMargin, f.To-w.Limits.FrontageMargin
	if from > to {
		return nil, "the frontage is narrower than twice frontage_margin"
	}
	n := int(math.Ceil((to - from) / step))
	why = "no point of the frontage is clear of driveways and of unknown ground"
	for k := 0; k <= n; k++ {
		s := from
		if n > 0 {
			s += (to - from) * float64(k) / float64(n)
		}
		if p, ok := w.CurbPoint(s); ok {
			points, why = append(points, p), ""
		}
	}
	return points, why
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

// CurbPointNear returns the place on the curb nearest to p.
func (w *Law) CurbPointNear(p orb.Point) (CurbPoint, bool) {
	s, _ := stationOf(w.Frontage.Face.Line, p)
	return w.CurbPoint(s)
}

// lotSide is the side of the curb the lot lies on.
func (f *Frontage) lotSide(lot orb.Polygon) Side {
	// The middle of a corner-hugging lot can lie across the curb's line carried
	// on; the middle of its front edge cannot.
	ring := counterClockwise(lot[0])
	for k := 1; k < len(ring); k++ {
		if f.front[k] {
			return sideOf(f.Face.Line, along(ring[k-1], ring[k], 0.5))
		}
	}
	center := lot[0].Bound().Center()
	return sideOf(f.Face.Line, center)
}
