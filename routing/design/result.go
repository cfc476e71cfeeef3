package design

import (
	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/network"
)

// Status says how an inflow or the whole design ended.
type Status string

// The ways to end.
const (
	Served     Status = "served"     // an inflow
	Infeasible Status = "infeasible" // an inflow or the design
	Feasible   Status = "feasible"   // the design
)

// Result is a finished design of one lot. A number that does not apply is NaN.
type Result struct {
	Status  Status
	Verdict string // one plain sentence, SI units
	// PlanLength is the length of all pipes, m.
	PlanLength float64
	// LengthBound is a length, m, that no plan for the served inflows goes below;
	// NaN where none is given.
	LengthBound float64
	Storm       Storm // designed for
	Network     network.Network
	Inflows     []Inflow
	// Alternatives are the changes that would make inflows feasible, side by side,
	// those that do for most first.
	Alternatives []Alternative
	Costs        []Cost // of what is laid; nil where no prices are given
	Crossings    []Crossing
	Protections  []Protection
	// Spills are the places where water would leave the pipes, the one of the
	// least storm first, each as if those before it held.
	Spills       []Spill
	Leftover     float64  // design flow beyond what the curb hole carries, m3/s; 0: none
	WhatIfs      []WhatIf // the design storm and others
	Assumed      []string // one plain line each
	Notes        []string // reported, and the rest still done; one plain line each
	SurfaceWater []string // what water does on the ground with the design in, for whoever runs it; likewise
}

// Gap is the share by which the plan may at most be longer than the shortest
// there is; NaN where no bound is given.
func (r *Result) Gap() float64 { return r.PlanLength/r.LengthBound - 1 }

// Inflow is a place where water enters, with its verdict.
type Inflow struct {
	ID       string
	Kind     network.NodeKind
	At       orb.Point
	Rim      float64          // elevation m, open inlets alone
	Grate    hydraulics.Grate // of open inlets
	Roof     string
	Line     orb.LineString // of a channel drain
	Area     float64        // drained, m2
	Weighted float64        // the same times its runoff coefficients, m2
	// TimeOfConc is how long its farthest water takes to come, s, and no less than
	// the storm's duration.
	TimeOfConc float64
	Flow       float64 // in the rain of that duration, m3/s
	Assumed    bool
	Status     Status
	ShortBy    float64  // missing height m; NaN where served, or where no way exists at all
	Sealed     string   // what shuts it in, where no way exists at all
	Binding    *Binding // nil where served
	Remedies   []Remedy
}

// Binding is what decides an infeasible inflow: the place that would have to
// give, and the pair of places between which the height lacks.
type Binding struct {
	Rule    string
	At      orb.Point
	Station float64 // plan distance from the outlet, m
	// The highest invert that comes there, and the lowest that would do, m: the
	// missing height apart. Where no height helps, what the widest way there keeps of
	// the rule and what the rule asks; NaN where no way keeps any.
	Value, Limit float64
	Upper        *Place // where the best way is held down last
	Lower        *Place // where more is asked; nil where no height helps
}

// Place is one end of a binding pair.
type Place struct {
	Rule, ID string // what holds the pipe down, or asks for more; whose it is, "" for nobody's
	At       orb.Point
	Station  float64 // plan distance from the outlet, m
	Invert   float64 // the highest that comes there, elevation m
	Needed   float64 // the lowest that would do, elevation m
}

// Remedy is one change that makes an infeasible inflow feasible, with what that
// inflow's way then comes to, alone and as high as it may lie. A number that does
// not apply is NaN.
type Remedy struct {
	Rule   string                // criteria key, "limits.cover_min", or what to change
	Type   constraint.OutletType // of a new outlet, "" for none
	Now    float64               // SI
	Needed float64               // SI
	Unit   string                // of both: "m", "" for a slope
	Says   string                // plain words, SI units

	Length   float64    // of pipe to the outlet, m
	Size     string     // the smallest that finds the height, "" for none
	Carries  float64    // flowing full at its least slope, m3/s
	CoverMin float64    // m
	DepthMax float64    // ground to invert, m
	Outlet   *orb.Point // where it ends, nil for nowhere new
	At       *orb.Point // where something new is built, nil for nothing
	Lift     float64    // of a pump, without friction, m

	put *change // nil where nothing in site or criteria is it
}

// Crossing is a place where a pipe meets something to be minded.
type Crossing struct {
	Pipe      string // id
	Kind      string // utility, walk, driveway, patio, root_zone, wall_strip, easement
	ID        string // of the thing crossed
	At        orb.Point
	Station   float64 // plan distance from the outlet, m
	Length    float64 // of pipe inside, m; of a utility, dug by hand
	Clearance float64 // least, vertical, between outsides, m; NaN where unknown, or the pipe keeps beside
	Says      string  // what to do
}

// Protection is a stretch of pipe with less cover than preferred.
type Protection struct {
	Pipe     string
	From, To float64 // stations from the outlet, m
	Cover    float64 // least, m
	Says     string
}

// Storm is the design rain.
type Storm struct {
	Intensity float64 // m/s
	Years     float64 // return period
	Duration  float64 // s; no time of concentration is shorter
	// Rain is the intensity over other durations, m/s, of a table's storm; nil where
	// one figure is all there is.
	Rain       func(duration float64) float64
	Rain24h    float64 // depth of the 2-year rain of 24 hours, which tells how fast a sheet of water runs, m; 0 where not known
	Source     string  // of a table the intensity is read from; "" where it is a figure
	Table      string  // the table's file, "" for none
	CheckYears float64 // return period of the storm rims and sills are looked at in, where a table tells it
	Plumbing   Convention
	Increase   float64 // share by which a storm is looked at that is harder
	Assumed    bool    // none was given
	// Frequency are the factors on runoff coefficients of storms of FrequencyYears;
	// none of a zero Storm.
	Frequency [len(FrequencyYears)]float64
	Lawn      float64 // runoff coefficients, 0-1
	Roof      float64
	Walk      float64
	Driveway  float64
	Patio     float64
	Gravel    float64 // of walks, driveways and patios that are gravel
}

// FrequencyYears are the return periods that frequency factors are published for.
var FrequencyYears = [...]float64{10, 25, 50, 100}

// Convention is a rule for which storm to design for.
type Convention struct {
	Years    float64 // return period
	Duration float64 // s
}

// Criteria is everything the user may set, with where each value is from.
type Criteria struct {
	Limits    constraint.Limits
	Catalogue constraint.Catalogue
	Storm     Storm
	Outlet    constraint.OutletType // default type
	Tailwater Tailwater
	Base      EmitterBase
	Grates    Grates
	Street    Street
	Costs     Costs
	// Effort is how many networks are improved, each grown in another order; 0: as
	// few as usual.
	Effort int
	// InvertStep is what inverts are set in, m: a millimetre, or a hundredth of
	// the foot people read. Above 0.
	InvertStep float64
	Used       []constraint.Used // every limit, for the summary
}
