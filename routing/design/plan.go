package design

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"curbfall/routing/search"
)

// planned is a plan found on the lattice: one system, or several side by side
// with an outlet each.
type planned struct {
	list   []search.Vertex
	made   []attempt // what each vertex's system was searched with
	bore   int       // smallest searched with
	step   float64   // of the lattice, m
	length float64   // m of pipe
	price  float64   // m of plain pipe
}

// add lays a system found by an attempt beside the others.
func (p *planned) add(x search.Joined, a attempt) {
	first := len(p.list)
	if first == 0 || a.bore < p.bore {
		p.bore = a.bore
	}
	p.step, p.price = a.step, p.price+x.Price
	for _, v := range x.Vertices {
		if v.Next >= 0 {
			p.length += distance(v.At, x.Vertices[v.Next].At)
			v.Next += first
		}
		p.list, p.made = append(p.list, v), append(p.made, a)
	}
}

// chosen is the plan as a tree over outlets of its own, in d.used.
func (d *job) chosen(p *planned) tree {
	d.used = nil
	t := make(tree, len(p.list))
	for v, x := range p.list {
		t[v] = vertex{at: x.At, next: x.Next, inflow: x.Source, outlet: x.Outlet}
		if x.Outlet >= 0 {
			o := d.outlet(x.Outlet)
			o.bore, o.hole, o.holeFlow = p.made[v].bore, p.made[v].hole, p.made[v].holeFlow
			d.used = append(d.used, o)
			t[v].outlet = len(d.used) - 1
		}
		if x.Source >= 0 {
			d.in[x.Source].Status = Served
		}
	}
	return t
}

// firstPlan returns the plan of the first attempt that leads at least so many
// inflows to one outlet: one steep enough for all their flow, else any. Where
// none does it is the plan that leads most, nil where none leads more than beyond.
func (d *job) firstPlan(ctx context.Context, step float64, least, beyond int) (*planned, error) {
	p, all := &planned{}, everyOf(len(d.in))
	if err := d.beside(ctx, p, d.attempts(step, d.flowOf(all)), all, least, beyond); err != nil || len(p.list) == 0 {
		return nil, err
	}
	return p, nil
}

// laid refines a plan and lays it with turns that bends and wyes that are sold
// make; where that leaves no room for straight grades, or drains far less well, with
// turns as they come; where that leaves none either, the plan as found.
func (d *job) laid(ctx context.Context, p *planned) (*layer, error) {
	free := d.refined(ctx, d.chosen(p), p)
	used := d.used
	best, err := d.lay(d.fitted(ctx, free, p), 0)
	if err == nil && best.leftOver() == 0 && best.overRims() == 0 {
		return best, nil
	}
	usedFitted := d.used
	d.used = used
	if l, e := d.lay(free, 0); e == nil && (err != nil || l.drainsMuchBetter(best)) {
		return l, nil
	}
	if err == nil {
		d.used = usedFitted
		return best, nil
	}
	return d.lay(d.chosen(p), 0)
}

// outletPrice is what one more outlet at the curb costs, in metres of plain pipe:
// a hole through the curb, its permit, a panel of the walk. Ours, common practice,
// no source.
const outletPrice = 10

// apart is a plan of two systems where that is cheaper than the one with one
// outlet, or than two that one inflow after the other came to, else that one. Only
// divisions that look shorter are searched.
func (d *job) apart(ctx context.Context, p *planned) (*planned, error) {
	n := max(2, p.outlets())
	if !d.mayDivide() || d.criteria.Limits.OutletsMax < n {
		return p, nil
	}
	all, more := p.sources(), outletPrice*float64(n-p.outlets())
	q, err := d.divided(ctx, p.step, all, d.divisions(p, n, math.Inf(1), p.price-more), p.made[0].capacity())
	if err == nil && q != nil && q.price+more < p.price {
		return q, nil
	}
	return p, err
}

// spread lays the plan with the fewest outlets that keeps the grade line below
// the rims and leaves nothing of the design flow over, else the one that comes
// nearest; p is the plan with one outlet, or with two where that is cheaper. Where
// outlets are drawn it has these, their pipes to a curb as steep as can be.
func (d *job) spread(ctx context.Context, p *planned) (*layer, error) {
	best, err := d.laidBelowRims(ctx, p)
	if err != nil || d.out[0].curb == nil {
		return best, err
	}
	used, plan := d.used, p
	full := func() bool { return best.leftOver() == 0 && best.overRims() == 0 }
	for n := max(2, p.outlets()); d.mayDivide() && n <= d.criteria.Limits.OutletsMax && !full(); n++ {
		found := false
		for _, x := range []struct {
			capacity bool
			share    float64
			last     bool // where the others come to no plan
		}{{true, math.Inf(1), false}, {true, evenShare, false}, {false, evenShare, false}, {false, math.Inf(1), true}} {
			if x.last && found {
				break
			}
			q, err := d.divided(ctx, p.step, p.sources(), d.divisions(p, n, x.share, math.Inf(1)), x.capacity)
			if err != nil {
				return nil, err
			}
			if q == nil {
				continue
			}
			l, err := d.laidBelowRims(ctx, q)
			found = found || err == nil
			if err == nil && l.drainsBetter(best) {
				best, used, plan = l, d.used, q
			}
			if full() {
				break
			}
		}
	}
	d.used = used
	if best.leftOver() > 0 {
		return d.laidSteeper(ctx, best, plan)
	}
	return best, ctx.Err()
}

// withLeftOut is a plan of two systems, one of them for the inflows able to get
// out that p leaves out, which its pipes shut in: beside p, or laid before the
// others; nil where both fail.
func (d *job) withLeftOut(ctx context.Context, p *planned, step float64, able []int) (*planned, error) {
	if !d.mayDivide() || p.outlets() >= d.criteria.Limits.OutletsMax {
		return nil, nil
	}
	served := p.sources()
	var left []int
	for _, i := range able {
		if !slices.Contains(served, i) {
			left = append(left, i)
		}
	}
	after, before := *p, planned{}
	after.list, after.made = slices.Clone(p.list), slices.Clone(p.made)
	for _, x := range []struct {
		plan  *planned
		parts [][]int
	}{{&after, [][]int{left}}, {&before, [][]int{left, served}}} {
		for _, part := range x.parts {
			if err := d.beside(ctx, x.plan, d.attemptsOf(step, part, false), part, len(part), len(part)); err != nil {
				return nil, err
			}
		}
		if len(x.plan.sources()) == len(able) {
			return x.plan, nil
		}
	}
	return nil, nil
}

// outlets is how many a plan has.
func (p *planned) outlets() (n int) {
	for _, v := range p.list {
		if v.Outlet >= 0 {
			n++
		}
	}
	return n
}

// sources lists the inflows a plan takes in, in rising order.
func (p *planned) sources() (list []int) {
	if p == nil {
		return nil
	}
	for _, v := range p.list {
		if v.Source >= 0 {
			list = append(list, v.Source)
		}
	}
	slices.Sort(list)
	return list
}

// mayDivide tells whether the lot may have more than one outlet: holes through
// the curb where no outlet is given.
func (d *job) mayDivide() bool { return d.out[0].curb != nil && d.out[0].id == "" }

// beside adds the system of the first of some attempts that leads at least so many of
// some inflows to an outlet, across no other system; where none does, of the one
// that leads most, more than beyond. An attempt with height for fewer is not made
// before it is wanted.
func (d *job) beside(ctx context.Context, p *planned, attempts []attempt, inflows []int, least, beyond int) error {
	tries := make([]search.Joined, len(attempts))
	for k, a := range attempts {
		var err error
		if tries[k], err = d.joined(ctx, a, inflows, p, least); err != nil {
			return err
		}
		if tries[k].Served() >= least {
			p.add(tries[k], a)
			return nil
		}
	}
	best, most := -1, beyond
	order := everyOf(len(attempts))
	slices.SortStableFunc(order, func(i, j int) int { return tries[j].Most - tries[i].Most })
	for _, k := range order {
		if tries[k].Most < most || tries[k].Most == most && k > best {
			continue // at best as many, by a later attempt
		}
		if tries[k].Vertices == nil {
			var err error
			if tries[k], err = d.joined(ctx, attempts[k], inflows, p, max(1, most)); err != nil {
				return err
			}
		}
		if n := tries[k].Served(); n > most || n == most && k < best {
			best, most = k, n
		}
	}
	if best >= 0 {
		p.add(tries[best], attempts[best])
	}
	return nil
}

// joined is the system that an attempt finds for some inflows beside the systems
// of p; none where it has no height for so many as least, or where its pipes lie
// across others.
func (d *job) joined(ctx context.Context, a attempt, inflows []int, p *planned, least int) (search.Joined, error) {
	g := d.searchBeside(a, p.list)
	g.Among(inflows, p.list)
	defer g.Among(nil, nil)
	x, err := g.Join(ctx, least)
	q := *p
	if q.add(x, a); err == nil && len(p.list) > 0 && search.Tangled(q.list) {
		x = search.Joined{Most: x.Most}
	}
	return x, err
}

// outletsApart is how far from another outlet a hole through the curb must
// stand, m, from middle to middle: 4 in of curb between two holes of 4 in,
// Kogarah (New South Wales).
const outletsApart = 0.2

// searchBeside is the search of an attempt without the outlets too near to
// those other systems use.
func (d *job) searchBeside(a attempt, others []search.Vertex) *search.Search {
	g := d.search(a)
	var taken []orb.Point
	for _, v := range others {
		if v.Outlet >= 0 {
			taken = append(taken, v.At)
		}
	}
	if len(taken) > 0 {
		outlets := slices.Clone(g.Outlets)
		for i, o := range outlets {
			if slices.ContainsFunc(taken, func(p orb.Point) bool { return distance(p, o.At) < outletsApart }) {
				outlets[i].MinInvert = math.Inf(1) // none ends there
			}
		}
		g.Outlets = outlets
	}
	return g
}
