package search

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// continuous is the model of the plane: fields bilinear between centres.
type continuous struct {
	*caseFile
	obstacles []orb.Ring
	strips    []orb.Ring
	centres   []fields // row by row
	// Of the line asked for last.
	cuts  []float64
	along []fields
	bands []band
	first []int
}

func newContinuous(c *caseFile, x changes) *continuous {
	own := *c
	m := &continuous{caseFile: &own}
	if !math.IsNaN(x.smin) {
		m.SMin = x.smin
	}
	for k := range c.NX * c.NY {
		st := c.node(k%c.NX, k/c.NX, x)
		m.centres = append(m.centres, fields{st.Ceiling, st.Floor, c.price(k%c.NX, k/c.NX)})
	}
	for _, raw := range c.Obstacles {
		var box [4]float64
		var ring [][2]float64
		if json.Unmarshal(raw, &box) == nil {
			ring = [][2]float64{{box[0], box[1]}, {box[2], box[1]}, {box[2], box[3]}, {box[0], box[3]}}
		} else if err := json.Unmarshal(raw, &ring); err != nil {
			panic(err)
		}
		m.obstacles = append(m.obstacles, closedRing(ring))
	}
	for _, s := range c.UtilityStrips {
		m.strips = append(m.strips, closedRing(s.Polygon))
	}
	return m
}

func closedRing(list [][2]float64) orb.Ring {
	var r orb.Ring
	for _, p := range list {
		r = append(r, orb.Point(p))
	}
	if r[0] != r[len(r)-1] {
		r = append(r, r[0])
	}
	if r.Orientation() == orb.CW {
		r.Reverse()
	}
	return r
}

// An outline counts to an obstacle's outside, a way may touch it, and to the strip of
// a utility: distances beyond which a point is inside, m, by rounding.
const (
	obstacleEdge = 1e-9
	stripEdge    = -1e-9
)

// inside returns the stretch of a line in an obstacle as shares; from >= to
// where it stays out or touches.
func inside(r orb.Ring, a, b orb.Point) (from, to float64) { return within(r, a, b, obstacleEdge) }

// within is the stretch of a line in a convex ring by more than edge, as shares.
func within(r orb.Ring, a, b orb.Point, edge float64) (from, to float64) {
	from, to = 0, 1
	for k := 1; k < len(r); k++ {
		p, q := r[k-1], r[k]
		l := planar.Distance(p, q)
		s0 := ((q[0]-p[0])*(a[1]-p[1]) - (q[1]-p[1])*(a[0]-p[0])) / l // left of the side is inside
		s1 := ((q[0]-p[0])*(b[1]-p[1]) - (q[1]-p[1])*(b[0]-p[0])) / l
		outer := math.Min(edge, 0)
		switch {
		case s0 <= edge && s1 <= edge:
			return 1, 0
		case s0 < outer:
			from = math.Max(from, (s0-outer)/(s0-s1))
		case s1 < outer:
			to = math.Min(to, (s0-outer)/(s0-s1))
		}
	}
	return from, to
}

// fields are ceiling, floor and price at a point of the plane.
type fields struct{ ceiling, floor, price float64 }

func (m *continuous) at(p orb.Point) (f fields) {
	x, y := p[0]/m.Cell-0.5, p[1]/m.Cell-0.5
	i, j := min(m.NX-2, max(0, int(x))), min(m.NY-2, max(0, int(y)))
	u, v := x-float64(i), y-float64(j)
	k := j*m.NX + i
	for _, n := range [4]struct {
		at    int
		share float64
	}{{k, (1 - u) * (1 - v)}, {k + 1, u * (1 - v)}, {k + m.NX, (1 - u) * v}, {k + m.NX + 1, u * v}} {
		c := &m.centres[n.at]
		f.ceiling += n.share * c.ceiling
		f.floor += n.share * c.floor
		f.price += n.share * c.price
	}
	return f
}

// band is a stretch of a line, as shares, in a utility's strip, and what is not
// allowed there.
type band struct{ from, to, low, high float64 }

// bandsAlong are those of a line.
func (m *continuous) bandsAlong(bands []band, a, b orb.Point) []band {
	for k, r := range m.strips {
		if from, to := within(r, a, b, stripEdge); from <= to {
			u := m.UtilityStrips[k].Blocked
			bands = append(bands, band{from, to, u[0], u[1]})
		}
	}
	slices.SortFunc(bands, func(x, y band) int { return cmp.Compare(y.high, x.high) })
	return bands
}

// stationsAt appends the corridor at a point: as nodes does, a station for each of
// the bands that leave room between them, the highest first.
func stationsAt(st []constraint.Station, s, share float64, f fields, bands []band) []constraint.Station {
	x := constraint.Free(s, f.ceiling, f.floor)
	st = append(st, x)
	for _, u := range bands {
		if share < u.from || share > u.to {
			continue
		}
		if last := &st[len(st)-1]; last.Low > last.High {
			last.Low, last.High = u.low, u.high
		} else if u.high > last.Low { // they overlap
			last.Low = math.Min(last.Low, u.low)
		} else {
			x.Low, x.High = u.low, u.high
			st = append(st, x)
		}
	}
	return st
}

// lineStep is the spacing of stations along a line of the continuous model, in
// cells; fields are parabolas along it, and their sag at this step is under a
// millimetre on the relief drawn, and is taken off.
const lineStep = 0.25

func (m *continuous) line(st []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
	low, highX, highY := m.Cell/2, (float64(m.NX)-0.5)*m.Cell, (float64(m.NY)-0.5)*m.Cell
	for _, p := range []orb.Point{a, b} {
		if p[0] < low-1e-9 || p[1] < low-1e-9 || p[0] > highX+1e-9 || p[1] > highY+1e-9 {
			return st, 0, false
		}
	}
	for _, r := range m.obstacles {
		if from, to := inside(r, a, b); to-from > 1e-9 {
			return st, 0, false
		}
	}
	length := planar.Distance(a, b)
	cuts, along, first := append(m.cuts[:0], 0, 1), m.along[:0], m.first[:0]
	n := int(math.Ceil(length / (lineStep * m.Cell)))
	for k := 1; k < n; k++ {
		cuts = append(cuts, float64(k)/float64(n))
	}
	for axis := range 2 { // where fields bend
		d := (b[axis] - a[axis]) / m.Cell
		from := a[axis]/m.Cell - 0.5
		for k := math.Ceil(math.Min(from, from+d)); d != 0 && k <= math.Max(from, from+d); k++ {
			if s := (k - from) / d; s > 0 && s < 1 {
				cuts = append(cuts, s)
			}
		}
	}
	m.bands = m.bandsAlong(m.bands[:0], a, b)
	for _, u := range m.bands {
		cuts = append(cuts, u.from, u.to)
	}
	slices.Sort(cuts)
	q := func(t float64) orb.Point { return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }
	for k, s := range cuts {
		if k > 0 && s == cuts[k-1] {
			along = append(along, along[len(along)-1])
		} else {
			along = append(along, m.at(q(s)))
		}
		first = append(first, len(st))
		st = stationsAt(st, s*length, s, along[k], m.bands)
	}
	first = append(first, len(st))
	priced := 0.0
	for k := 1; k < len(cuts); k++ {
		h := cuts[k] - cuts[k-1]
		if h == 0 {
			continue
		}
		x, y, mid := &along[k-1], &along[k], m.at(q(cuts[k]-h/2))
		priced += h * length / 6 * (x.price + 4*mid.price + y.price) // Simpson's rule is exact on a parabola
		sag := math.Max(0, (x.ceiling+y.ceiling)/2-mid.ceiling)
		bulge := math.Max(0, mid.floor-(x.floor+y.floor)/2)
		for i := first[k-1]; i < first[k+1]; i++ {
			st[i].Ceiling -= sag
			st[i].Floor += bulge
		}
	}
	m.cuts, m.along, m.first = cuts, along, first
	return st, priced, true
}

// pose makes the search over the plane at a step, for ways that cost less than most
// alone, on a lattice bent to the ways known.
func (m *continuous) pose(step float64, reach int, most float64, known [][]orb.Point) *Search {
	p := Problem{Reach: reach, SlopeMin: m.SMin, Interior: m.line}
	p.Lattice = Lattice{Origin: orb.Point{m.Cell / 2, m.Cell / 2}, Step: step,
		Cols: int(math.Round(float64(m.NX-1)*m.Cell/step)) + 1, Rows: int(math.Round(float64(m.NY-1)*m.Cell/step)) + 1}
	p.Usable = make([]bool, p.Cols*p.Rows)
	for i := range p.Usable {
		q := p.At(i)
		if p.Usable[i] = m.within(q, most); !p.Usable[i] {
			continue
		}
		for _, r := range m.obstacles {
			if planar.RingContains(r, q) && planar.DistanceFrom(orb.LineString(r), q) > 1e-9 {
				p.Usable[i] = false
			}
		}
	}
	s := m.Start.Cell
	at := int(math.Round(float64(s[1])*m.Cell/step))*p.Cols + int(math.Round(float64(s[0])*m.Cell/step))
	p.Usable[at] = true
	for _, w := range known {
		p.Bend(w)
	}
	g := New(p)
	g.UseEnds(g.EndsAt(m.curb(step, known)))
	g.startAt(at, m.startStations(), m.startMost())
	return g
}

// curb lists points along the row of targets, between neighbours too, and those
// where ways known end.
func (m *continuous) curb(step float64, known [][]orb.Point) (list []Outlet) {
	reach := 3.1 * step
	for k := range m.Targets {
		list = append(list, Outlet{At: m.target(k), MinInvert: m.Targets[k].MinInvert, Enter: m.line, Slope: m.SMin, Reach: reach})
		if k+1 == len(m.Targets) || planar.Distance(m.target(k), m.target(k+1)) > 1.01*m.Cell {
			continue
		}
		const parts = 4
		for f := 1; f < parts; f++ {
			u := float64(f) / parts
			p, q := m.target(k), m.target(k+1)
			list = append(list, Outlet{At: orb.Point{p[0] + u*(q[0]-p[0]), p[1] + u*(q[1]-p[1])},
				MinInvert: m.Targets[k].MinInvert*(1-u) + m.Targets[k+1].MinInvert*u, Enter: m.line, Slope: m.SMin, Reach: reach})
		}
	}
	for _, w := range known {
		if p, need, ok := m.onCurb(m.stationOf(w[len(w)-1])); ok && !slices.ContainsFunc(list, func(o Outlet) bool { return o.At == p }) {
			list = append(list, Outlet{At: p, MinInvert: need, Enter: m.line, Slope: m.SMin, Reach: reach})
		}
	}
	return list
}

// rules are the case's for ways off its lattices.
func (m *continuous) rules() Rules {
	return Rules{
		Start:  func(int) float64 { return m.startMost() },
		Line:   func(int, int, float64) (constraint.Line, float64) { return m.line, m.SMin },
		Outlet: func(_ int, s float64) (orb.Point, float64, bool) { return m.onCurb(s) },
		Turn:   func(_, _, _ orb.Point, _ bool) float64 { return 0 },
		Split:  m.Cell,
	}
}

// planOf is a way from the start to a point of the curb as a plan.
func (m *continuous) planOf(path []orb.Point) (plan Plan) {
	for k, p := range path {
		plan = append(plan, Point{Vertex{p, k + 1, -1, -1}, math.NaN()})
	}
	last := len(plan) - 1
	plan[0].Source, plan[last].Outlet, plan[last].Next = 0, 0, -1
	plan[last].Along = m.stationOf(path[last])
	return plan
}

// pathOf is the way of a plan.
func pathOf(plan Plan) (path []orb.Point) {
	for v := slices.IndexFunc(plan, func(s Point) bool { return s.Source == 0 }); v >= 0; v = plan[v].Next {
		path = append(path, plan[v].At)
	}
	return path
}

// worse is the share a way may cost more than another, its points moved roughly, and
// still be moved to the end.
const worse = 0.01

// refined moves a way's points freely to where it costs least; +Inf: it is not
// admissible, or has no prospect of less than most.
func (m *continuous) refined(path []orb.Point, most float64) ([]orb.Point, float64) {
	plan, cost, rules := m.planOf(path), math.Inf(1), m.rules()
	for _, split := range []float64{4, 2, 1} {
		rules.Split = split * m.Cell
		plan, cost = Refine(context.Background(), plan, rules, 1.5*m.Cell)
		if cost > most*(1+worse) {
			return nil, math.Inf(1)
		}
	}
	return pathOf(plan), cost
}

// target is the point of target k.
func (m *continuous) target(k int) orb.Point {
	return m.centre(m.Targets[k].Cell[0], m.Targets[k].Cell[1])
}

// centre is the middle of a cell.
func (c *caseFile) centre(i, j int) orb.Point {
	return orb.Point{(float64(i) + 0.5) * c.Cell, (float64(j) + 0.5) * c.Cell}
}

// stationOf is the station of a point of the row of targets, from the first one.
func (m *continuous) stationOf(p orb.Point) float64 { return planar.Distance(m.target(0), p) }

// onCurb is the point of the row at a station and the invert asked for there.
func (m *continuous) onCurb(s float64) (orb.Point, float64, bool) {
	for k := range m.Targets {
		p := m.target(k)
		s0 := m.stationOf(p)
		if math.Abs(s-s0) < 1e-12 {
			return p, m.Targets[k].MinInvert, true
		}
		if k+1 == len(m.Targets) || s < s0 {
			break
		}
		q := m.target(k + 1)
		if s1 := m.stationOf(q); s < s1 && s1-s0 <= 1.01*m.Cell {
			u := (s - s0) / (s1 - s0)
			return orb.Point{p[0] + u*(q[0]-p[0]), p[1] + u*(q[1]-p[1])}, m.Targets[k].MinInvert*(1-u) + m.Targets[k+1].MinInvert*u, true
		}
	}
	return orb.Point{}, 0, false
}

func runContinuous(t *testing.T, c *caseFile) {
	e := &c.Expected
	m := newContinuous(c, asFiled())
	want := cheapest
	if e.OutletMargin != nil {
		want = highest
	}
	f := m.solve(want)
	if feasible := f.path != nil; feasible != e.Feasible {
		t.Fatalf("feasible %v (margin %.4f), want %v", feasible, f.margin, e.Feasible)
	}
	if x := e.OutletMargin; x != nil && math.Abs(f.margin-*x) > c.tolerance("outlet_margin") {
		t.Errorf("outlet margin %.5f, want %.5f within %g", f.margin, *x, c.tolerance("outlet_margin"))
	}
	c.limits(t, func(x changes) bool { return Enough(newContinuous(c, x).solve(verdict).margin) })
	if f.path == nil {
		return
	}
	f.cost *= c.price1()
	if err := m.walk(f.path); err != nil {
		t.Error(err)
	}
	best, lower := e.BestKnown, e.LowerBound
	if x := e.Cost; x != nil {
		best, lower = x, x
	}
	if best != nil {
		above := 0.0
		if f.cost != *best {
			above = f.cost / *best - 1
		}
		t.Logf("cost %.4f, %.3f %% above the best known", f.cost, 100*above)
		if above > farthestAbove {
			t.Errorf("cost %.4f, more than %g above the best known %.4f", f.cost, farthestAbove, *best)
		}
		c.above = above
	}
	if lower != nil && f.cost < *lower-c.tolerance("cost") {
		t.Errorf("cost %.6f is below the bound %.6f", f.cost, *lower)
	}
}

// A route in the plane may cost this share more than the best known: one of
// them, and their mean.
const (
	farthestAbove = 0.004
	meanAbove     = 0.001
)

// walk re-proves a way in centimetres by the highest profile.
func (m *continuous) walk(path []orb.Point) error {
	y, ok := m.atStart()
	if !ok {
		return fmt.Errorf("no invert is admissible at the start")
	}
	first := true
	at := 0.0
	for k := 1; k < len(path); k++ {
		a, b := path[k-1], path[k]
		length := planar.Distance(a, b)
		n := int(math.Ceil(length / 0.01))
		for i := 0; i <= n; i++ {
			s := float64(i) / float64(n)
			p := orb.Point{a[0] + s*(b[0]-a[0]), a[1] + s*(b[1]-a[1])}
			if i > 0 || !first {
				step := length / float64(n)
				if i == 0 {
					step = 0
				}
				y -= m.SMin * step
				at += step
			}
			first = false
			y = math.Min(y, m.at(p).ceiling)
			for q, r := range m.strips {
				in := planar.RingContains(r, p)
				if u := m.UtilityStrips[q].Blocked; in && y > u[0] && y < u[1] {
					y = u[0]
				}
			}
			if floor := m.at(p).floor; y < floor-1e-4 {
				return fmt.Errorf("at %.2f m the invert %.4f is below the floor %.4f", at, y, floor)
			}
			for _, r := range m.obstacles {
				if planar.RingContains(r, p) && planar.DistanceFrom(orb.LineString(r), p) > 1e-6 {
					return fmt.Errorf("at %.2f m the way is in an obstacle", at)
				}
			}
		}
	}
	end := path[len(path)-1]
	landing, need, ok := m.onCurb(m.stationOf(end))
	if !ok || planar.Distance(landing, end) > 1e-9 {
		return fmt.Errorf("the way ends at %v, not at the curb", end)
	}
	if y < need-1e-4 {
		return fmt.Errorf("the invert at the end is %.5f, %.5f is asked", y, need)
	}
	return nil
}
