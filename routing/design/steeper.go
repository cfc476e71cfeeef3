package design

import (
	"context"
	"slices"
)

// steeperRounds halves the flow that an outlet pipe may be laid steep enough for
// down to a thirtieth: what is left is height for bends and whole millimetres.
const steeperRounds = 5

// laidSteeper is a plan of the same systems with outlet pipes as steep as still
// lets every inflow in, where that carries much more of the design flow than
// best, the layer of p; else that one. A plan that asks less of its outlet pipes
// is shorter, and may end where there is no height to lay them steeper.
func (d *job) laidSteeper(ctx context.Context, best *layer, p *planned) (*layer, error) {
	used := d.used
	q, err := d.steeper(ctx, p)
	if err != nil {
		return nil, err
	}
	if q != nil && best.leftOver()-d.promisedOver(q) > muchFlow*best.totalFlow() {
		if l, err := d.laidBelowRims(ctx, q); err == nil && l.drainsMuchBetter(best) {
			return l, nil
		}
	}
	d.used = used
	return best, ctx.Err()
}

// promisedOver is how much of the design flow the outlet pipes of a plan are not
// laid steep enough for, m3/s.
func (d *job) promisedOver(p *planned) (over float64) {
	for _, s := range p.systems() {
		over += d.flowOf(s.inflows) - s.made.holeFlow
	}
	return over
}

// steeper is the plan with the systems of p, each with its outlet pipe as steep
// as can be; nil where none is found.
func (d *job) steeper(ctx context.Context, p *planned) (*planned, error) {
	q := &planned{}
	for _, s := range p.systems() {
		a, err := d.steepest(ctx, s, q)
		if err != nil {
			return nil, err
		}
		x, err := d.joined(ctx, a, s.inflows, q, len(s.inflows))
		if err != nil || x.Served() < len(s.inflows) {
			return nil, err
		}
		q.add(x, a)
	}
	return q, nil
}

// steepest is the attempt of a system with its outlet pipe steep enough for as
// much of its flow as still lets each inflow in, beside the systems of p.
func (d *job) steepest(ctx context.Context, s system, p *planned) (attempt, error) {
	try := func(flow float64) (bool, error) {
		a := s.made
		a.holeFlow = flow
		g := d.searchBeside(a, p.list)
		g.Among(s.inflows, p.list)
		defer g.Among(nil, nil)
		defer delete(d.posed[posing{a.bore, a.step}].ends, d.endingOf(a)) // asked for once
		verdicts, err := g.Verdicts(ctx)
		return err == nil && !slices.ContainsFunc(s.inflows, func(i int) bool { return !verdicts[i].Feasible }), err
	}
	a := s.made
	high := d.flowOf(s.inflows)
	if ok, err := try(high); ok || err != nil {
		a.holeFlow = high
		return a, err
	}
	for range steeperRounds {
		mid := (a.holeFlow + high) / 2
		switch ok, err := try(mid); {
		case err != nil:
			return a, err
		case ok:
			a.holeFlow = mid
		default:
			high = mid
		}
	}
	return a, nil
}

// system is a part of a plan that leads to one outlet.
type system struct {
	inflows []int
	made    attempt
}

// systems lists the systems of a plan as they were added.
func (p *planned) systems() (list []system) {
	at := map[int]int{} // by vertex of the outlet
	for v, x := range p.list {
		if x.Outlet >= 0 {
			at[v] = len(list)
			list = append(list, system{made: p.made[v]})
		}
	}
	for v, x := range p.list {
		if x.Source < 0 {
			continue
		}
		for p.list[v].Next >= 0 {
			v = p.list[v].Next
		}
		s := &list[at[v]]
		s.inflows = append(s.inflows, x.Source)
	}
	return list
}
