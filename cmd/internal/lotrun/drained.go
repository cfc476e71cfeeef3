package lotrun

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/depression"
	"curbfall/terrain/storm"
)

// drainage is a design's drains in the surface.
type drainage struct {
	*water
	site   *constraint.Site
	intake *design.Intake
	dish   float64          // depth of water that runs over a drain, m
	tree   *depression.Tree // with the drains as sinks
}

// drain puts the drains of a design in the surface.
func (w *water) drain(site *constraint.Site, c design.Criteria, d *design.Result) *drainage {
	var cells []int
	for _, in := range w.rainOn(site, c.Storm, d).inflows {
		if in.open() && in.served() {
			cells = append(cells, in.cell)
		}
	}
	return &drainage{water: w, site: site, intake: d.Intake(c), dish: c.Grates.Dish, tree: depression.Build(w.surface, cells)}
}

// downpour is a storm on the drained surface, to be settled with all drains
// working or one of them clogged.
type downpour struct {
	*drainage
	rain    *rain
	pouring *storm.Pouring
	drains  []inflow // those the water can come to, in the order of the pouring's
	count   int      // of the design's inflows
}

// pour lets a storm come down. Served downspouts let nothing out yet.
func (d *drainage) pour(r *rain, inflows int) (p *downpour, err error) {
	p = &downpour{drainage: d, rain: r, count: inflows}
	water := storm.Water{Runoff: r.runoff(d.water)}
	water.Deliveries = d.redirect(r, &water)
	for _, f := range r.inflows {
		switch {
		case !f.served():
			water.Deliveries = append(water.Deliveries, r.deliveries(&f)...)
		case f.open() && f.served() && d.tree.Of[f.cell] != depression.None:
			p.drains = append(p.drains, f)
			water.Drains = append(water.Drains, storm.Drain{Cell: f.cell})
		}
	}
	p.pouring, err = storm.Pour(d.tree, water)
	return p, err
}

// redirect lets the water that channel drains have come down at their lower
// ends.
func (d *drainage) redirect(r *rain, water *storm.Water) (list []storm.Delivery) {
	if !slices.ContainsFunc(r.inflows, func(f inflow) bool { return f.channel() }) {
		return nil
	}
	by, all := d.caught(r, d.site), water.Runoff
	volume := make([]float64, len(r.inflows))
	for i, k := range by {
		if k >= 0 {
			volume[k] += all(i) * d.surface.CellArea()
		}
	}
	for k, v := range volume {
		if v > 0 {
			list = append(list, storm.Delivery{Cell: r.inflows[k].cell, Volume: v})
		}
	}
	water.Runoff = func(i int) float64 {
		if by[i] >= 0 {
			return 0
		}
		return all(i)
	}
	return list
}

// noneClogged stands for a storm in which all drains work.
const noneClogged = -1

// settled is a storm come to rest with the drains in.
type settled struct {
	*storm.Result
	taken []float64 // m3/s by inflow of the design, the storm's mean; below 0 what comes out
	over  []float64 // elevation of the water over each drain of the downpour, m
}

// marchSteps is how many steps a storm is gone through in. A pond of 2 to 200 m2
// under 2 to 15 L/s then stands within 6 % of where a thousand steps have it; in
// one step up to 22 % too low.
const marchSteps = 5

// settle finds what each drain takes while the storm lasts and where the rest
// stands. clogged is the place of a drain in the downpour that takes nothing.
func (p *downpour) settle(clogged int) (*settled, error) { return p.march(clogged, marchSteps) }

// march goes through the storm in steps.
func (p *downpour) march(clogged, steps int) (*settled, error) {
	sum := make([]float64, p.count)
	for n := 1; n <= steps; n++ {
		m := &moment{downpour: p, pouring: p.pouring.Share(float64(n) / float64(steps)), elapsed: p.rain.duration * float64(n) / float64(steps), before: sum, steps: float64(n)}
		taken, err := m.taken(clogged)
		if err != nil {
			return nil, err
		}
		for i, t := range taken {
			sum[i] += t
		}
	}
	s := &settled{taken: sum}
	for i := range sum {
		sum[i] /= float64(steps)
	}
	capacity, more := p.split(s.taken, p.rain.duration)
	var err error
	if s.over, _, err = p.pouring.Levels(capacity, more); err != nil {
		return nil, err
	}
	s.Result, err = p.pouring.Settle(capacity, more)
	return s, err
}

// moment is the end of a step of a storm.
type moment struct {
	*downpour
	pouring *storm.Pouring // what has come down
	elapsed float64        // s
	before  []float64      // the rates taken in the steps before, summed, m3/s by inflow
	steps   float64        // so far, this one included
}

// mean is what has been taken on the mean with so much taken in this step, m3/s.
func (m *moment) mean(taken []float64) []float64 {
	mean := make([]float64, len(taken))
	for i, t := range taken {
		mean[i] = (m.before[i] + t) / m.steps
	}
	return mean
}

// taken finds what each inflow takes in this step, m3/s. A drain takes what its
// grate, half clogged, and the pipes let go with the water over it as it stands at
// the step's end; what it takes lowers that water, so the two are found together.
func (m *moment) taken(clogged int) ([]float64, error) {
	most := make([]float64, m.count)
	for _, f := range m.rain.inflows {
		if !f.open() && f.served() {
			most[f.place] = f.flow
		}
	}
	highest, _, err := m.pouring.Levels(m.split(m.mean(make([]float64, m.count)), m.elapsed))
	if err != nil {
		return nil, err
	}
	for k, f := range m.drains {
		if k != clogged {
			most[f.place] = m.intake.Lets(f.place, math.Max(highest[k], f.Rim+m.dish))
		}
	}
	var failed error
	taken, err := m.intake.Taken(most, func(place int, taken []float64) float64 {
		for k, f := range m.drains {
			if f.place == place {
				over, err := m.level(k, taken)
				failed = errors.Join(failed, err)
				return over
			}
		}
		return math.Inf(-1)
	})
	return taken, errors.Join(err, failed)
}

// allCame is the share of what a drain could take that must come to it for the
// dish's depth to stand over it: all, but for rounding.
const allCame = 1 - 1e-9

// level is the elevation of the water over a drain of the downpour with so much
// taken at each inflow in this step. The dish's depth runs over a drain as far as
// water comes to it at all.
func (m *moment) level(k int, taken []float64) (float64, error) {
	capacity, more := m.split(m.mean(taken), m.elapsed)
	levels, drained, err := m.pouring.Levels(capacity, more)
	if err != nil {
		return 0, err
	}
	if f := &m.drains[k]; drained[k] >= allCame*capacity[k] {
		return math.Max(levels[k], f.Rim+m.dish), nil
	}
	return levels[k], nil
}

// split is what the drains swallow of what is taken in a time, m3, and what comes
// out on the ground: at downspouts and rims what does not fit, at an emitter or a
// daylight end all that was taken.
func (p *downpour) split(taken []float64, time float64) (capacity []float64, more []storm.Delivery) {
	out := func(cell int, flow float64) {
		if flow > 0 {
			more = append(more, storm.Delivery{Cell: cell, Volume: flow * time})
		}
	}
	for _, f := range p.rain.inflows {
		if !f.served() {
			continue
		}
		if f.open() {
			out(f.cell, -taken[f.place])
		} else {
			out(f.cell, f.flow-taken[f.place])
		}
	}
	for _, b := range p.returned(taken) {
		out(b.cell, b.flow)
	}
	for _, f := range p.drains {
		capacity = append(capacity, math.Max(0, taken[f.place])*time)
	}
	return capacity, more
}

// back is water that a design lets out on the ground again.
type back struct {
	outlet string // id
	cell   int
	flow   float64 // m3/s
}

// returned is what outlets let out in the yard. What goes through the curb or
// into a storm inlet is the street's.
func (d *drainage) returned(taken []float64) (list []back) {
	for _, x := range d.intake.Discharges(taken) {
		if cell, known := d.cellAt(x.At); known && (x.Type == constraint.Emitter || x.Type == constraint.Daylight) {
			list = append(list, back{x.ID, cell, x.Flow})
		}
	}
	return list
}

// letOut says what outlets let out in the yard and where that runs.
func (y *yard) letOut(d *drainage, taken []float64) (says []string) {
	for _, b := range d.returned(taken) {
		says = append(says, fmt.Sprintf("%s lets %.2f L/s out on the ground: %s", b.outlet, b.flow*1000, y.way(b.cell, y.at[b.cell])))
	}
	return says
}

// steady is what each inflow takes, m3/s, while the last pipes carry most, were the
// storm to last: every low spot brim full.
func (d *drainage) steady(r *rain, inflows int) ([]float64, error) {
	most, brim := make([]float64, inflows), make([]float64, inflows)
	for _, f := range r.inflows {
		brim[f.place] = math.Inf(-1)
		if !f.served() {
			continue
		}
		most[f.place] = f.peak
		if f.open() {
			brim[f.place] = d.brim(&f)
		}
	}
	return d.intake.Taken(most, func(place int, _ []float64) float64 { return brim[place] })
}

// brim is the elevation of the water over a drain whose low spot is brim full, or
// whose dish is where that is higher.
func (d *drainage) brim(f *inflow) float64 {
	if spot := d.at[f.cell]; spot >= 0 {
		return math.Max(d.spots[spot].SpillElevation, f.Rim+d.dish)
	}
	return f.Rim + d.dish
}
