package search

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// caseFile is one outside case: a problem and answers from closed formulas,
// exhaustive search or other programs.
type caseFile struct {
	Format, ID, Model string
	Cell              float64
	NX, NY            int
	Ground            [][]float64
	Blocked           []string
	Unit              [][]float64
	Cover, OD         float64
	CoverByRow        []float64 `json:"cover_by_row"`
	DMax, SMin        float64
	Utilities         []struct {
		Cell    [2]int
		Blocked [2]float64
	}
	UtilityStrips []struct {
		Polygon [][2]float64
		Blocked [2]float64
	} `json:"utility_strips"`
	Obstacles []json.RawMessage
	Start     struct {
		Cell      [2]int
		InvertMax *float64 `json:"invert_max"`
	}
	Sources []struct{ Cell [2]int }
	Targets []struct {
		Cell      [2]int
		MinInvert float64 `json:"min_invert"`
	}
	BendCost   float64 `json:"bend_cost_per_45deg"`
	DepthCost  float64 `json:"depth_cost"`
	OutletCost float64 `json:"outlet_cost"`
	reach      int     // of the lattice; no case names it
	forget     bool    // its arcs; no case names it
	Expected   struct {
		Feasible     bool
		Cost         *float64
		OutletMargin *float64 `json:"outlet_margin"`
		StartExcess  *float64 `json:"start_excess"`
		CoverMargin  *float64 `json:"cover_margin"`
		SMinMax      *float64 `json:"smin_max"`
		DMaxNeeded   *float64 `json:"dmax_needed"`
		BestKnown    *float64 `json:"best_known_cost"`
		LowerBound   *float64 `json:"lower_bound_cost"`
		Tolerance    float64
		Tolerances   map[string]float64
	}
	above float64 // share of cost above the best known, as found
}

func (c *caseFile) tolerance(key string) float64 {
	if t, ok := c.Expected.Tolerances[key]; ok {
		return t
	}
	return math.Max(c.Expected.Tolerance, 1e-6)
}

func TestCases(t *testing.T) {
	folder, named := os.LookupEnv("CURBFALL_CASES")
	if !named {
		folder = filepath.Join("..", "..", "..", "shared", "cases")
		if _, err := os.Stat(folder); err != nil {
			t.Skipf("outside cases are not here: %v", err)
		}
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases in %s: %v", folder, err)
	}
	others := map[string]int{}
	var above []float64
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var head struct{ Format, Model string }
		if err := json.Unmarshal(data, &head); err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		run := map[string]func(*testing.T, *caseFile){
			"route-case/1 lattice8": runLattice, "route-case/1 continuous": runContinuous, "network-case/1 ": runNetwork,
		}[head.Format+" "+head.Model]
		if run == nil {
			others[head.Format+" "+head.Model]++
			continue
		}
		t.Run(strings.TrimSuffix(filepath.Base(file), ".json"), func(t *testing.T) {
			var c caseFile
			if err := json.Unmarshal(data, &c); err != nil {
				t.Fatal(err)
			}
			c.above = math.NaN()
			run(t, &c)
			if !math.IsNaN(c.above) {
				above = append(above, c.above)
			}
		})
	}
	if n := len(above); n > 0 {
		mean, worst := 0.0, slices.Max(above)
		for _, x := range above {
			mean += x / float64(n)
		}
		t.Logf("%d routes in the plane: mean %.4f %%, worst %.4f %% above the best known", n, 100*mean, 100*worst)
		if mean > meanAbove {
			t.Errorf("mean %.5f above the best known, at most %g is asked", mean, meanAbove)
		}
	}
	if n := len(networkGaps); n > 0 {
		mean := 0.0
		for _, gap := range networkGaps {
			mean += gap / float64(n)
		}
		t.Logf("%d networks, mean %.4f %% above the optimum", n, 100*mean)
		if mean > networkMean {
			t.Errorf("networks cost %.3f %% more than the optimum on the mean", 100*mean)
		}
	}
	for k, n := range others {
		t.Logf("not taken here: %d of %s", n, k)
	}
}

// changes are what a margin is asked under.
type changes struct {
	cover, smin, dmax float64 // added cover; slope and depth in place of the file's, NaN: as filed
	liftStart         bool    // no ceiling at the start
}

func asFiled() changes { return changes{smin: math.NaN(), dmax: math.NaN()} }

// node is the corridor at a cell.
func (c *caseFile) node(i, j int, x changes) constraint.Station {
	cover := c.Cover
	if c.CoverByRow != nil {
		cover = c.CoverByRow[j]
	}
	dmax := c.DMax
	if !math.IsNaN(x.dmax) {
		dmax = x.dmax
	}
	z := c.Ground[j][i]
	st := constraint.Free(0, z-cover-x.cover-c.OD, z-dmax)
	if x.liftStart && [2]int{i, j} == c.Start.Cell {
		st.Ceiling = math.Inf(1)
	}
	for _, u := range c.Utilities {
		if u.Cell == [2]int{i, j} {
			st.Low, st.High = math.Min(st.Low, u.Blocked[0]), math.Max(st.High, u.Blocked[1])
		}
	}
	return st
}

// nodes appends the corridor at a cell where utilities that leave room between them
// cross: a station for each, the highest first, all at one place.
func (c *caseFile) nodes(list []constraint.Station, i, j int, s float64, x changes) []constraint.Station {
	var bands [][2]float64
	for _, u := range c.Utilities {
		if u.Cell == [2]int{i, j} {
			bands = append(bands, u.Blocked)
		}
	}
	slices.SortFunc(bands, func(a, b [2]float64) int { return cmp.Compare(b[1], a[1]) })
	st := c.node(i, j, x)
	st.S = s
	list = append(list, st)
	for k, b := range bands {
		if last := &list[len(list)-1]; k == 0 {
			last.Low, last.High = b[0], b[1]
		} else if b[1] > last.Low { // they overlap
			last.Low = math.Min(last.Low, b[0])
		} else {
			st.Low, st.High = b[0], b[1]
			list = append(list, st)
		}
	}
	return list
}

// down is the highest admissible invert at a cell not above y, in the case model's
// own words; false where there is none.
func (c *caseFile) down(i, j int, y float64) (float64, bool) {
	st := c.node(i, j, asFiled())
	y = math.Min(y, st.Ceiling)
	for range c.Utilities { // a band may lower it into another
		for _, u := range c.Utilities {
			if u.Cell == [2]int{i, j} && y > u.Blocked[0] && y < u.Blocked[1] {
				y = u.Blocked[0]
			}
		}
	}
	return y, y >= st.Floor-constraint.Tolerance
}

func (c *caseFile) open(i, j int) bool {
	return i >= 0 && j >= 0 && i < c.NX && j < c.NY && (c.Blocked == nil || c.Blocked[j][i] != '#')
}

func (c *caseFile) price(i, j int) float64 {
	if c.Unit == nil {
		return 1
	}
	return c.Unit[j][i]
}

// lattice poses the case as 8-neighbour lattice, checked at centres alone.
func (c *caseFile) lattice(x changes) (*Search, []target) {
	smin := c.SMin
	if !math.IsNaN(x.smin) {
		smin = x.smin
	}
	p := Problem{Reach: max(1, c.reach), SlopeMin: smin, Forget: c.forget}
	p.Lattice = Lattice{Step: c.Cell, Cols: c.NX, Rows: c.NY, Usable: make([]bool, c.NX*c.NY)}
	for k := range p.Usable {
		p.Usable[k] = c.open(k%c.NX, k/c.NX)
	}
	at := func(q orb.Point) (int, int) { return int(math.Round(q[0] / c.Cell)), int(math.Round(q[1] / c.Cell)) }
	p.Interior = func(st []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
		i, j := at(a)
		k, l := at(b)
		if !c.open(i, l) || !c.open(k, j) {
			return st, 0, false
		}
		length := c.Cell * math.Hypot(float64(k-i), float64(l-j))
		st = c.nodes(c.nodes(st, i, j, 0, x), k, l, length, x)
		return st, length * (c.price(i, j) + c.price(k, l)) / 2, true
	}
	p.Span = func(q orb.Point) (float64, float64) {
		i, j := at(q)
		st := c.node(i, j, x)
		return st.Floor, st.Ceiling
	}
	g := New(p)
	if c.BendCost > 0 {
		g.Turn = func(a, b, d orb.Point) (float64, bool) {
			turn := math.Abs(math.Atan2((b[0]-a[0])*(d[1]-b[1])-(b[1]-a[1])*(d[0]-b[0]), (b[0]-a[0])*(d[0]-b[0])+(b[1]-a[1])*(d[1]-b[1])))
			return c.BendCost * turn / (math.Pi / 4), turn <= math.Pi/2+1e-9
		}
	}
	if c.DepthCost > 0 {
		g.Depth = func(from, to int, y0, y1, length float64) float64 {
			d0, d1 := c.Ground[from/c.NX][from%c.NX]-y0, c.Ground[to/c.NX][to%c.NX]-y1
			return c.DepthCost * length * (d0 + d1) / 2
		}
	}
	var targets []target
	for _, t := range c.Targets {
		if c.open(t.Cell[0], t.Cell[1]) {
			targets = append(targets, target{node: t.Cell[1]*c.NX + t.Cell[0], outlet: -1, min: t.MinInvert})
		}
	}
	return g, targets
}

// startAt begins a pipe at a cell, not above most.
func (g *Search) startAt(node int, st []constraint.Station, most float64) {
	a := compress(st, 0, 0, g.SlopeMin)
	g.Sources = append(g.Sources, Source{At: g.At(node), Start: most})
	g.links = append(g.links, []link{{node, -1, a}})
}

func (c *caseFile) startMost() float64 {
	if c.Start.InvertMax != nil {
		return *c.Start.InvertMax
	}
	return math.Inf(1)
}

// solved is a lattice case with its start.
func (c *caseFile) solved(x changes) (g *Search, targets []target, margin float64) {
	g, targets = c.lattice(x)
	i, j := c.Start.Cell[0], c.Start.Cell[1]
	g.startAt(j*c.NX+i, c.nodes(nil, i, j, 0, x), c.startMost())
	margin, _ = g.forward(0, targets)
	return g, targets, margin
}

func runLattice(t *testing.T, c *caseFile) {
	g, targets, margin := c.solved(asFiled())
	togo := g.reverse(targets, math.Inf(1))
	nodes, _, cost, ok := g.cheapest(0, targets, togo)
	if ok != c.Expected.Feasible || ok != (margin >= -1e-9) {
		t.Fatalf("feasible %v (margin %v), want %v", ok, margin, c.Expected.Feasible)
	}
	if e := c.Expected.Cost; ok && e != nil && math.Abs(cost-*e) > c.tolerance("cost") {
		t.Errorf("cost %.9f, want %.9f (%d nodes)", cost, *e, len(nodes))
	}
	if e := c.Expected.OutletMargin; e != nil && math.Abs(margin-*e) > c.tolerance("outlet_margin") {
		t.Errorf("outlet margin %.9f, want %.9f", margin, *e)
	}
	if e := c.Expected.StartExcess; e != nil {
		lifted := asFiled()
		lifted.liftStart = true
		h, ends := c.lattice(lifted)
		start := c.Start.Cell[1]*c.NX + c.Start.Cell[0]
		own, _ := c.down(c.Start.Cell[0], c.Start.Cell[1], c.startMost())
		if got := h.reverse(ends, math.Inf(1)).need[start] - own; math.Abs(got-*e) > c.tolerance("start_excess") {
			t.Errorf("start excess %.9f, want %.9f", got, *e)
		}
	}
	feasible := func(x changes) bool { _, _, m := c.solved(x); return m >= -1e-9 }
	if e := c.Expected.CoverMargin; e != nil {
		got := lastTrue(-3, 3, func(v float64) bool { x := asFiled(); x.cover = v; return feasible(x) })
		if math.Abs(got-*e) > c.tolerance("cover_margin") {
			t.Errorf("cover margin %.9f, want %.9f", got, *e)
		}
	}
	if e := c.Expected.SMinMax; e != nil {
		got := lastTrue(0, 1, func(v float64) bool { x := asFiled(); x.smin = v; return feasible(x) })
		if math.Abs(got-*e) > c.tolerance("smin_max") {
			t.Errorf("largest slope %.9f, want %.9f", got, *e)
		}
	}
	if e := c.Expected.DMaxNeeded; e != nil {
		got := -lastTrue(-50, 0, func(v float64) bool { x := asFiled(); x.dmax = -v; return feasible(x) })
		if math.Abs(got-*e) > c.tolerance("dmax_needed") {
			t.Errorf("depth needed %.9f, want %.9f", got, *e)
		}
	}
}

// lastTrue is the largest value for which is holds, given that it holds up to
// there and not beyond.
func lastTrue(low, high float64, is func(float64) bool) float64 {
	for range 60 {
		if mid := (low + high) / 2; is(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// continuous is the model of the plane: fields bilinear between centres.
type continuous struct {
	*caseFile
	obstacles []orb.Ring
	strips    []orb.Ring
	// Ceiling, floor and price at the centres, row by row.
	ceiling, floor, prices []float64
}

func newContinuous(c *caseFile) *continuous {
	m := &continuous{caseFile: c}
	for k := range c.NX * c.NY {
		st := c.node(k%c.NX, k/c.NX, asFiled())
		m.ceiling, m.floor = append(m.ceiling, st.Ceiling), append(m.floor, st.Floor)
		m.prices = append(m.prices, c.price(k%c.NX, k/c.NX))
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

// inside returns the stretch of a line in a convex ring as shares; from >= to
// where it stays out or touches.
func inside(r orb.Ring, a, b orb.Point) (from, to float64) {
	from, to = 0, 1
	for k := 1; k < len(r); k++ {
		p, q := r[k-1], r[k]
		l := planar.Distance(p, q)
		s0 := ((q[0]-p[0])*(a[1]-p[1]) - (q[1]-p[1])*(a[0]-p[0])) / l // left of the side is inside
		s1 := ((q[0]-p[0])*(b[1]-p[1]) - (q[1]-p[1])*(b[0]-p[0])) / l
		const edge = 1e-9
		switch {
		case s0 <= edge && s1 <= edge:
			return 1, 0
		case s0 < 0:
			from = math.Max(from, s0/(s0-s1))
		case s1 < 0:
			to = math.Min(to, s0/(s0-s1))
		}
	}
	return from, to
}

// at is a field at a point of the plane.
func (m *continuous) at(field []float64, p orb.Point) float64 {
	x, y := p[0]/m.Cell-0.5, p[1]/m.Cell-0.5
	i, j := min(m.NX-2, max(0, int(x))), min(m.NY-2, max(0, int(y)))
	u, v := x-float64(i), y-float64(j)
	k := j*m.NX + i
	return (field[k]*(1-u)+field[k+1]*u)*(1-v) + (field[k+m.NX]*(1-u)+field[k+m.NX+1]*u)*v
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
	cuts := []float64{0, 1}
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
	type band struct{ from, to, low, high float64 }
	var bands []band
	for k, r := range m.strips {
		if from, to := inside(r, a, b); to > from {
			bands = append(bands, band{from, to, m.UtilityStrips[k].Blocked[0], m.UtilityStrips[k].Blocked[1]})
			cuts = append(cuts, from, to)
		}
	}
	slices.Sort(cuts)
	priced := 0.0
	var sags []float64 // of the ceiling below its chord, stretch by stretch
	first := len(st)
	q := func(t float64) orb.Point { return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }
	for k, s := range cuts {
		p := q(s)
		x := constraint.Free(s*length, m.at(m.ceiling, p), m.at(m.floor, p))
		for _, u := range bands {
			if s >= u.from && s <= u.to {
				x.Low, x.High = math.Min(x.Low, u.low), math.Max(x.High, u.high)
			}
		}
		st = append(st, x)
		if k > 0 { // Simpson's rule is exact on a parabola
			h := s - cuts[k-1]
			mid := q(s - h/2)
			priced += h * length / 6 * (m.at(m.prices, q(cuts[k-1])) + 4*m.at(m.prices, mid) + m.at(m.prices, p))
			sags = append(sags, (m.at(m.ceiling, q(cuts[k-1]))+m.at(m.ceiling, p))/2-m.at(m.ceiling, mid))
		}
	}
	for k, sag := range sags {
		if sag > 0 {
			st[first+k].Ceiling -= sag
			st[first+k+1].Ceiling -= sag
		}
	}
	return st, priced, true
}

// pose makes the search over the plane at a step.
func (m *continuous) pose(step float64, reach int) *Search {
	p := Problem{Reach: reach, SlopeMin: m.SMin, Interior: m.line}
	p.Lattice = Lattice{Origin: orb.Point{m.Cell / 2, m.Cell / 2}, Step: step,
		Cols: int(math.Round(float64(m.NX-1)*m.Cell/step)) + 1, Rows: int(math.Round(float64(m.NY-1)*m.Cell/step)) + 1}
	p.Usable = make([]bool, p.Cols*p.Rows)
	for i := range p.Usable {
		p.Usable[i] = true
		q := p.At(i)
		for _, r := range m.obstacles {
			if planar.RingContains(r, q) && planar.DistanceFrom(orb.LineString(r), q) > 1e-9 {
				p.Usable[i] = false
			}
		}
	}
	g := New(p)
	s := m.Start.Cell
	at := int(math.Round(float64(s[1])*m.Cell/step))*p.Cols + int(math.Round(float64(s[0])*m.Cell/step))
	g.UseEnds(g.EndsAt(m.curb(step)))
	g.startAt(at, m.nodes(nil, s[0], s[1], 0, asFiled()), m.startMost())
	return g
}

// curb lists points along the row of targets, between neighbours too.
func (m *continuous) curb(step float64) (list []Outlet) {
	point := func(k int) orb.Point {
		return orb.Point{(float64(m.Targets[k].Cell[0]) + 0.5) * m.Cell, (float64(m.Targets[k].Cell[1]) + 0.5) * m.Cell}
	}
	reach := 3.1 * step
	for k := range m.Targets {
		list = append(list, Outlet{At: point(k), MinInvert: m.Targets[k].MinInvert, Enter: m.line, Slope: m.SMin, Reach: reach})
		if k+1 == len(m.Targets) || planar.Distance(point(k), point(k+1)) > 1.01*m.Cell {
			continue
		}
		const parts = 4
		for f := 1; f < parts; f++ {
			u := float64(f) / parts
			p, q := point(k), point(k+1)
			list = append(list, Outlet{At: orb.Point{p[0] + u*(q[0]-p[0]), p[1] + u*(q[1]-p[1])},
				MinInvert: m.Targets[k].MinInvert*(1-u) + m.Targets[k+1].MinInvert*u, Enter: m.line, Slope: m.SMin, Reach: reach})
		}
	}
	return list
}

// attempt finds a way at one step and straightens it.
func (m *continuous) attempt(step float64, reach int) (path []orb.Point, cost, margin float64) {
	g := m.pose(step, reach)
	targets := g.targets()
	margin, _ = g.forward(0, targets)
	if margin < -admit {
		return nil, 0, margin
	}
	nodes, end, ok := g.shortest(0, targets, g.reverse(targets, math.Inf(1)))
	if !ok {
		return nil, 0, margin
	}
	for _, n := range nodes {
		path = append(path, g.At(n))
	}
	o := g.Outlets[targets[end].outlet]
	path = append(path, o.At)
	path, cost = m.refined(path, o)
	return path, cost, margin
}

// refined moves a way's points freely.
func (m *continuous) refined(path []orb.Point, end Outlet) ([]orb.Point, float64) {
	var plan Plan
	for k, p := range path {
		plan = append(plan, Point{Vertex{p, k + 1, -1, -1}, math.NaN()})
	}
	last := len(plan) - 1
	plan[0].Source, plan[last].Outlet, plan[last].Next = 0, 0, -1
	plan[last].Along = m.along(end.At)
	rules := Rules{
		Start:  func(int) float64 { return m.startMost() },
		Line:   func(int, int, float64) (constraint.Line, float64) { return m.line, m.SMin },
		Outlet: func(_ int, s float64) (orb.Point, float64, bool) { return m.onCurb(s) },
		Turn:   func(_, _, _ orb.Point, _ bool) float64 { return 0 },
	}
	cost := math.Inf(1)
	for _, split := range []float64{4, 2, 1} {
		rules.Split = split * m.Cell
		plan, cost = Refine(context.Background(), plan, rules, 1.5*m.Cell)
	}
	path = path[:0]
	for v := slices.IndexFunc(plan, func(s Point) bool { return s.Source == 0 }); v >= 0; v = plan[v].Next {
		path = append(path, plan[v].At)
	}
	return path, cost
}

// target is the point of target k.
func (m *continuous) target(k int) orb.Point {
	return orb.Point{(float64(m.Targets[k].Cell[0]) + 0.5) * m.Cell, (float64(m.Targets[k].Cell[1]) + 0.5) * m.Cell}
}

// along is the station of a point of the row of targets, from the first one.
func (m *continuous) along(p orb.Point) float64 { return planar.Distance(m.target(0), p) }

// onCurb is the point of the row at a station and the invert asked for there.
func (m *continuous) onCurb(s float64) (orb.Point, float64, bool) {
	for k := range m.Targets {
		p := m.target(k)
		s0 := m.along(p)
		if math.Abs(s-s0) < 1e-12 {
			return p, m.Targets[k].MinInvert, true
		}
		if k+1 == len(m.Targets) || s < s0 {
			break
		}
		q := m.target(k + 1)
		if s1 := m.along(q); s < s1 && s1-s0 <= 1.01*m.Cell {
			u := (s - s0) / (s1 - s0)
			return orb.Point{p[0] + u*(q[0]-p[0]), p[1] + u*(q[1]-p[1])}, m.Targets[k].MinInvert*(1-u) + m.Targets[k+1].MinInvert*u, true
		}
	}
	return orb.Point{}, 0, false
}

func runContinuous(t *testing.T, c *caseFile) {
	m := newContinuous(c)
	path, cost, margin := m.attempt(c.Cell, 4)
	for _, finer := range []float64{2, 4} {
		if path != nil || margin < -nearlyThere || math.IsInf(margin, -1) && finer > 2 {
			break
		}
		path, cost, margin = m.attempt(c.Cell/finer, 4)
	}
	if feasible := path != nil; feasible != c.Expected.Feasible {
		t.Fatalf("feasible %v (margin %.4f), want %v", feasible, margin, c.Expected.Feasible)
	}
	if path == nil {
		return
	}
	if err := m.walk(path); err != nil {
		t.Error(err)
	}
	best, lower := c.Expected.BestKnown, c.Expected.LowerBound
	if e := c.Expected.Cost; e != nil {
		best, lower = e, e
	}
	if best != nil {
		above := cost / *best - 1
		t.Logf("cost %.4f, %.3f %% above the best known", cost, 100*above)
		if above > farthestAbove {
			t.Errorf("cost %.4f, more than %g above the best known %.4f", cost, farthestAbove, *best)
		}
		c.above = above
	}
	if lower != nil && cost < *lower-c.tolerance("cost") {
		t.Errorf("cost %.6f is below the bound %.6f", cost, *lower)
	}
}

// A route in the plane may cost this share more than the best known: one of
// them, and their mean.
const (
	farthestAbove = 0.004
	meanAbove     = 0.001
)

// nearlyThere is the missing height up to which a finer lattice is tried, m.
const nearlyThere = 0.03

// walk re-proves a way in centimetres by the highest profile.
func (m *continuous) walk(path []orb.Point) error {
	y, first := m.startMost(), true
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
			y = math.Min(y, m.at(m.ceiling, p))
			for q, r := range m.strips {
				in := planar.RingContains(r, p)
				if u := m.UtilityStrips[q].Blocked; in && y > u[0] && y < u[1] {
					y = u[0]
				}
			}
			if floor := m.at(m.floor, p); y < floor-1e-4 {
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
	landing, need, ok := m.onCurb(m.along(end))
	if !ok || planar.Distance(landing, end) > 1e-9 {
		return fmt.Errorf("the way ends at %v, not at the curb", end)
	}
	if y < need-1e-4 {
		return fmt.Errorf("the invert at the end is %.5f, %.5f is asked", y, need)
	}
	return nil
}
