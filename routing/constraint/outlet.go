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
	if points, why = w.curbPoints(step); len(points) == 0 {
		why.Says += w.hiddenCurb()
	}
	return points, why
}

func (w *Law) curbPoints(step float64) (points []CurbPoint, why Refusal) {
	if why := w.faceless(); why != (Refusal{}) {
		return nil, why
	}
	from, to := w.CurbReach()
	if from > to {
		return nil, Refusal{"frontage_margin", fmt.Sprintf("the frontage is narrower than twice frontage_margin %.2f m", w.Limits.FrontageMargin)}
	}
	if !w.curbKnown() {
		return nil, Refusal{"unknown_ground", fmt.Sprintf("no ground is known at curb %s in front of the lot: check where it is drawn, or give a raster that reaches it", w.Frontage.Face.ID)}
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

// curbKnown tells whether ground is known anywhere at the curb in front of the lot.
func (w *Law) curbKnown() bool {
	f := w.Frontage
	n := int(math.Ceil((f.To - f.From) / frontStep))
	for k := range n + 1 {
		p := f.Face.Off(min(f.To, f.From+float64(k)*frontStep), 0)
		if !math.IsNaN(w.Ground.Ground(p[0], p[1])) {
			return true
		}
	}
	return false
}

// faceless is why the lot has no face of curb to come through.
func (w *Law) faceless() Refusal {
	f := w.Frontage
	switch {
	case f == nil && len(w.site.Curbs) > 0:
		near := &w.site.Curbs[nearestCurb(w.Lot.Area, w.site.Curbs)]
		return Refusal{"curb", fmt.Sprintf("no side of the lot faces curb %s, the nearest to it, %.2f m away", near.ID, lineDistance(w.Lot.Area[0], near.Line))}
	case f == nil:
		return Refusal{"curb", "no side of the lot faces a curb"}
	case f.Face.Type != VerticalCurb:
		return Refusal{"curb.type", "the curb is not vertical: it has no face to come through"}
	case f.lotSide(w.Lot.Area) != f.Face.Street:
		return Refusal{}
	case f.Face.StreetSide != SideUnknown:
		return Refusal{"curb.street_side", w.streetAsGiven()}
	}
	return Refusal{"curb.street_side", "the ground is lower on the lot's side of curb " + f.Face.ID + ", so its face is not toward the street; if the street is on the far side, give the curb street_side"}
}

// lowerSaid is the least difference of ground beside a curb that is said, m.
const lowerSaid = 0.01

// streetAsGiven says of a curb whose street_side is given as the lot's own side what
// the ground says.
func (w *Law) streetAsGiven() string {
	f := w.Frontage
	says := fmt.Sprintf("street_side %s of curb %s, as given, is the lot's own side", f.Face.Street, f.Face.ID)
	other := Left
	if f.Face.Street == Left {
		other = Right
	}
	if by := f.Face.meanSide(f.Face.Street, f.From, f.To) - f.Face.meanSide(other, f.From, f.To); by >= lowerSaid {
		says += fmt.Sprintf(", and the ground is %.2f m lower on the other, its %s", by, other)
	}
	return says + ": check it, and which way the curb is drawn"
}

// hiddenCurb says, to follow a sentence, which curb would face the lot were it not
// for one that is nearer; nothing where none would.
func (w *Law) hiddenCurb() string {
	near := nearestCurb(w.Lot.Area, w.site.Curbs)
	for k := range w.site.Curbs {
		f, ok := Frontage{}, false
		if k != near {
			f, ok = frontageOf(w.Lot.Area, w.site.Curbs[k].Line, append(w.lots(), w.region[0]))
		}
		if ok && len(f.front) > 0 && f.To-f.From > 2*w.Limits.FrontageMargin {
			return fmt.Sprintf("; curb %s faces the lot, but %s comes nearer and is taken for its curb: take %s out, or draw it where it does not", w.site.Curbs[k].ID, w.site.Curbs[near].ID, w.site.Curbs[near].ID)
		}
	}
	return ""
}

// lots are the other lots' shapes.
func (w *Law) lots() (list []*shape) {
	for _, b := range w.bars {
		if b.Rule == RuleOtherLot {
			list = append(list, b.shape)
		}
	}
	return list
}

// Odd says what of the lot's curb and outlets is not as expected.
func (w *Law) Odd() (says []string) {
	f := w.Frontage
	switch {
	case f == nil:
	case w.StreetDisagrees && f.Face.StreetSide != SideUnknown:
		says = append(says, w.streetAsGiven())
	case w.StreetDisagrees:
		says = append(says, fmt.Sprintf("curb %s: the street is not where expected, away from the lot; give the curb street_side to settle it", f.Face.ID))
	}
	if f != nil && w.within(f.Face.Line) {
		if hidden := w.hiddenCurb(); hidden != "" {
			says = append(says, fmt.Sprintf("curb %s runs through the lot%s", f.Face.ID, hidden))
		}
	}
	for _, o := range w.site.Outlets {
		if !w.Reaches(o.At) && w.nearestToAll(o.At) {
			says = append(says, fmt.Sprintf("outlet %s lies more than %.0f m outside lot %s and its frontage: not used; draw it where the lot's pipes can end", o.ID, atCurb, w.Lot.ID))
		}
	}
	return says
}

// within tells whether any of a line runs inside the lot.
func (w *Law) within(line orb.LineString) bool {
	for k := 1; k < len(line); k++ {
		if len(w.region[0].spans(line[k-1], line[k])) > 0 {
			return true
		}
	}
	return false
}

// nearestToAll tells whether no other lot lies nearer to a point.
func (w *Law) nearestToAll(p orb.Point) bool {
	d := w.region[0].distance(p)
	for _, s := range w.lots() {
		if s.distance(p) < d {
			return false
		}
	}
	return true
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
		why.Says += w.hiddenCurb()
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
