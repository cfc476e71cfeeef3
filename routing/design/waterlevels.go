package design

import (
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// waterLevels works the grade line of the design storm into the nodes and
// notes what it means; plan, sizes and verdict stay as they are. The error is
// of a pipe that cannot be one, which the law rules out.
func (l *layer) waterLevels(r *Result) error {
	w := pipeworkOf(&l.net, l.criteria.Tailwater)
	reaches := w.reaches()
	grades, err := hydraulics.GradeLine(reaches)
	if err != nil {
		return err
	}
	w.set(reaches, grades)
	if r.Spills, err = w.spills(reaches); err != nil {
		return err
	}
	l.notedRims(r.Spills)
	if slow := longer(&l.net, runsOf(&l.net, w.backedUp(reaches, grades, l.criteria.Limits.VelocityMin))); len(slow) > 0 {
		l.note("water backs up to under %.2f m/s at design flow, where silt stays, from %s", l.criteria.Limits.VelocityMin, named(&l.net, slow))
	}
	for i := range w.Nodes {
		for _, k := range w.arriving[i] {
			if w.Nodes[i].Out < 0 {
				l.outletWater(w, reaches, k)
			}
		}
	}
	return nil
}

// notedRims notes where the design storm leaves less than the freeboard wanted,
// or none, with the share of it that is enough.
func (l *layer) notedRims(spills []Spill) {
	share := map[string]float64{}
	for _, s := range spills {
		share[s.Node] = s.Share
	}
	for i := range l.net.Nodes {
		v := &l.net.Nodes[i]
		over := v.HGL - openLevel(v)
		switch {
		case over > 0 && v.Kind == network.Downspout:
			l.note("%s: in the design storm water stands %.3f m above the ground at %.3f m, from %.0f %% of its flow on: it leaves where the leader meets the drain, unless that joint is tight", v.ID, up(over, millimetre), v.Ground, 100*share[v.ID])
		case over > 0:
			l.note("%s: in the design storm the hydraulic grade line stands %.3f m above its rim at %.3f m, from %.0f %% of its flow on: water comes out there", v.ID, up(over, millimetre), v.Rim, 100*share[v.ID])
		case v.Freeboard < l.criteria.Limits.FreeboardMin:
			l.note("%s: in the design storm the hydraulic grade line stands %.3f m below its rim, less than freeboard_min %.3f m", v.ID, down(v.Freeboard, millimetre), l.criteria.Limits.FreeboardMin)
		}
	}
	if len(spills) > 0 && spills[0].Share < 1 {
		l.note("the first place to overflow is %s, at %.0f %% of the design storm's flow", spills[0].Node, 100*spills[0].Share)
	}
}

// backedUp lists the pipes that the water below slows under the least velocity
// at their lower end, though they would keep it alone. What has yet to gather
// speed at their upper end is none of it.
func (w *pipework) backedUp(reaches []hydraulics.Reach, grades []hydraulics.Grade, velocityMin float64) (pipes []int) {
	for _, k := range hydraulics.SlowReaches(reaches, grades, velocityMin) {
		if w.Pipes[k].Velocity >= velocityMin && grades[k].VelocityDown < velocityMin {
			pipes = append(pipes, k)
		}
	}
	return pipes
}

// outletWater says what stands outside the outlet that pipe k ends at, and what
// that does to it.
func (l *layer) outletWater(w *pipework, reaches []hydraulics.Reach, k int) {
	outlet, given := &w.Nodes[w.Pipes[k].To], w.water
	switch {
	case outlet.OutletType == constraint.CurbFace:
		switch {
		case given.GutterFlow:
			l.assume("%s: the street's water stands at %.3f m in the design storm, %.3f m over the gutter: the flow that runs to it and all that the lot's pipes bring (outlet.tailwater.curb_face)", outlet.ID, outlet.Street, outlet.Street-outlet.Gutter)
		case !constraint.Given(given.CurbFace):
			l.assume("%s: the street's water stands at the top of the curb hole, %.3f m, in the design storm (outlet.tailwater.curb_face)", outlet.ID, reaches[k].Tailwater)
		}
		l.notedHole(w, reaches, k)
	case outlet.OutletType == constraint.StormInlet && !constraint.Given(given.StormInlet):
		l.assume("%s: the storm inlet's water stands at %.3f m, a foot below the ground, in the design storm (outlet.tailwater.storm_inlet)", outlet.ID, reaches[k].Tailwater)
	case outlet.OutletType == constraint.Emitter:
		l.notedStanding(w, reaches, k)
		l.notedSetbacks(w, k)
	}
}

// notedHole notes a curb hole, narrower than the main before it, that backs its
// flow up over the main's crown.
func (l *layer) notedHole(w *pipework, reaches []hydraulics.Reach, k int) {
	main := 0.0
	for _, m := range w.arriving[w.Pipes[k].From] {
		main = math.Max(main, w.Pipes[m].Size.Inside)
	}
	if main <= w.Pipes[k].Size.Inside {
		return
	}
	r := reaches[k]
	takes, control := hydraulics.HoleCapacity(r, r.InvertUp+main)
	if takes >= r.Flow*(1-overRounding) {
		return
	}
	if takes == 0 {
		l.note("%s: the water outside stands above the main: its curb hole carries nothing before the main is full", w.Nodes[w.Pipes[k].To].ID)
		return
	}
	l.note("%s: its curb hole, limited by its %s, carries %.1f L/s of %.1f L/s before the main is full: %d such outlets would keep it a free channel",
		w.Nodes[w.Pipes[k].To].ID, control, takes*1000, r.Flow*1000, hydraulics.OutletsNeeded(r.Flow, takes))
}
