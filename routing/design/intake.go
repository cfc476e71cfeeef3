package design

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// Grates is what is taken of grates nobody described.
type Grates struct {
	OpenArea  float64 // clear opening of an area drain's, m2
	Perimeter float64 // m
	// ChannelOpening is the clear opening of a channel drain's grate, area over
	// length, m.
	ChannelOpening float64
	Dish           float64 // how far a drain lies below the ground round it, m
	Clogged        float64 // share of opening and perimeter that is stopped, 0-1
}

// grateOf is the grate of an area drain: as given, the rest as the criteria
// have it.
func (g Grates) grateOf(in constraint.Inlet) (grate hydraulics.Grate, assumed bool) {
	grate = hydraulics.Grate{Perimeter: in.GratePerimeter, OpenArea: in.GrateOpenArea, Clogged: g.Clogged}
	if !constraint.Given(grate.OpenArea) {
		grate.OpenArea, assumed = g.OpenArea, true
	}
	if !constraint.Given(grate.Perimeter) {
		grate.Perimeter, assumed = g.Perimeter, true
	}
	return grate, assumed
}

// channelOf is the grate of a channel drain so long, m: water comes to it over
// one side.
func (g Grates) channelOf(length float64) hydraulics.Grate {
	return hydraulics.Grate{Perimeter: length, OpenArea: length * g.ChannelOpening, Clogged: g.Clogged}
}

// assumedGrates says which area drains have no grate given.
func (d *job) assumedGrates(ids []string) {
	if g := d.criteria.Grates; len(ids) > 0 {
		d.assume("the grate of %s: %.4f m2 of clear opening, %.3f m of perimeter, since not both were given (inlet.grate_open_area, inlet.perimeter); %.0f %% of it clogged (storm.grate_clogged), %.3f m below the ground round it (inlet.dish)",
			strings.Join(ids, ", "), g.OpenArea, g.Perimeter, 100*g.Clogged, g.Dish)
	}
}

// Intake tells what the inflows of a design take in with water standing over
// them.
type Intake struct {
	*pipework
	reaches []hydraulics.Reach
	mouths  []hydraulics.Mouth
	inflow  []int // by mouth, the place in Result.Inflows
	count   int   // of those
}

// Intake opens the design to water on the ground.
func (r *Result) Intake(c Criteria) *Intake {
	in := &Intake{pipework: pipeworkOf(&r.Network, c.Tailwater), count: len(r.Inflows)}
	in.reaches = in.pipework.reaches()
	for i := range r.Inflows {
		f := &r.Inflows[i]
		if f.Status != Served {
			continue
		}
		for v := range in.Nodes {
			if n := &in.Nodes[v]; n.Kind == f.Kind && n.ID == f.ID {
				in.mouths = append(in.mouths, hydraulics.Mouth{Reach: n.Out, Lets: in.lets(f, n)})
				in.inflow = append(in.inflow, i)
			}
		}
	}
	return in
}

// lets is what an inflow's grate, and the mouth of the pipe under it, let in; a
// mouth under water the grade line has. Nil for a downspout, whose leader has
// head to spare.
func (in *Intake) lets(f *Inflow, n *network.Node) func(over, within float64) float64 {
	if f.Kind == network.Downspout {
		return nil
	}
	p := &in.Pipes[n.Out]
	return func(over, within float64) float64 {
		return math.Min(mouthOf(p, over), f.Grate.DrownedCapacity(over, within, n.Rim))
	}
}

// mouthOf is what the mouth of a pipe in a box lets in as an orifice, m3/s, with
// water up to a level over it.
func mouthOf(p *network.Pipe, over float64) float64 {
	area, centre := math.Pi/4*p.Size.Inside*p.Size.Inside, p.InvertUp+p.Size.Inside/2
	return hydraulics.OrificeFlow(hydraulics.OrificeCoeff, area, math.Max(0, over-centre))
}

// Mouth returns what the mouth of the pipe under an open inflow lets in, m3/s,
// with water up to a level; 0 for what is not served.
func (in *Intake) Mouth(inflow int, over float64) float64 {
	for k, i := range in.inflow {
		if i == inflow {
			return mouthOf(&in.Pipes[in.mouths[k].Reach], over)
		}
	}
	return 0
}

// Taken returns what each inflow of the result takes in, m3/s, in their order:
// at most so much of what runs to it, and only what the pipes carry off with
// the grade line at or below the water over it. level is the elevation of that
// water with so much taken at each inflow; below the rim, or a downspout's
// ground, it counts as there. Less than nothing comes out. What is not served
// takes nothing.
func (in *Intake) Taken(most []float64, level func(inflow int, taken []float64) float64) ([]float64, error) {
	all := make([]float64, in.count)
	spread := func(taken []float64) {
		for k, i := range in.inflow {
			all[i] = taken[k]
		}
	}
	for k, i := range in.inflow {
		in.mouths[k].Most = most[i]
	}
	taken, err := hydraulics.Taken(in.reaches, in.mouths, func(k int, flow float64) float64 {
		p := &in.Pipes[k]
		return in.water.level(&in.Nodes[p.To], p, flow)
	}, func(k int, taken []float64) float64 {
		spread(taken)
		return level(in.inflow[k], all)
	})
	if err == nil {
		spread(taken)
	}
	return all, err
}

// Lets returns what an inflow could let in, m3/s, with water at an elevation
// over it, were the pipes under it empty: +Inf for a downspout, 0 for what is
// not served.
func (in *Intake) Lets(inflow int, over float64) float64 {
	for k, i := range in.inflow {
		if i == inflow {
			if in.mouths[k].Lets == nil {
				return math.Inf(1)
			}
			return in.mouths[k].Lets(over, math.Inf(-1))
		}
	}
	return 0
}

// Discharge is what leaves a design at an outlet.
type Discharge struct {
	ID   string
	At   orb.Point
	Type constraint.OutletType
	Flow float64 // m3/s
}

// Discharges returns what comes out at each outlet, in the order of the nodes,
// with so much taken at each inflow.
func (in *Intake) Discharges(taken []float64) (list []Discharge) {
	for v := range in.Nodes {
		n := &in.Nodes[v]
		if n.Out >= 0 {
			continue
		}
		d := Discharge{ID: n.ID, At: n.At, Type: n.OutletType}
		for k, i := range in.inflow {
			end := in.Pipes[in.mouths[k].Reach].To
			for in.Nodes[end].Out >= 0 {
				end = in.Pipes[in.Nodes[end].Out].To
			}
			if end == v {
				d.Flow += taken[i]
			}
		}
		d.Flow = math.Max(0, d.Flow)
		list = append(list, d)
	}
	return list
}
