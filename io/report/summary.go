// Package report prints what a design came to: summary.json for machines, and
// one page of text for the person who asked.
package report

import (
	"encoding/json"
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// Cautions stand on every output.
var Cautions = []string{
	"A planning aid and no survey: have levels shot before anyone builds on them.",
	"Call the one-call centre and have utilities marked before you dig.",
	"Trenches 5 ft (1.5 m) and deeper need a protective system; shallower ones in poor soil too. Nobody enters an unsafe trench.",
	"Work in the street's right-of-way needs the authority's permit.",
	"Storm water must not enter a sanitary sewer.",
	"Local codes and licensed practice govern.",
}

// Input is a file that was read.
type Input struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

// Void is a patch of ground the raster does not know.
type Void struct {
	Area   float64    `json:"area_m2"`
	At     [2]float64 `json:"at"` // longitude, latitude
	Filled bool       `json:"filled"`
}

// Run is what a run was made of, beside the design.
type Run struct {
	Version string
	Inputs  []Input
	Voids   []Void
	Timings map[string]float64 // s
	LonLat  func(x, y float64) (lon, lat float64)
}

type number float64

// MarshalJSON writes null for a number that does not apply.
func (n number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	return json.Marshal(math.Round(v*1e9) / 1e9)
}

type summary struct {
	Status       string             `json:"status"`
	Verdict      string             `json:"verdict"`
	PlanLength   number             `json:"plan_length_m"`
	LengthBound  number             `json:"length_lower_bound_m"`
	Gap          number             `json:"optimality_gap_pct"`
	Leftover     number             `json:"left_over_lps"`
	Storm        storm              `json:"storm"`
	WhatIfs      []whatIf           `json:"what_if"`
	Inflows      []inflow           `json:"inflows"`
	Alternatives []wayOut           `json:"alternatives"`
	Flows        []pipeFlow         `json:"pipe_flows"`
	Costs        []cost             `json:"costs"`
	CostTotal    number             `json:"cost_total"`
	Protections  []protection       `json:"protections"`
	Voids        []Void             `json:"voids"`
	Assumed      []string           `json:"assumed"`
	Notes        []string           `json:"notes"`
	SurfaceWater []string           `json:"surface_water"`
	Limits       []Limit            `json:"limits"`
	Inputs       []Input            `json:"inputs"`
	Version      string             `json:"version"`
	Cautions     []string           `json:"cautions"`
	Timings      map[string]float64 `json:"timings_s"`
}

// storm is the design rain.
type storm struct {
	Intensity number `json:"intensity_mm_per_h"`
	Years     number `json:"return_period_years"`
	Duration  number `json:"duration_s"`
	Source    string `json:"source"`
}

type whatIf struct {
	Storm     string   `json:"storm"`
	Intensity number   `json:"intensity_mm_per_h"`
	Flow      number   `json:"flow_lps"`
	Over      []string `json:"pipes_over_capacity"`
	Overflows []string `json:"overflows_at"`
}

// pipeFlow is the rain a pipe is laid for.
type pipeFlow struct {
	Pipe       string `json:"pipe"`
	Duration   number `json:"rain_duration_min"`
	Intensity  number `json:"intensity_mm_per_h"`
	DesignFlow number `json:"design_flow_lps"`
}

type inflow struct {
	ID         string   `json:"id"`
	Kind       string   `json:"kind"`
	Status     string   `json:"status"`
	Area       number   `json:"area_m2"`
	Coeff      number   `json:"runoff_coeff"`
	TimeOfConc number   `json:"time_of_conc_min"`
	Intensity  number   `json:"intensity_mm_per_h"`
	DesignFlow number   `json:"design_flow_lps"`
	ShortBy    number   `json:"short_by_m"`
	Sealed     *string  `json:"sealed_in_by"`
	Binding    *binding `json:"binding"`
	Remedies   []remedy `json:"remedies"`
}

type binding struct {
	Rule    string     `json:"rule"`
	At      [2]float64 `json:"at"`
	Station number     `json:"station_m"`
	Value   number     `json:"value"`
	Limit   number     `json:"limit"`
	Upper   *place     `json:"upper"`
	Lower   *place     `json:"lower"`
}

// place is one end of a binding pair.
type place struct {
	Rule    string     `json:"rule"`
	ID      *string    `json:"id"`
	At      [2]float64 `json:"at"`
	Station number     `json:"station_m"`
	Invert  number     `json:"invert_m"`
	Needed  number     `json:"needed_m"`
}

// change is one limit or place that is changed, and what it must come to.
type change struct {
	Rule   string      `json:"rule"`
	Now    number      `json:"now"`
	Needed number      `json:"needed"`
	Unit   string      `json:"unit"`
	Says   string      `json:"says"`
	Outlet *string     `json:"outlet_type"`
	At     *[2]float64 `json:"at"`
}

type remedy struct {
	change
	Length   number  `json:"plan_length_m"`
	Size     *string `json:"nominal_size"`
	Carries  number  `json:"capacity_full_lps"`
	CoverMin number  `json:"cover_min_m"`
	DepthMax number  `json:"invert_depth_max_m"`
	Lift     number  `json:"lift_m"`
}

// wayOut is one change for all inflows it would do for, with the design of the whole
// lot that it leads to.
type wayOut struct {
	Inflows []string `json:"inflows"`
	change
	Lift   number   `json:"lift_m"`
	Design *outcome `json:"design"` // null where there is none, and after the first four
}

type outcome struct {
	Served     []string `json:"served"`
	DesignFlow number   `json:"design_flow_lps"` // of these
	Leftover   number   `json:"left_over_lps"`
	PlanLength number   `json:"plan_length_m"`
	Sizes      []string `json:"nominal_sizes"`
	Trench     number   `json:"trench_side_m2"`
	CoverMin   number   `json:"cover_min_m"`
	DepthMax   number   `json:"invert_depth_max_m"`
}

type protection struct {
	Pipe  string `json:"pipe"`
	From  number `json:"from_m"`
	To    number `json:"to_m"`
	Cover number `json:"cover_m"`
	Says  string `json:"says"`
}

// cost is a quantity at the user's price, in the user's currency.
type cost struct {
	Item   string `json:"item"`
	Length number `json:"length_m"` // of pipe
	Area   number `json:"area_m2"`  // of the trench's side
	Price  number `json:"unit_price"`
	Cost   number `json:"cost"`
}

// Limit is a value that was used, and who says so.
type Limit struct {
	Name   string `json:"name"`
	Value  any    `json:"value"`
	Unit   string `json:"unit"`
	Source string `json:"source"`
}

const (
	litresPerCubicMetre = 1000
	millimetresPerHour  = 1000 * 3600 // in m/s
	secondsPerMinute    = 60
)

// Summary returns summary.json.
func Summary(r *design.Result, c design.Criteria, run Run) ([]byte, error) {
	s := summary{
		Status: string(r.Status), Verdict: r.Verdict, PlanLength: number(r.PlanLength),
		LengthBound: number(r.LengthBound), Gap: number(100 * r.Gap()), Leftover: number(r.Leftover * litresPerCubicMetre),
		Storm: stormOf(c.Storm), WhatIfs: []whatIf{},
		Inflows: []inflow{}, Alternatives: []wayOut{}, Flows: []pipeFlow{}, Costs: []cost{}, CostTotal: number(math.NaN()), Protections: []protection{}, Voids: append([]Void{}, run.Voids...),
		Assumed: append([]string{}, r.Assumed...), Notes: append([]string{}, r.Notes...), SurfaceWater: append([]string{}, r.SurfaceWater...),
		Limits: Limits(c.Used), Inputs: append([]Input{}, run.Inputs...), Version: run.Version, Cautions: Cautions, Timings: run.Timings,
	}
	if s.Timings == nil {
		s.Timings = map[string]float64{}
	}
	for _, w := range r.WhatIfs {
		s.WhatIfs = append(s.WhatIfs, whatIf{w.Name, number(w.Intensity * millimetresPerHour), number(w.Flow * litresPerCubicMetre),
			append([]string{}, w.Over...), append([]string{}, w.Overflows...)})
	}
	for _, in := range r.Inflows {
		s.Inflows = append(s.Inflows, inflowOf(in, c.Storm, run))
	}
	for _, a := range r.Alternatives {
		x := remedyOf(a.Remedy, run)
		s.Alternatives = append(s.Alternatives, wayOut{a.Inflows, x.change, x.Lift, outcomeOf(a.Design)})
	}
	for k := range r.Network.Pipes {
		p := &r.Network.Pipes[k]
		s.Flows = append(s.Flows, pipeFlow{p.ID, number(p.RainDuration / secondsPerMinute), number(c.Storm.Over(p.RainDuration) * millimetresPerHour), number(p.Flow * litresPerCubicMetre)})
	}
	for _, c := range r.Costs {
		x := cost{c.Item, number(c.Quantity), number(math.NaN()), number(c.Price), number(c.Sum())}
		if c.Trench {
			x.Length, x.Area = x.Area, x.Length
		}
		s.Costs = append(s.Costs, x)
		s.CostTotal = number(r.CostTotal())
	}
	for _, p := range r.Protections {
		s.Protections = append(s.Protections, protection{p.Pipe, number(p.From), number(p.To), number(p.Cover), p.Says})
	}
	data, err := json.MarshalIndent(s, "", "  ")
	return append(data, '\n'), err
}

// Limits lists what was used as it is printed.
func Limits(used []constraint.Used) []Limit {
	list := make([]Limit, len(used))
	for k, u := range used {
		list[k] = Limit{Name: u.Name, Value: number(u.Value), Unit: u.Unit, Source: u.Source}
		if u.Text != "" {
			list[k].Value = u.Text
		}
	}
	return list
}

func stormOf(s design.Storm) storm {
	source := s.Source
	switch {
	case s.Assumed:
		source = "assumed"
	case source == "":
		source = "criteria file"
	}
	return storm{number(s.Intensity * millimetresPerHour), number(s.Years), number(s.Duration), source}
}

func inflowOf(in design.Inflow, rain design.Storm, run Run) inflow {
	out := inflow{ID: in.ID, Kind: string(in.Kind), Status: string(in.Status), Area: number(in.Area),
		Coeff: number(in.Coeff()), TimeOfConc: number(in.TimeOfConc / secondsPerMinute), Intensity: number(rain.Over(in.TimeOfConc) * millimetresPerHour),
		DesignFlow: number(in.Flow * litresPerCubicMetre), ShortBy: number(in.ShortBy), Sealed: word(in.Sealed), Remedies: []remedy{}}
	out.Binding = bindingOf(in.Binding, run)
	for _, x := range in.Remedies {
		out.Remedies = append(out.Remedies, remedyOf(x, run))
	}
	return out
}

func bindingOf(b *design.Binding, run Run) *binding {
	if b == nil {
		return nil
	}
	return &binding{b.Rule, run.at(b.At), number(b.Station), number(b.Value), number(b.Limit), placeOf(b.Upper, run), placeOf(b.Lower, run)}
}

func placeOf(p *design.Place, run Run) *place {
	if p == nil {
		return nil
	}
	return &place{p.Rule, word(p.ID), run.at(p.At), number(p.Station), number(p.Invert), number(p.Needed)}
}

func remedyOf(x design.Remedy, run Run) remedy {
	out := remedy{change: change{Rule: x.Rule, Now: number(x.Now), Needed: number(x.Needed), Unit: x.Unit, Says: x.Says, Outlet: word(string(x.Type))}, Size: word(x.Size),
		Length: number(x.Length), Carries: number(x.Carries * litresPerCubicMetre), CoverMin: number(x.CoverMin), DepthMax: number(x.DepthMax), Lift: number(x.Lift)}
	if x.At != nil {
		at := run.at(*x.At)
		out.At = &at
	}
	return out
}

func outcomeOf(o *design.Outcome) *outcome {
	if o == nil {
		return nil
	}
	return &outcome{o.Served, number(o.Flow * litresPerCubicMetre), number(o.Leftover * litresPerCubicMetre), number(o.PlanLength), o.Sizes,
		number(o.Trench), number(o.CoverMin), number(o.DepthMax)}
}

// at is a point in longitude and latitude.
func (r *Run) at(p orb.Point) [2]float64 {
	lon, lat := r.LonLat(p[0], p[1])
	return [2]float64{lon, lat}
}

// word is nil for an empty one, so that it is written as null.
func word(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
