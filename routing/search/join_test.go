package search

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// randomNetwork draws a small lattice with two or three sources and a row of
// targets, its corridor narrow enough to bind.
func randomNetwork(rng *rand.Rand) *caseFile {
	c := randomCase(rng)
	c.Unit, c.BendCost, c.DepthCost = nil, 0, 0 // networks know no prices
	c.OutletCost = []float64{0, 0, 0.7, 3}[rng.IntN(4)]
	for len(c.Sources) < 2+rng.IntN(2) {
		cell := [2]int{rng.IntN(c.NX), rng.IntN(c.NY)}
		if c.open(cell[0], cell[1]) {
			c.Sources = append(c.Sources, struct{ Cell [2]int }{cell})
		}
	}
	return c
}

// plainNetworks is every network there is: a plain list of trees, each source's
// way any simple path to a tree or an outlet, by the case model's own words.
type plainNetworks struct {
	*caseFile
	targets []target
	outlets int
	next    map[[2]int][2]int // outflow of each cell; itself: to the outlet
	best    float64
}

// every lays source k by all its ways, then the sources after it.
func (p *plainNetworks) every(k int, spent float64) {
	if spent >= p.best {
		return
	}
	if k == len(p.Sources) {
		if p.holds() {
			p.best = spent
		}
		return
	}
	p.step(k, p.Sources[k].Cell, spent)
}

func (p *plainNetworks) step(k int, at [2]int, spent float64) {
	if _, laid := p.next[at]; laid {
		p.every(k+1, spent)
		return
	}
	for _, x := range p.targets {
		if x.node == at[1]*p.NX+at[0] {
			p.next[at] = at
			p.every(k+1, spent+p.OutletCost)
			delete(p.next, at)
		}
	}
	for dj := -1; dj <= 1; dj++ {
		for di := -1; di <= 1; di++ {
			to := [2]int{at[0] + di, at[1] + dj}
			if to == at || !p.open(to[0], to[1]) || !p.open(at[0], to[1]) || !p.open(to[0], at[1]) || p.upstream(to, at) {
				continue
			}
			p.next[at] = to
			p.step(k, to, spent+p.Cell*math.Hypot(float64(di), float64(dj)))
			delete(p.next, at)
		}
	}
}

// upstream tells whether water at a cell runs through another.
func (p *plainNetworks) upstream(from, through [2]int) bool {
	for at := from; ; {
		if at == through {
			return true
		}
		to, laid := p.next[at]
		if !laid || to == at {
			return false
		}
		at = to
	}
}

// holds walks every source down; a cell's invert is the lowest of all that come
// to it, so cells are walked as often as there are cells, until nothing changes.
func (p *plainNetworks) holds() bool {
	high := map[[2]int]float64{}
	lower := func(c [2]int, y float64) bool {
		if old, ok := high[c]; ok && old <= y {
			return false
		}
		high[c] = y
		return true
	}
	for _, s := range p.Sources {
		y, ok := p.down(s.Cell[0], s.Cell[1], math.Inf(1))
		if !ok {
			return false
		}
		lower(s.Cell, y)
	}
	for changed := true; changed; {
		changed = false
		for a, b := range p.next {
			y, ok := high[a]
			if !ok || a == b {
				continue
			}
			length := p.Cell * math.Hypot(float64(b[0]-a[0]), float64(b[1]-a[1]))
			if y, ok = p.down(b[0], b[1], y-p.SMin*length); !ok {
				return false
			}
			changed = lower(b, y) || changed
		}
	}
	used := 0
	for a, b := range p.next {
		if a != b {
			continue
		}
		used++
		for _, x := range p.targets {
			if x.node == a[1]*p.NX+a[0] && high[a] < x.min-1e-9 {
				return false
			}
		}
	}
	return used <= p.outlets
}

// posed is a network case as the search sees it.
func (c *caseFile) posed() (*Search, []target) {
	g, targets := c.lattice(asFiled())
	for _, s := range c.Sources {
		g.startAt(s.Cell[1]*c.NX+s.Cell[0], c.nodes(nil, s.Cell[0], s.Cell[1], 0, asFiled()), math.Inf(1))
	}
	return g, targets
}

// The exact answer is the best of all networks there are, to one outlet and to
// several, on 800 random grids.
func TestEveryNetwork(t *testing.T) {
	rng := rand.New(rand.NewPCG(29, 31))
	joinable, not, several := 0, 0, 0
	for n := range 800 {
		c := randomNetwork(rng)
		g, targets := c.posed()
		outlets := 1 + n%3
		p := &plainNetworks{caseFile: c, targets: targets, outlets: outlets, next: map[[2]int][2]int{}, best: math.Inf(1)}
		p.every(0, 0)
		got := c.network(t, g, targets, outlets)
		all := got.broken == nil && len(got.vertices) > 0
		used := 0
		for _, v := range got.verdicts {
			all = all && v.Served
		}
		for _, v := range got.vertices {
			if v.Outlet >= 0 {
				used++
			}
		}
		if got.broken != nil {
			t.Fatalf("grid %d: %v\n%+v", n, got.broken, c)
		}
		if all == math.IsInf(p.best, 1) || all && math.Abs(got.cost-p.best) > 1e-6 {
			t.Fatalf("grid %d, %d outlets: all served %v at %v, of all networks %v\n%+v", n, outlets, all, got.cost, p.best, c)
		}
		if all {
			joinable++
		} else {
			not++
		}
		if all && used > 1 {
			several++
		}
	}
	if joinable < 300 || not < 100 || several < 30 {
		t.Errorf("%d grids joined (%d to several outlets), %d not: the draw has lost its grip", joinable, several, not)
	}
}

// wideNetwork draws a lot of rolling ground with blocked boxes that falls to a
// row of targets.
func wideNetwork(rng *rand.Rand, nx, ny, sources int) *caseFile {
	c := &caseFile{Cell: 1, NX: nx, NY: ny, Cover: 0.3, OD: 0.1, DMax: 1.3, SMin: 0.005}
	type wave struct{ kx, ky, phase, high float64 }
	var waves []wave
	for range 8 {
		waves = append(waves, wave{rng.NormFloat64() * 0.3, rng.NormFloat64() * 0.3, rng.Float64() * 2 * math.Pi, 0.08 * rng.Float64()})
	}
	for j := range ny {
		var ground []float64
		row := make([]byte, nx)
		for i := range nx {
			z := 10 + 0.012*float64(j)
			for _, w := range waves {
				z += w.high * math.Sin(w.kx*float64(i)+w.ky*float64(j)+w.phase)
			}
			ground, row[i] = append(ground, z), '.'
		}
		c.Ground, c.Blocked = append(c.Ground, ground), append(c.Blocked, string(row))
	}
	for range nx * ny / 150 {
		i, j := rng.IntN(nx-4), 2+rng.IntN(ny-6)
		for r := j; r < j+2+rng.IntN(3); r++ {
			row := []byte(c.Blocked[r])
			for k := i; k < i+4; k++ {
				row[k] = '#'
			}
			c.Blocked[r] = string(row)
		}
	}
	for i := range nx {
		c.Targets = append(c.Targets, struct {
			Cell      [2]int
			MinInvert float64 `json:"min_invert"`
		}{[2]int{i, 0}, 8.9 + 0.2*rng.Float64()})
	}
	for len(c.Sources) < sources {
		cell := [2]int{rng.IntN(nx), ny/4 + rng.IntN(ny-ny/4)}
		if c.open(cell[0], cell[1]) {
			c.Sources = append(c.Sources, struct{ Cell [2]int }{cell})
		}
	}
	c.OutletCost = []float64{0, 3, 8}[rng.IntN(3)]
	return c
}

// solvedBy runs a way of solving on a case and returns what it costs.
func (c *caseFile) solvedBy(t *testing.T, outlets int, how func(n *net) (*forest, error)) *forest {
	t.Helper()
	g, targets := c.posed()
	c.poseOutlets(g, targets, outlets)
	ends := g.targets()
	g.base = g.reverse(ends, g.highestStart())
	g.plan = g.newPlanPrices()
	var wanted []int
	for s := range g.Sources {
		if g.feasible(s, g.base) {
			wanted = append(wanted, s)
		}
	}
	if len(wanted) == 0 {
		return &forest{}
	}
	f, err := how(&net{Search: g, group: g.together(wanted, ends)[0]})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Improvement alone, as larger networks get it, comes close to the exact answer
// where that can be had.
func TestImproveNearExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(37, 41))
	sum, worst, count := 0.0, 0.0, 0
	for n := range 24 {
		c := wideNetwork(rng, 20, 24, 6+n%3)
		outlets := []int{1, len(c.Targets)}[n%2]
		exact := c.solvedBy(t, outlets, func(n *net) (*forest, error) {
			best, err := n.insertion(context.Background())
			if err != nil {
				return nil, err
			}
			n.measure(best)
			f, done, err := n.exchange(context.Background(), best, n.without(best, n.sources), math.MaxInt, 0)
			if f == nil || !done {
				f = best
			}
			return f, err
		})
		f := c.solvedBy(t, outlets, func(n *net) (*forest, error) {
			best, err := n.insertion(context.Background())
			if err != nil {
				return nil, err
			}
			n.measure(best)
			return n.improve(context.Background(), best)
		})
		if exact.in == 0 {
			continue
		}
		gap := f.price/exact.price - 1
		if f.in != exact.in || gap < -1e-9 {
			t.Fatalf("network %d: %d sources for %v, exactly %d for %v", n, f.in, f.price, exact.in, exact.price)
		}
		sum, worst, count = sum+gap, math.Max(worst, gap), count+1
	}
	t.Logf("%d networks: mean %.3f %%, worst %.3f %% above the exact answer", count, 100*sum/float64(count), 100*worst)
	if count < 18 || sum/float64(count) > networkMean || worst > networkWorst {
		t.Errorf("%d networks: mean %.3f %%, worst %.3f %%", count, 100*sum/float64(count), 100*worst)
	}
}

// More effort finds no dearer network, and now and then a cheaper one.
func TestMoreEffort(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 47))
	cheaper := 0
	for k := range 8 {
		c := wideNetwork(rng, 44, 40, 11) // larger than those improved more often anyway
		with := func(effort int) *forest {
			return c.solvedBy(t, 1, func(n *net) (*forest, error) {
				best, err := n.insertion(context.Background())
				if err != nil {
					return nil, err
				}
				n.measure(best)
				n.Effort = effort
				return n.improve(context.Background(), best)
			})
		}
		usual, more := with(1), with(4)
		if more.in < usual.in || more.in == usual.in && more.price > usual.price+1e-9 {
			t.Errorf("network %d: %d sources for %v with more effort, %d for %v with less", k, more.in, more.price, usual.in, usual.price)
		}
		if more.in > usual.in || more.price < usual.price-1e-9 {
			cheaper++
		}
	}
	if cheaper == 0 {
		t.Error("more effort never helps")
	}
	t.Logf("%d of 8 networks are cheaper", cheaper)
}

// Where pipes may not cross, none do, at little cost. On 8 neighbours the
// cheapest never do: at a crossing the higher one would do better to turn along
// a side of the square to the lower one's end. With more neighbours they may, but
// seldom gain by it.
func TestNoneCross(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 47))
	crossed, lost, sum, worst := 0, 0, 0.0, 0.0
	const networks = 60
	for n := range networks {
		c := wideNetwork(rng, 12, 14, 4+n%5)
		c.reach = 2 + n%3
		join := func(mayCross bool) (list []Vertex, length float64, served int) {
			g, targets := c.posed()
			c.poseOutlets(g, targets, 1+n%3)
			g.MayCross = mayCross
			j, err := g.Join(context.Background(), 1)
			if err != nil {
				t.Fatal(err)
			}
			return j.Vertices, c.spent(j.Vertices), j.Served()
		}
		free, least, most := join(true)
		list, length, served := join(false)
		if segmentsMeet(list) {
			t.Fatalf("network %d: pipes cross", n)
		}
		crossed += b2i(segmentsMeet(free))
		if served < most {
			lost++
		} else if most > 0 {
			sum, worst = sum+length/least-1, math.Max(worst, length/least-1)
		}
	}
	t.Logf("%d of %d cross where they may; where not, %d serve fewer, others cost %.3f %% more on the mean, %.2f %% at worst", crossed, networks, lost, 100*sum/networks, 100*worst)
	if lost > networks/50 || sum/networks > networkMean {
		t.Errorf("%d serve fewer, %.3f %% more", lost, 100*sum/networks)
	}
}

// spent is the length of pipe and what its outlets cost.
func (c *caseFile) spent(list []Vertex) (sum float64) {
	for _, v := range list {
		if v.Next >= 0 {
			sum += math.Hypot(v.At[0]-list[v.Next].At[0], v.At[1]-list[v.Next].At[1])
		} else {
			sum += c.OutletCost
		}
	}
	return sum
}

func segmentsMeet(list []Vertex) bool {
	for i, a := range list {
		for j, b := range list[:i] {
			if a.Next < 0 || b.Next < 0 || a.At == list[a.Next].At || b.At == list[b.Next].At {
				continue
			}
			if meets(a.At, list[a.Next].At, b.At, list[b.Next].At) && i != j {
				return true
			}
		}
	}
	return false
}

// The same question has the same answer.
func TestJoinRepeats(t *testing.T) {
	c := wideNetwork(rand.New(rand.NewPCG(53, 59)), 40, 40, 12)
	var first string
	for range 3 {
		g, targets := c.posed()
		if got := fmt.Sprint(c.network(t, g, targets, 4)); first == "" {
			first = got
		} else if got != first {
			t.Fatal("another answer to the same question")
		}
	}
}

// ended is a context that ends after some looks at it.
type ended struct {
	context.Context
	left int
}

func (e *ended) Err() error {
	if e.left--; e.left < 0 {
		return context.Canceled
	}
	return nil
}

// Join stops whenever its context ends, and says so.
func TestJoinStops(t *testing.T) {
	c := wideNetwork(rand.New(rand.NewPCG(61, 67)), 20, 24, 9)
	for _, looks := range []int{0, 1, 5, 20, 60, 100, 150} {
		g, targets := c.posed()
		c.poseOutlets(g, targets, 2)
		_, err := g.Join(&ended{context.Background(), looks}, 1)
		if !errors.Is(err, context.Canceled) {
			t.Errorf("after %d looks: %v", looks, err)
		}
	}
}

// Pipes that cross between nodes or touch are told from those that meet at their
// ends.
func TestCrosses(t *testing.T) {
	c := wideNetwork(rand.New(rand.NewPCG(79, 83)), 8, 8, 1)
	g, targets := c.posed()
	c.poseOutlets(g, targets, 2)
	at := func(i, j int32) int32 { return j*8 + i }
	for _, x := range []struct {
		name  string
		nodes []int32 // of a second way, to the outlet of its column
		want  bool
	}{
		{"across", []int32{at(2, 2), at(1, 1), at(1, 0)}, true},
		{"over a node", []int32{at(1, 1), at(3, 1), at(3, 0)}, true},
		{"beside", []int32{at(3, 2), at(3, 1), at(3, 0)}, false},
		{"end to end", []int32{at(3, 2)}, false},
	} {
		f := &forest{}
		f.add(at(1, 2), 1)
		f.add(at(2, 1), 2)
		f.add(at(2, 0), -1-2)
		for k, node := range x.nodes {
			next := int32(len(f.strands)) + 1
			switch {
			case len(x.nodes) == 1:
				next = 1
			case k == len(x.nodes)-1:
				next = -1 - node
			}
			f.add(node, next)
		}
		if got := g.crosses(f); got != x.want {
			t.Errorf("%s: %v", x.name, got)
		}
	}
}

// Two strands of one node become one, and what came to the higher goes on by
// the lower.
func TestSettleJoinsStrands(t *testing.T) {
	c := &caseFile{Cell: 1, NX: 5, NY: 3, Cover: 0.2, OD: 0.1, DMax: 3, SMin: 0.01}
	for range c.NY {
		c.Ground = append(c.Ground, []float64{10, 10, 10, 10, 10})
	}
	c.Sources = []struct{ Cell [2]int }{{[2]int{0, 2}}, {[2]int{4, 2}}}
	for _, i := range []int{1, 3} {
		c.Targets = append(c.Targets, struct {
			Cell      [2]int
			MinInvert float64 `json:"min_invert"`
		}{[2]int{i, 0}, 9})
	}
	g, targets := c.posed()
	c.poseOutlets(g, targets, 2)
	at := func(i, j int32) int32 { return j*5 + i }
	f := &forest{}
	a := f.add(at(1, 0), -1) // left source: straight across to the left target
	f.add(at(2, 1), a)
	f.add(at(1, 2), 1)
	f.add(at(0, 2), 2)
	f.strands[3].from = []entry{{0, 0}}
	b := f.add(at(3, 0), -2) // right source: through the same middle to the right one
	f.add(at(2, 1), b)
	f.add(at(3, 1), 5)
	f.add(at(4, 2), 6)
	f.strands[7].from = []entry{{1, 0}}
	if !g.settle(f) {
		t.Fatal("it does not hold")
	}
	// Both now end at one outlet: 1 + sqrt 2 and 1 + sqrt 2 to the middle, sqrt 2 on.
	if want := 2 + 3*math.Sqrt2; f.in != 2 || math.Abs(f.price-want) > 1e-9 {
		t.Errorf("%d sources for %v, want %v", f.in, f.price, want)
	}
	list := g.vertices(f)
	if _, err := c.walkTrees(list, targets, 1); err != nil {
		t.Error(err)
	}
}

// benchLattice is 1e4 nodes with 15 sources.
func benchLattice(b *testing.B, reach int, mayCross bool) {
	c := wideNetwork(rand.New(rand.NewPCG(71, 73)), 100, 100, 15)
	c.reach = reach
	for b.Loop() {
		b.StopTimer()
		g, targets := c.posed()
		c.poseOutlets(g, targets, 3)
		g.MayCross = mayCross
		b.StartTimer()
		j, err := g.Join(context.Background(), 1)
		if err != nil || len(j.Vertices) == 0 {
			b.Fatal(err)
		}
		b.ReportMetric(c.spent(j.Vertices), "m")
	}
}

func BenchmarkJoin15(b *testing.B)    { benchLattice(b, 1, true) }
func BenchmarkJoin15Far(b *testing.B) { benchLattice(b, 4, false) }

// benchRoute is one route over a square of side nodes: both sweeps and the exact
// search, which keep arcs or forget them.
func benchRoute(b *testing.B, side int, forget bool) {
	c := wideNetwork(rand.New(rand.NewPCG(83, 89)), side, side, 1)
	c.Sources[0].Cell = [2]int{side / 2, side - 2}
	for j := range c.Ground {
		for i := range c.Ground[j] {
			c.Ground[j][i] += 0.01 * float64(j)
		}
	}
	c.reach, c.forget = 2, forget
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		g, targets := c.posed()
		c.poseOutlets(g, targets, 1)
		b.StartTimer()
		ends := g.targets()
		if v := g.verdict(0, ends); !v.Feasible {
			b.Fatal("no way: ", v.Margin)
		}
		t := g.reverse(ends, g.highestStart())
		if _, _, ok := g.shortest(0, ends, t); !ok {
			b.Fatal("no way")
		}
	}
}

func BenchmarkRoute1e5(b *testing.B)       { benchRoute(b, 316, false) }
func BenchmarkRoute1e5Forget(b *testing.B) { benchRoute(b, 316, true) }
func BenchmarkRoute1e6(b *testing.B)       { benchRoute(b, 1000, true) }
