package search

import (
	"cmp"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

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
	least float64 // price of the cheapest metre, where below one; 0: not below
}

// price1 is what costs are divided by: a Problem knows no metre cheaper than one.
func (c *caseFile) price1() float64 {
	if c.least > 0 {
		return c.least
	}
	return 1
}

// cheapestMetre notes the least price where it is below one.
func (c *caseFile) cheapestMetre() {
	least := 1.0
	for _, row := range c.Unit {
		least = math.Min(least, slices.Min(row))
	}
	if least < 1 {
		c.least = math.Max(least, 1e-6)
	}
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
			c.cheapestMetre()
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
	return c.Unit[j][i] / c.price1()
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
			return c.BendCost / c.price1() * turn / (math.Pi / 4), turn <= math.Pi/2+1e-9
		}
	}
	if c.DepthCost > 0 {
		g.Depth = func(from, to int, y0, y1, length float64) float64 {
			d0, d1 := c.Ground[from/c.NX][from%c.NX]-y0, c.Ground[to/c.NX][to%c.NX]-y1
			return c.DepthCost / c.price1() * length * (d0 + d1) / 2
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
	if !c.open(i, j) {
		g.Sources, g.links = append(g.Sources, Source{At: g.At(j*c.NX + i)}), append(g.links, nil)
		return g, targets, math.Inf(-1)
	}
	g.startAt(j*c.NX+i, c.nodes(nil, i, j, 0, x), c.startMost())
	margin, _ = g.forward(0, targets)
	return g, targets, margin
}

func runLattice(t *testing.T, c *caseFile) {
	g, targets, margin := c.solved(asFiled())
	togo := g.reverse(targets, math.Inf(1))
	nodes, _, cost, ok := g.cheapest(0, targets, togo)
	cost *= c.price1()
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
		i, j := c.Start.Cell[0], c.Start.Cell[1]
		own, _ := c.down(i, j, c.startMost())
		// A start that is a target has no arc that tells of its floor.
		at := compress(c.nodes(nil, i, j, 0, lifted), 0, 0, c.SMin)
		need, _ := at.up(h.reverse(ends, math.Inf(1)).need[j*c.NX+i], c.SMin)
		if got := need - own; math.Abs(got-*e) > c.tolerance("start_excess") {
			t.Errorf("start excess %.9f, want %.9f", got, *e)
		}
	}
	c.limits(t, func(x changes) bool { _, _, m := c.solved(x); return m >= -1e-9 })
}

// limits checks how far limits may go that the case has numbers for, given whether
// it is feasible under some: it is short of where they end and not beyond.
func (c *caseFile) limits(t *testing.T, feasible func(changes) bool) {
	t.Helper()
	for _, l := range []struct {
		key    string
		want   *float64
		least  float64
		change func(x *changes, v float64)
		beyond float64 // the direction in which it ends being feasible
	}{
		{"cover_margin", c.Expected.CoverMargin, math.Inf(-1), func(x *changes, v float64) { x.cover = v }, 1},
		{"smin_max", c.Expected.SMinMax, 0, func(x *changes, v float64) { x.smin = v }, 1},
		{"dmax_needed", c.Expected.DMaxNeeded, 0, func(x *changes, v float64) { x.dmax = v }, -1},
	} {
		if l.want == nil {
			continue
		}
		for _, side := range []float64{-1, 1} {
			v := *l.want + side*c.tolerance(l.key)
			if v < l.least {
				continue
			}
			x := asFiled()
			l.change(&x, v)
			if got, want := feasible(x), side != l.beyond; got != want {
				t.Errorf("%s is %.9f within %g, but at %.9f feasible is %v", l.key, *l.want, c.tolerance(l.key), v, got)
			}
		}
	}
}
