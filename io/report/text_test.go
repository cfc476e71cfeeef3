package report

import (
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/io/units"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/routing/network"
)

var update = flag.Bool("update", false, "write the golden files anew")

const (
	foot = 0.3048
	inch = foot / 12
)

var nan = math.NaN()

// inventedResult is a lot with one downspout served and one too low.
func inventedResult() *design.Result {
	sdr := constraint.Size{Family: "pvc_sdr35", Material: "SDR 35", Nominal: "4 in", Inside: 3.975 * inch, Outside: 4.215 * inch, Roughness: 0.012}
	sch := constraint.Size{Family: "pvc_sch40", Material: "Schedule 40", Nominal: "4 in", Inside: 4.026 * inch, Outside: 4.5 * inch, Roughness: 0.012}
	return &design.Result{
		Status: design.Infeasible, Verdict: "Not every inflow drains by gravity: 1 of 3 reach the outlet; ds-2 is short of fall by 0.052 m.",
		Storm:      design.Storm{Intensity: 0.18 / 3600, Years: 10, Duration: 300, Plumbing: design.Convention{Years: 100, Duration: 3600}},
		PlanLength: 20, LengthBound: 19, Leftover: 0.0002,
		Costs: []design.Cost{{Item: "4 in pipe", Quantity: 20, Price: 9.5}, {Item: "trench", Trench: true, Quantity: 5.5, Price: 40}},
		Network: network.Network{
			Nodes: []network.Node{
				{ID: "ds-1", Kind: network.Downspout, Ground: 30.5, Rim: nan, Invert: 30.1, InvertDepth: 0.4, Station: 20, Roof: "house", Inflow: 0.003, Gutter: nan, Lid: nan, HGL: 30.2, Freeboard: nan, Out: 0},
				{ID: "n-1", Kind: network.Reducer, Ground: 30.2, Rim: nan, Invert: 29.95, InvertDepth: 0.25, Station: 6, Gutter: nan, Lid: nan, HGL: 30.05, Freeboard: nan, Out: 1},
				{ID: "out-1", Kind: network.OutletNode, Ground: 30.0, Rim: nan, Invert: 29.88, InvertDepth: 0.12, OutletType: constraint.CurbFace, Gutter: 29.86, Lid: nan, HGL: 29.98, Freeboard: nan, Out: -1},
			},
			Pipes: []network.Pipe{
				{ID: "p-1", Role: network.Lateral, From: 0, To: 1, Length: 14, Size: sdr, InvertUp: 30.1, InvertDown: 29.95, CoverMin: 0.17, DepthMax: 0.4, Flow: 0.003, Capacity: 0.0058, DepthRatio: 0.5, Velocity: 0.7},
				{ID: "p-2", Role: network.OutletPipe, From: 1, To: 2, Length: 6, Size: sch, InvertUp: 29.95, InvertDown: 29.88, CoverMin: 0.04, DepthMax: 0.25, Flow: 0.003, Capacity: 0.0060, DepthRatio: 0.5, Velocity: 0.7},
			},
		},
		Inflows: []design.Inflow{
			{ID: "ds-1", Kind: network.Downspout, Roof: "house", Area: 64, Weighted: 60.8, TimeOfConc: 300, Flow: 0.003, Status: design.Served, ShortBy: nan, Rim: nan},
			{ID: "ds-2", Kind: network.Downspout, Roof: "house", Area: 64, Weighted: 60.8, TimeOfConc: 300, Flow: 0.003, Status: design.Infeasible, ShortBy: 0.052, Rim: nan, Assumed: true,
				Binding: &design.Binding{Rule: "cover_min", At: orb.Point{1, 2}, Station: 7.2, Value: 29.821, Limit: 29.873,
					Upper: &design.Place{Rule: "cover_min", At: orb.Point{1, 2}, Station: 7.2, Invert: 29.821, Needed: 29.873},
					Lower: &design.Place{Rule: "outlet_above_gutter", ID: "curb-1", At: orb.Point{1, -2}, Invert: 29.749, Needed: 29.801}},
				Remedies: []design.Remedy{
					{Rule: "limits.cover_min", Now: 0.1524, Needed: 0.1, Unit: "m", Says: "less cover in lawn, at most 0.100 m, over 6.20 m of pipe, 7.20 m to 13.40 m from the outlet: sleeved or encased there, and marked",
						Length: 21.5, Size: "4 in", Carries: 0.0058, CoverMin: 0.0254, DepthMax: 0.41, Lift: nan},
					{Rule: "limits.slope_min", Now: 0.01, Needed: 0.0075, Says: "flatter pipe, at most 0.75 %, laid with a laser", Length: 21.5, Size: "4 in", Carries: 0.0049, CoverMin: 0.0254, DepthMax: 0.36, Lift: nan},
					{Rule: "outlet.type", Type: constraint.Emitter, Now: nan, Needed: 30.25, Unit: "m", Says: "an emitter in the yard in place of the curb, 4.2 m south of ds-2, its lid at the ground, 30.250 m",
						Length: 4.2, Size: "4 in", Carries: 0.0058, CoverMin: 0.1524, DepthMax: 0.31, At: &orb.Point{1, 8}, Lift: nan},
					{Rule: "pump", Now: nan, Needed: 0.003, Unit: "m3/s", Says: "at least 3.0 L/s lifted by at least 0.204 m with a pump", Length: 21.5, Carries: nan, CoverMin: nan, DepthMax: nan, At: &orb.Point{1, 1}, Lift: 0.204},
				}},
			{ID: "ds-3", Kind: network.Downspout, Roof: "house", Area: 20, Weighted: 19, TimeOfConc: 300, Flow: 0.001, Status: design.Infeasible, ShortBy: 0.061, Rim: nan,
				Binding: &design.Binding{Rule: "depth_max", At: orb.Point{3, 2}, Station: 5, Value: 29.439, Limit: 29.5,
					Upper: &design.Place{Rule: "cover_min_walk", ID: "path", At: orb.Point{3, 9}, Station: 11.1, Invert: 29.5, Needed: 29.561},
					Lower: &design.Place{Rule: "depth_max", At: orb.Point{3, 2}, Station: 5, Invert: 29.439, Needed: 29.5}},
				Remedies: []design.Remedy{
					{Rule: "limits.slope_min", Now: 0.01, Needed: 0.006, Says: "flatter pipe, at most 0.60 %, laid with a laser", Length: 18, Size: "4 in", Carries: 0.0044, CoverMin: 0.1, DepthMax: 1.06, Lift: nan},
				}},
			{ID: "in-1", Kind: network.Inlet, Area: 90, Weighted: 36, TimeOfConc: 450, Flow: 0.001, Status: design.Infeasible, ShortBy: nan, Rim: 30.2, Sealed: "shut in by keep_out of pond",
				Binding: &design.Binding{Rule: "keep_out", At: orb.Point{5, 5}, Station: nan, Value: nan, Limit: nan, Upper: &design.Place{Rule: "keep_out", ID: "pond", At: orb.Point{5, 5}, Station: nan, Invert: nan, Needed: nan}}},
		},
		Alternatives: []design.Alternative{
			{Remedy: design.Remedy{Rule: "limits.slope_min", Now: 0.01, Needed: 0.006, Says: "flatter pipe, at most 0.60 %, laid with a laser", Lift: nan}, Inflows: []string{"ds-2", "ds-3"},
				Design: &design.Outcome{Served: []string{"ds-1", "ds-2", "ds-3"}, Flow: 0.007, Leftover: 0.0026, PlanLength: 41.5, Sizes: []string{"4 in"}, Trench: 14.2, CoverMin: 0.0254, DepthMax: 1.06}},
			{Remedy: design.Remedy{Rule: "limits.cover_min", Now: 0.1524, Needed: 0.1, Unit: "m", Says: "less cover in lawn, at most 0.100 m, over 6.20 m of pipe, 7.20 m to 13.40 m from the outlet: sleeved or encased there, and marked", Lift: nan}, Inflows: []string{"ds-2"},
				Design: &design.Outcome{Served: []string{"ds-1", "ds-2"}, Flow: 0.006, PlanLength: 33.5, Sizes: []string{"3 in", "4 in"}, Trench: 10.1, CoverMin: 0.0254, DepthMax: 0.41}},
			{Remedy: design.Remedy{Rule: "outlet.type", Type: constraint.Emitter, Now: nan, Needed: 30.25, Unit: "m", Says: "an emitter in the yard in place of the curb, 4.2 m south of ds-2, its lid at the ground, 30.250 m", At: &orb.Point{1, 8}, Lift: nan}, Inflows: []string{"ds-2"}},
			{Remedy: design.Remedy{Rule: "pump", Now: nan, Needed: 0.003, Unit: "m3/s", Says: "at least 3.0 L/s lifted by at least 0.204 m with a pump", At: &orb.Point{1, 1}, Lift: 0.204}, Inflows: []string{"ds-2"}},
		},
		Spills: []design.Spill{{Node: "ds-1", Kind: network.Downspout, Level: 30.5, Share: 1.25}},
		WhatIfs: []design.WhatIf{
			{Name: "10-year 5-min, design", Intensity: 0.18 / 3600, Flow: 0.003},
			{Name: "100-year 5-min", Intensity: 0.27 / 3600, Flow: 0.0045, Over: []string{"p-1", "p-2"}, Overflows: []string{"ds-1"}},
		},
		Protections:  []design.Protection{{Pipe: "p-2", From: 0, To: 5.2, Cover: 0.04, Says: "under the least cover: encase in concrete or sleeve in steel, as the authority over the right-of-way asks"}},
		Crossings:    []design.Crossing{{Pipe: "p-2", Kind: "utility", ID: "gas", Station: 3, Length: 1.3, Clearance: nan, Says: "depth unknown: have it marked and expose before digging"}},
		Assumed:      []string{"curb curb-1 has no type: taken as vertical, 0.152 m high"},
		SurfaceWater: []string{"in the design storm 1.20 m3 of water stand on the lot as it is, 0.30 m3 with the drains in"},
		Notes:        []string{"pipe p-1: 0.55 m/s flowing full, under 0.61 m/s: it will not scour itself clean"},
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; run with -update and look at the difference. Got:\n%s", name, got)
	}
}

func TestText(t *testing.T) {
	golden(t, "report-si.txt", Text(inventedResult(), "lot-1", units.SI, "design"))
	golden(t, "report-us-ft.txt", Text(inventedResult(), "lot-1", units.USFoot, "design"))
}

// With a rainfall table the page says the rain of each pipe and inflow.
func TestTextByDuration(t *testing.T) {
	r := inventedResult()
	r.Storm.Source, r.Storm.Table = "10-year 5-min, INVENTED", "rain.csv"
	r.Storm.Rain = func(float64) float64 { return r.Storm.Intensity }
	r.Network.Pipes[1].RainDuration = 330
	r.Storm.Frequency = [4]float64{1.1, 1.1, 1.2, 1.25}
	page := Text(r, "lot-1", units.SI, "design")
	for _, want := range []string{
		"180.0 mm/h, 10-year 5-min, INVENTED (rain.csv); water that takes longer than 5 min to come has the lighter rain of its time",
		"that is the civil convention (storm.return_period, storm.duration); the plumbing codes design for the 100-year rain of 60 min (storm.plumbing_convention): what_if in summary.json",
		"so rare a storm falls on wet ground: runoff coefficients times 1.1, 1 at most (storm.frequency_factor)",
		"cover   rain of  flow", "40 mm   5.5 min  3.00 L/s", "90.0 m2  0.40      7.5 min  1.00 L/s",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the page:\n%s", want, page)
		}
	}
}

// Who designs by the plumbing codes is told what the other convention is.
func TestConventions(t *testing.T) {
	s := inventedResult().Storm
	s.Years, s.Duration = 100, 3600
	if got := conventions(s); !strings.HasPrefix(got, "that is the plumbing codes' convention (storm.plumbing_convention); the civil one ") {
		t.Error(got)
	}
}

// Shallow pipe is listed by what is to be done, stretches that go on from one pipe
// into the next as one, each with its own least cover.
func TestProtections(t *testing.T) {
	r := inventedResult()
	const mark = "mark it"
	r.Protections = []design.Protection{
		{Pipe: "p-1", From: 15, To: 20, Cover: 0.2, Says: mark},
		{Pipe: "p-1", From: 6, To: 9, Cover: 0.19, Says: mark},
		{Pipe: "p-2", From: 5, To: 6, Cover: 0.18, Says: mark},
		{Pipe: "p-2", From: 0, To: 5.2, Cover: 0.04, Says: "encase it"},
	}
	got := strings.Join(protections(r, units.SI), "\n")
	want := `mark it:
      p-1, 15.00 m to 20.00 m from the outlet, cover 200 mm
      p-1 to p-2, 5.00 m to 9.00 m from the outlet, cover 180 mm
p-2, 0.00 m to 5.20 m from the outlet, cover 40 mm: encase it`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// A zone is one line for all pipes in it, with their length inside.
func TestCrossings(t *testing.T) {
	r := inventedResult()
	r.Crossings = []design.Crossing{
		{Pipe: "p-1", Kind: "wall_strip", ID: "house", Station: 19, Length: 1.5, Clearance: nan, Says: "compact"},
		{Pipe: "p-2", Kind: "wall_strip", ID: "house", Station: 4, Length: 1, Clearance: nan, Says: "compact"},
		{Pipe: "p-2", Kind: "walk", ID: "walk", Station: 3, Length: 1.2, Clearance: nan, Says: "cut"},
		{Pipe: "p-2", Kind: "utility", ID: "main", Station: 2, Length: 1.3, Clearance: 0.31, Says: "dig"},
	}
	got := strings.Join(crossings(r, units.SI), "\n")
	if want := "p-1, p-2, wall strip house, 2.50 m inside: compact\np-2, 3.00 m from the outlet, walk walk, 1.20 m inside: cut\np-2, 2.00 m from the outlet, utility main, clear by 310 mm, 1.30 m by hand: dig"; got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// The rim nearest to the water, and the first to overflow.
func TestWaterLevels(t *testing.T) {
	r := inventedResult()
	r.Network.Nodes[0].Rim, r.Network.Nodes[0].Freeboard = 30.5, 0.3
	got := strings.Join(waterLevels(r, units.SI), "\n")
	for _, want := range []string{"nearest to the rim of ds-1 in the design storm: 300 mm below it", "over its ground at 30.500 m, from 1.25 times the design storm's flow on; of the storms in the table below, 100-year 5-min is the first to bring it"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q lacks %q", got, want)
		}
	}
	r.Spills = nil
	if got := strings.Join(waterLevels(r, units.SI), "\n"); !strings.Contains(got, "no rim or downspout overflows up to 3 times") {
		t.Error(got)
	}
	if got := waterLevels(&design.Result{}, units.SI); len(got) > 0 {
		t.Error(got)
	}
}

func inventedRun() Run {
	return Run{
		Version: "0", Inputs: []Input{{"ground.tif", "00"}}, Timings: map[string]float64{"read": 1, "design": 2},
		LonLat: func(x, y float64) (lon, lat float64) { return -80 + x*1e-5, 35 + y*1e-5 },
	}
}

func TestSummary(t *testing.T) {
	criteria := design.Criteria{Used: []constraint.Used{
		{Name: "limits.cover_min", Value: 0.1524, Unit: "m", Source: "common practice, no source"},
		{Name: "limits.curb_raise_width", Value: nan, Text: "one cell, 3 m at most", Unit: "m", Source: "computed"},
	}}
	data, err := Summary(inventedResult(), criteria, inventedRun())
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "summary.json", string(data))
	var plain map[string]any
	if err := json.Unmarshal(data, &plain); err != nil {
		t.Fatal(err)
	}
	for _, key := range strings.Fields("status verdict plan_length_m inflows protections voids assumed limits inputs version cautions timings_s") {
		if plain[key] == nil {
			t.Errorf("%s is missing or null", key)
		}
	}
	sealed := plain["inflows"].([]any)[3].(map[string]any)
	if sealed["short_by_m"] != nil || sealed["binding"].(map[string]any)["value"] != nil {
		t.Errorf("an inflow without any way says %v", sealed)
	}
	// An alternative holds the whole lot's design; that of a pump is null.
	list := plain["alternatives"].([]any)
	flatter := list[0].(map[string]any)["design"].(map[string]any)
	if flatter["plan_length_m"] != 41.5 || flatter["left_over_lps"] != 2.6 || len(flatter["served"].([]any)) != 3 || list[3].(map[string]any)["design"] != nil {
		t.Errorf("flatter pipe: %v; a pump: %v", flatter, list[3])
	}
}

// What a feasible design without anything to say holds is lists, not null.
func TestSummaryEmptyLists(t *testing.T) {
	data, err := Summary(&design.Result{Status: design.Feasible}, design.Criteria{}, Run{})
	if err != nil {
		t.Fatal(err)
	}
	var plain map[string]any
	if err := json.Unmarshal(data, &plain); err != nil {
		t.Fatal(err)
	}
	for _, key := range strings.Fields("inflows alternatives costs protections voids assumed notes surface_water limits inputs cautions") {
		if _, ok := plain[key].([]any); !ok {
			t.Errorf("%s is %v, want a list", key, plain[key])
		}
	}
	if _, ok := plain["timings_s"].(map[string]any); !ok {
		t.Errorf("timings_s is %v, want an object", plain["timings_s"])
	}
}

func TestInUnits(t *testing.T) {
	for _, c := range []struct{ si, want string }{
		{"invert 29.880 m", "invert 98.03 ft"},
		{"short of fall by 0.052 m.", "short of fall by 2.1 in."}, // 2.047
		{"short of fall by less than 0.001 m.", "short of fall by less than 0.1 in."},
		{"at most 0.110 m, over 0.110 m", "at most 4.3 in, over 4.3 in"}, // 4.331
		{"at most 0.111 m, over 0.111 m", "at most 4.3 in, over 4.4 in"}, // 4.370
		{"at least 1.000 m to 1.000 m", "at least 3.29 ft to 3.28 ft"},   // 3.2808
		{"at least 3.2 L/s of 3.2 L/s", "at least 50.8 gpm of 50.7 gpm"}, // 50.72
		{"through 20.0 m of pipe; 3.0 L/s left over", "through 65.6 ft of pipe; 47.6 gpm left over"},
		{"0.55 m/s, under 0.61 m/s: x", "1.8 ft/s, under 2.0 ft/s: x"},
		{"over 12.0 m2 of lot 3 mine", "over 129 ft2 of lot 3 mine"},
		{"flatter pipe, 0.75 %", "flatter pipe, 0.75 %"},
	} {
		if got := inUnits(c.si, units.IntlFoot); got != c.want {
			t.Errorf("%q gives %q, want %q", c.si, got, c.want)
		}
		if got := inUnits(c.si, units.SI); got != c.si {
			t.Errorf("%q changes to %q in SI", c.si, got)
		}
	}
}

// What lacks and what is asked for is told on the safe side in all units, and
// however little it is, never as nothing.
func TestSafeSide(t *testing.T) {
	const now = 0.1524
	for _, c := range []struct {
		missing  float64
		si, feet [3]string // missing, of a lower outlet, of the cover left of now
	}{
		{0.0003, [3]string{"less than 1 mm of fall", "1 mm lower", "152 mm"}, [3]string{"less than 0.1 in of fall", "0.1 in lower", "5.9 in"}},
		{0.0032, [3]string{"4 mm of fall", "4 mm lower", "149 mm"}, [3]string{"0.2 in of fall", "0.2 in lower", "5.8 in"}},
		{0.0150, [3]string{"15 mm of fall", "15 mm lower", "137 mm"}, [3]string{"0.6 in of fall", "0.6 in lower", "5.3 in"}},
		{0.0524, [3]string{"53 mm of fall", "53 mm lower", "100 mm"}, [3]string{"2.1 in of fall", "2.1 in lower", "3.9 in"}},
	} {
		lower := alternative{design.Alternative{Remedy: design.Remedy{Rule: design.RuleOutletInvert, Now: 30, Needed: 30 - c.missing, Unit: "m", Lift: nan}}}
		cover := alternative{design.Alternative{Remedy: design.Remedy{Rule: "limits.cover_min", Now: now, Needed: now - c.missing, Unit: "m", Lift: nan}}}
		for s, want := range map[units.System][3]string{units.SI: c.si, units.USFoot: c.feet} {
			if got := [3]string{lack(design.Inflow{ShortBy: c.missing}, s), lower.needed(s), cover.needed(s)}; got != want {
				t.Errorf("%g m: %q, want %q", c.missing, got, want)
			}
		}
	}
}

// Rain in a sentence is turned into inches with the rest.
func TestRainInUnits(t *testing.T) {
	if got, want := inUnits("storm: 177.8 mm/h over 2.00 m", units.USFoot), "storm: 7.00 in/h over 6.6 ft"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
