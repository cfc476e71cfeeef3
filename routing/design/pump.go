package design

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// pump is the remedy that needs power: gravity to a sump, and from there a pipe under
// pressure, which needs room but no fall. It has no rule where no pipe finds
// room at all. together are all inflows that lack height.
func (d *job) pump(x *lacking, together []*lacking) Remedy {
	w, by := x.way, d
	if w == nil {
		w, by = x.deeperWay, x.deeper
	}
	if w == nil {
		return Remedy{}
	}
	list, ok := by.trace(x.inflow, w)
	if !ok {
		return Remedy{}
	}
	sump, to := d.lifted(list, w, by)
	in, low := &d.in[x.inflow], list[sump].invert-d.criteria.Limits.SumpDepth
	r := unfigured(Remedy{Rule: "pump", Now: math.NaN(), Needed: in.Flow, Unit: "m3/s", At: &list[sump].at})
	if list[sump].away > 0 {
		r.put = d.withSump(list[sump].at, down(list[sump].invert, millimetre))
	}
	out := d.endOf(w).at
	r.Outlet, r.Length, r.Lift = &out, list[len(list)-1].away, math.Max(0, to-low)
	where := "at " + in.ID
	if distance(in.At, *r.At) > d.law.Ground.CellMax() {
		where = bearing(in.At, *r.At) + " " + in.ID
	}
	r.Says = fmt.Sprintf("at least %.1f L/s lifted by at least %.3f m with a pump, the friction of %.1f m of pressure pipe on top, from a sump %s (water drawn down to %.3f m, sump_depth %.3f m under the pipe that comes in) to %.3f m",
		up(in.Flow, decilitre)*1000, up(r.Lift, millimetre), r.Length-list[sump].away, where, low, d.criteria.Limits.SumpDepth, to)
	if flow, n := d.pumped(together); n > 1 {
		r.Says += fmt.Sprintf(", at least %.1f L/s where one takes all %d", up(flow, decilitre)*1000, n)
	}
	r.Says += "; power, a check valve, a high-water alarm, and a way for water over the ground when it stands still"
	return r
}

// withSump is the lot drained by gravity to a sump, which is pumped down below the
// invert of the pipe that comes in.
func (d *job) withSump(at orb.Point, invert float64) *change {
	c, site := d.criteria, *d.site
	c.Tailwater.StormInlet = math.Inf(-1)
	site.Outlets = []constraint.Outlet{{ID: "sump", At: at, Type: constraint.StormInlet, Invert: invert}}
	return &change{&site, c}
}

// lifted is where on a way the sump is, the last fitting before gravity lacks
// height, and the elevation the water is to be lifted to.
func (d *job) lifted(list []stop, w *wayOut, by *job) (sump int, to float64) {
	more := by.criteria.Limits.DepthMax - d.criteria.Limits.DepthMax
	fails := len(list) - 1
	for k := len(list) - 1; k >= 0; k-- {
		if list[k].Floor+more > list[k].invert {
			fails = k
		}
	}
	for sump = fails; sump > 0 && list[sump].S > 0; sump-- {
	}
	to = d.endOf(w).minInvert
	for _, st := range list[sump:] {
		to = math.Max(to, st.Floor+more)
	}
	return sump, to
}

// pumped is the design flow of all that a pump would help, and how many they are.
func (d *job) pumped(list []*lacking) (flow float64, n int) {
	for _, x := range list {
		if x.way != nil || x.deeperWay != nil {
			flow += d.in[x.inflow].Flow
			n++
		}
	}
	return flow, n
}
