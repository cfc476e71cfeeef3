package constraint

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// sagTolerance is how far the ground may curve off the chord between two
// stations, m. What is left is taken off the ceiling, so it only costs margin:
// a fifth of the millimetre a level is read to.
const sagTolerance = 2e-4

// raiseStep is the spacing of stations where the ground is raised to the top
// of curb, m.
const raiseStep = 0.1

// raiseSliver is the least stretch worth a station of its own there, m.
const raiseSliver = 1e-3

// Interior answers for a pipe between any two points of the lot and its
// frontage. Each answer of this and the following methods keeps a memory of
// the last line asked and serves one goroutine.
func (w *Law) Interior(b Bore) Line { return w.asking(ask{bore: b}) }

// Leave answers for the first pipe of an inflow, which may cross the setback
// of its own roof and, within that exit, those of roofs touching it and of the
// lot line. It begins with its crown at or below the inflow's rim.
func (w *Law) Leave(b Bore, x Exit) Line { return w.asking(ask{bore: b, exit: &x}) }

// EnterCurb answers for the outlet pipe of size s to a point of the curb's
// face: at most outlet_zone long, within 30 degrees of square, with
// outlet_cover under ground no lower than the top of curb.
func (w *Law) EnterCurb(s Size, o CurbPoint) Line {
	return w.asking(ask{bore: Bore{Lawn: s, Hard: s, Outlet: s}, curb: &o})
}

// LeaveToCurb is EnterCurb for an inflow whose first pipe is its last.
func (w *Law) LeaveToCurb(s Size, o CurbPoint, x Exit) Line {
	return w.asking(ask{bore: Bore{Lawn: s, Hard: s, Outlet: s}, curb: &o, exit: &x})
}

// EnterDaylight answers for the last pipe to a daylight end at elevation end:
// within daylight_zone of it the cover runs out.
func (w *Law) EnterDaylight(b Bore, end, slope float64) Line {
	return w.asking(ask{bore: b, daylight: &daylight{end, slope}})
}

type daylight struct{ end, slope float64 }

// Span is two elevations, m, that no invert of an Interior pipe through p lies
// outside of: the greatest depth and the least cover there is anywhere.
func (w *Law) Span(b Bore, p orb.Point) (low, high float64) {
	cover := w.Limits.CoverMin
	for _, z := range w.zones {
		if z.paved {
			cover = min(cover, z.cover)
		}
	}
	z := w.Ground.Ground(p[0], p[1])
	return z - w.Limits.DepthMax, z - cover - min(b.Lawn.Rise(), b.Hard.Rise())
}

// ask is one kind of question to the law with its buffers.
type ask struct {
	w        *Law
	bore     Bore
	exit     *Exit
	curb     *CurbPoint
	daylight *daylight

	anchor   orb.Point
	known    []float64 // distance of the anchor to each shape, NaN: not asked yet
	reach    []*shape  // of each buried utility for this bore
	pieces   []grid.Piece
	cuts     []float64
	grounds  []crossed
	lines    []crossedUtility
	raise    []span
	raiseAll *shape
	top      topAt // of the curb, as last told
}

// crossed is a zone with where the line lies in it.
type crossed struct {
	*zone
	in []span // nil: all of it
}

type crossedUtility struct {
	*buried
	in []span
}

func (w *Law) asking(q ask) Line {
	q.w = w
	outside := max(q.bore.Lawn.Outside, q.bore.Hard.Outside)
	for k := range w.buried {
		u := &w.buried[k]
		q.reach = append(q.reach, lineShape(u.Line, u.clearance+(outside+u.diameter())/2))
	}
	if q.curb != nil && q.curb.Face.Type == VerticalCurb {
		q.raiseAll = lineShape(q.curb.Face.Line, w.CurbRaiseWidth())
	}
	q.known = make([]float64, len(w.region)+len(w.bars)+len(w.zones)+len(w.buried))
	q.anchor = orb.Point{math.NaN(), math.NaN()}
	return q.line
}

// CurbRaiseWidth is the width behind a vertical curb where the outlet pipe's
// ground is at least the top of curb, m: as given, else one cell, 3 m at most.
func (w *Law) CurbRaiseWidth() float64 {
	if Given(w.Limits.CurbRaiseWidth) {
		return w.Limits.CurbRaiseWidth
	}
	return min(w.Ground.CellMax(), curbRaiseMost)
}

// curbRaiseMost: a larger cell blurs the curb no further than this, m.
const curbRaiseMost = 3

func (q *ask) line(stations []Station, a, b orb.Point) ([]Station, float64, bool) {
	length := planar.Distance(a, b)
	if length == 0 || !q.admits(a, b, length) || !q.clear(a, b, length) {
		return stations, 0, false
	}
	var ok bool
	q.pieces, ok = q.w.Ground.Along(q.pieces[:0], a[0], a[1], b[0], b[1])
	if !ok {
		return stations, 0, false
	}
	q.cross(a, b, length)
	return q.stations(stations, a, b, length)
}

// admits holds the outlet pipe to its length and direction.
func (q *ask) admits(a, b orb.Point, length float64) bool {
	if q.curb == nil {
		return true
	}
	if length > q.w.Limits.OutletZone+Tolerance {
		return false
	}
	nx, ny := q.curb.Face.normal(q.curb.Station)
	return (b[0]-a[0])*nx+(b[1]-a[1])*ny >= (SquareWithin-squareSlack)*length
}

// SquareWithin is the cosine of the angle within which an outlet pipe must
// meet the square to the curb: 30 degrees.
var SquareWithin = math.Cos(math.Pi / 6)

// away returns the distance of the anchor, an end of the line, to shape k.
func (q *ask) away(k int, s *shape, a, b orb.Point) float64 {
	if q.anchor != a && q.anchor != b {
		q.anchor = a
		for i := range q.known {
			q.known[i] = math.NaN()
		}
	}
	if math.IsNaN(q.known[k]) {
		q.known[k] = s.distance(q.anchor)
	}
	return q.known[k]
}

// clear tells whether a pipe may lie on the line at any depth.
func (q *ask) clear(a, b orb.Point, length float64) bool {
	w, k := q.w, 0
	inside := false
	for i, r := range w.region {
		inside = inside || q.away(i, r, a, b) <= -length
	}
	if !inside {
		var in []span
		for _, r := range w.region {
			in = append(in, r.spans(a, b)...)
		}
		if !covers(in, length) {
			return false
		}
	}
	k = len(w.region)
	for i, s := range w.bars {
		if !s.near(a, b) || q.away(k+i, s.shape, a, b) >= length {
			continue
		}
		if in := s.spans(a, b); len(in) > 0 && !q.exempt(s, in) {
			return false
		}
	}
	if q.exit != nil {
		for _, r := range w.roofs {
			if len(r.bare.spans(a, b)) > 0 {
				return false
			}
		}
	}
	for _, c := range w.curbs {
		if !c.near(a, b) {
			continue
		}
		for i := 1; i < len(c.rings[0]); i++ {
			if properlyCross(a, b, c.rings[0][i-1], c.rings[0][i]) {
				return false
			}
		}
	}
	return true
}

// exempt tells whether the stretches of the line inside a setback belong to
// the inflow's exit.
func (q *ask) exempt(s obstacle, in []span) bool {
	if q.exit == nil || in[len(in)-1].to > q.exit.Length+touch {
		return false
	}
	switch s.Rule {
	case RuleLotLine:
		return true
	case RuleRoofSetback:
		return slices.Contains(q.exit.Roofs, s.ID)
	}
	return false
}

// cross finds the zones and utilities the line crosses and where stations must
// stand because of them.
func (q *ask) cross(a, b orb.Point, length float64) {
	w := q.w
	q.cuts, q.grounds, q.lines, q.raise, q.top = q.cuts[:0], q.grounds[:0], q.lines[:0], nil, topAt{s: math.NaN()}
	mark := func(in []span, every float64) {
		for _, s := range in {
			q.cuts = append(q.cuts, s.from, s.to)
			for x := s.from + every; x < s.to; x += every {
				q.cuts = append(q.cuts, x)
			}
		}
	}
	k := len(w.region) + len(w.bars)
	for i := range w.zones {
		z := &w.zones[i]
		if !z.near(a, b) {
			continue
		}
		d := q.away(k+i, z.shape, a, b)
		if d >= length {
			continue
		}
		if d <= -length {
			q.grounds = append(q.grounds, crossed{z, nil})
			continue
		}
		if in := z.spans(a, b); len(in) > 0 {
			q.grounds = append(q.grounds, crossed{z, in})
			mark(in, math.Inf(1))
		}
	}
	k += len(w.zones)
	for i := range w.buried {
		if q.reach[i].near(a, b) && q.away(k+i, q.reach[i], a, b) < length {
			if in := q.reach[i].spans(a, b); len(in) > 0 {
				q.lines = append(q.lines, crossedUtility{&w.buried[i], in})
				mark(in, raiseStep)
			}
		}
	}
	if q.raiseAll != nil {
		q.raise = q.raiseAll.spans(a, b)
		mark(q.raise, raiseStep)
	}
	if q.daylight != nil {
		q.cuts = append(q.cuts, length-w.Limits.DaylightZone)
	}
	slices.Sort(q.cuts)
}

// contains tells whether s lies in one of the stretches; nil is everywhere.
func contains(in []span, s float64) bool {
	if in == nil {
		return true
	}
	for _, x := range in {
		if s > x.from && s < x.to {
			return true
		}
	}
	return false
}

// terms are the law's terms on one stretch between stations.
type terms struct {
	cover  float64
	size   *Size
	factor float64
}

func (q *ask) terms(s float64) terms {
	t := terms{cover: q.w.Limits.CoverMin, size: &q.bore.Lawn, factor: 1}
	paved := false
	for _, g := range q.grounds {
		if !contains(g.in, s) {
			continue
		}
		t.factor = max(t.factor, g.factor)
		if !g.paved {
			continue
		}
		if !paved || g.cover > t.cover {
			t.cover = g.cover
		}
		paved, t.size = true, &q.bore.Hard
	}
	if q.curb != nil {
		t.cover = q.w.Limits.OutletCover
	}
	return t
}

// stations builds the corridor of a line found clear.
func (q *ask) stations(stations []Station, a, b orb.Point, length float64) ([]Station, float64, bool) {
	rimmed := q.exit != nil && q.exit.Rim != nil
	if rimmed {
		stations = append(stations, Station{}) // settled when the first one behind it is
	}
	first := len(stations)
	priced, cut := 0.0, 0
	var t terms
	changed := true // the terms, since the last stretch
	for _, p := range q.pieces {
		step := p.To - p.From
		if p.C != 0 {
			step = min(step, math.Sqrt(4*sagTolerance/math.Abs(p.C)))
		}
		for s := p.From; s < p.To; {
			end := p.To
			if n := math.Ceil((p.To - s) / step); n > 1 {
				end = s + (p.To-s)/n
			}
			for cut < len(q.cuts) && q.cuts[cut] <= s+touch {
				cut++
				changed = true
			}
			if cut < len(q.cuts) && q.cuts[cut] < end-touch {
				end = q.cuts[cut]
			}
			if changed {
				t = q.terms((s + end) / 2)
				changed = false
			}
			stations = q.stretch(stations, first, p, s, end, t, a, b, length)
			priced += (end - s) * t.factor
			s = end
		}
	}
	if rimmed {
		under := *q.exit.Rim - math.Max(q.bore.Lawn.Inside, q.bore.Hard.Inside)
		stations[first-1] = stations[first]
		stations[first-1].Ceiling = math.Min(under, stations[first].Ceiling)
	}
	return stations, priced, true
}

// stretch appends the two ends of one stretch, joining the first to the last
// station where nothing jumps between them.
func (q *ask) stretch(stations []Station, first int, p grid.Piece, s0, s1 float64, t terms, a, b orb.Point, length float64) []Station {
	sag := p.C * (s1 - s0) * (s1 - s0) / 4
	mid := (s0 + s1) / 2
	z0, z1 := p.At(s0), p.At(s1)
	if q.raise != nil && contains(q.raise, mid) {
		// The higher of ground and curb bends where they meet: stand there.
		top0, top1 := q.topAt(s0, a, b, length), q.topAt(s1, a, b, length)
		d0, d1 := z0-top0, z1-top1
		if meet := s0 + (s1-s0)*d0/(d0-d1); d0*d1 < 0 && meet > s0+raiseSliver && meet < s1-raiseSliver {
			stations = q.stretch(stations, first, p, s0, meet, t, a, b, length)
			return q.stretch(stations, first, p, meet, s1, t, a, b, length)
		}
		z0, z1 = max(z0, top0), max(z1, top1)
	}
	above, below := t.cover+t.size.Rise()+max(0, sag), q.w.Limits.DepthMax-max(0, -sag)
	st0, st1 := Free(s0, z0-above, z0-below), Free(s1, z1-above, z1-below)
	if q.daylight != nil || len(q.lines) > 0 {
		q.besides(&st0, mid, t, a, b, length)
		q.besides(&st1, mid, t, a, b, length)
	}
	if n := len(stations); n > first {
		last := &stations[n-1]
		if last.Low == st0.Low && last.High == st0.High && math.Abs(last.Ceiling-st0.Ceiling) <= 2*sagTolerance {
			last.Ceiling = min(last.Ceiling, st0.Ceiling)
			last.Floor = max(last.Floor, st0.Floor)
			return append(stations, st1)
		}
	}
	return append(stations, st0, st1)
}

// topAt is the top of the curb beside plan distance s of the line, m. Stretches
// meet, so each is wanted twice in a row.
func (q *ask) topAt(s float64, a, b orb.Point, length float64) float64 {
	if q.top.s != s {
		q.top = topAt{s, q.w.topOfCurb(q.curb.Face, along(a, b, s/length))}
	}
	return q.top.z
}

// topAt is the top of a curb beside a station of a line.
type topAt struct{ s, z float64 }

// besides is what a daylight end and utilities make of a station on the stretch round
// mid.
func (q *ask) besides(st *Station, mid float64, t terms, a, b orb.Point, length float64) {
	if q.daylight != nil && mid > length-q.w.Limits.DaylightZone {
		st.Ceiling = max(st.Ceiling, q.daylight.end+q.daylight.slope*(length-st.S))
	}
	for _, u := range q.lines {
		if !contains(u.in, mid) {
			continue
		}
		low, high := q.w.band(u.buried, along(a, b, st.S/length), *t.size)
		st.Low, st.High = min(st.Low, low), max(st.High, high)
	}
}

// topOfCurb is the elevation of the top of a curb at its point nearest to p, m.
func (w *Law) topOfCurb(f *Face, p orb.Point) float64 {
	s, _ := stationOf(f.Line, p)
	return f.tabled(s) + f.Height
}
