package lawcheck

import "math"

// wyeMost is the angle at which a pipe may join the flow, radians: 45 degrees
// by the law, whatever bend_max says.
const wyeMost = math.Pi / 4

// turnsFreely are the nodes in which water turns by itself: basins, inlets,
// traps, and the foot of a downspout. A cleanout is a fitting like a bend.
var turnsFreely = map[string]bool{"downspout": true, "inlet": true, "channel_drain": true, "sediment_trap": true}

// turns proves the angles of rule 4 at a node: where several pipes come in each
// joins the flow at 45 degrees or less, where one does it bends by at most
// bend_max.
func (c *checker) turns(n *node) {
	if turnsFreely[n.kind] {
		return
	}
	in := c.in[n.id]
	for _, q := range c.outOf[n.id] {
		for _, p := range in {
			rule, most := BendMax, c.limit("bend_max")
			if n.kind == "wye" || len(in) > 1 {
				rule, most = WyeAngle, wyeMost
			}
			slack := planTolerance/p.length() + planTolerance/q.length()
			if turn := turnBetween(p, q); !(turn <= most+slack) {
				c.report(rule, p.id, n.number["station_m"], turn, most, "it turns too sharply into pipe %s at this %s", q.id, n.kind)
			}
		}
	}
}

// turnBetween is the angle between the ways of two pipes, radians.
func turnBetween(p, q *pipe) float64 {
	x := (p.down[0]-p.up[0])*(q.down[0]-q.up[0]) + (p.down[1]-p.up[1])*(q.down[1]-q.up[1])
	y := (p.down[0]-p.up[0])*(q.down[1]-q.up[1]) - (p.down[1]-p.up[1])*(q.down[0]-q.up[0])
	if x == 0 && y == 0 { // no length, no way
		return math.NaN()
	}
	return math.Abs(math.Atan2(y, x))
}
