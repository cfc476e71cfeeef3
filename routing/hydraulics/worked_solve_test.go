package hydraulics

import (
	"math"
	"strings"
)

// quantities are computed outputs in SI by name.
type quantities map[string]float64

// solver computes the outputs of one kind of example. It is chosen by words of
// the topic and by the inputs given and outputs asked, never by the id.
type solver struct {
	words   []string // one of them must be in the topic; none: any topic
	needs   []string // inputs
	without []string // inputs that make it another example
	asks    []string // every output asked must be among these
	solve   func(x inputs) quantities
}

// inputs are the inputs in SI by name.
type inputs map[string][]float64

func (x inputs) one(name string) float64 { return x[name][0] }

// roundWords say that the section is a circle; so does an input D beside them.
var roundWords = []string{"pipe", "circular", "full-flow", "full flow", "diameter", "normal depth", "critical depth", "partial flow"}

var solvers = []solver{
	{words: roundWords, needs: []string{"D", "n", "S", "Q"}, asks: []string{"y", "V", "top_width", "T", "A", "P", "R", "y_D", "d_D"}, solve: normalFlow},
	{words: roundWords, needs: []string{"D", "n", "S", "y"}, without: []string{"Q"}, asks: []string{"Q", "V", "A", "P", "R", "top_width", "T"}, solve: flowAtDepth},
	{words: roundWords, needs: []string{"D", "n", "Q", "y"}, without: []string{"S"}, asks: []string{"Sf", "V"}, solve: func(x inputs) quantities {
		return quantities{
			"Sf": FrictionSlope(x.one("Q"), x.one("D"), x.one("n"), x.one("y")),
			"V":  x.one("Q") / SegmentAt(x.one("D"), x.one("y")).Area,
		}
	}},
	{words: roundWords, needs: []string{"D", "n", "Q"}, without: []string{"y", "S"}, asks: []string{"yc", "Sc", "Vc"}, solve: criticalFlow},
	{words: roundWords, needs: []string{"D", "Q"}, without: []string{"n", "y", "S"}, asks: []string{"yc", "Vc"}, solve: criticalFlow},
	{words: roundWords, needs: []string{"D", "n", "Q"}, without: []string{"y", "S", "L"}, asks: []string{"Sf", "S", "V"}, solve: func(x inputs) quantities {
		s := SlopeForFlow(x.one("Q"), x.one("D"), x.one("n"))
		return quantities{"Sf": s, "S": s, "V": FullVelocity(x.one("D"), x.one("n"), s)}
	}},
	{words: roundWords, needs: []string{"D", "n", "S"}, without: []string{"Q", "y", "V"}, asks: []string{"Q", "V", "Qf", "Vf"}, solve: func(x inputs) quantities {
		q, v := FullCapacity(x.one("D"), x.one("n"), x.one("S")), FullVelocity(x.one("D"), x.one("n"), x.one("S"))
		return quantities{"Q": q, "Qf": q, "V": v, "Vf": v}
	}},
	{words: []string{"full-flow", "full flow", "pipe"}, needs: []string{"D", "n", "V"}, without: []string{"S", "y"}, asks: []string{"S", "Sf", "Q"}, solve: func(x inputs) quantities {
		s := SlopeForVelocity(x.one("V"), x.one("D"), x.one("n"))
		return quantities{"S": s, "Sf": s, "Q": FullCapacity(x.one("D"), x.one("n"), s)}
	}},
	{words: roundWords, needs: []string{"Q", "n", "S"}, without: []string{"D", "y", "V"}, asks: []string{"D"}, solve: func(x inputs) quantities {
		return quantities{"D": SizeForFlow(x.one("Q"), x.one("n"), x.one("S"))}
	}},
	{words: []string{"gutter"}, needs: []string{"n", "Sx", "SL", "T"}, without: []string{"Q"}, asks: []string{"Q", "Eo"}, solve: func(x inputs) quantities {
		return quantities{"Q": x.gutter().Flow(x.one("T")), "Eo": x.gutter().FrontShare(x.one("T"))}
	}},
	{words: []string{"gutter"}, needs: []string{"n", "Sx", "SL", "Q"}, without: []string{"T"}, asks: []string{"T", "Eo"}, solve: func(x inputs) quantities {
		spread := x.gutter().Spread(x.one("Q"))
		return quantities{"T": spread, "Eo": x.gutter().FrontShare(spread)}
	}},
	{words: []string{"weir"}, needs: []string{"Q", "d", "Cw"}, asks: []string{"P"}, solve: func(x inputs) quantities {
		return quantities{"P": WeirLength(x.one("Cw"), x.one("Q"), x.one("d"))}
	}},
	{words: []string{"weir"}, needs: []string{"P", "d", "Cw"}, without: []string{"Q"}, asks: []string{"Q"}, solve: func(x inputs) quantities {
		return quantities{"Q": WeirFlow(x.one("Cw"), x.one("P"), x.one("d"))}
	}},
	{words: []string{"rational"}, needs: []string{"C", "i", "A"}, asks: []string{"Q"}, solve: rational("A")},
	{words: []string{"rational"}, needs: []string{"C", "i", "areas"}, asks: []string{"Q", "Cw"}, solve: rational("areas")},
	{words: []string{"coefficient"}, needs: []string{"areas", "C"}, without: []string{"i"}, asks: []string{"Cw"}, solve: weighted("areas")},
	{words: []string{"coefficient"}, needs: []string{"A", "C"}, without: []string{"i"}, asks: []string{"Cw"}, solve: weighted("A")},
	{words: []string{"sheet flow"}, needs: []string{"n", "L", "P2", "s"}, asks: []string{"Tt"}, solve: func(x inputs) quantities {
		return quantities{"Tt": SheetFlowTime(x.one("n"), x.one("L"), x.one("P2"), x.one("s"))}
	}},
	{words: []string{"unpaved"}, needs: []string{"s"}, asks: []string{"V", "Tt"}, solve: shallow(ShallowUnpaved)},
	{words: []string{"paved"}, needs: []string{"s"}, asks: []string{"V", "Tt"}, solve: shallow(ShallowPaved)},
	{words: []string{"channel flow"}, needs: []string{"A", "P", "n", "s"}, asks: []string{"V", "Tt", "R", "Q"}, solve: func(x inputs) quantities {
		radius := x.one("A") / x.one("P")
		v := ManningVelocity(radius, x.one("n"), x.one("s"))
		return travel(x, quantities{"V": v, "R": radius, "Q": v * x.one("A")})
	}},
	{words: []string{"velocity-method", "velocity method", "travel time"}, needs: []string{"L", "V"}, asks: []string{"Tt", "Tc", "tc"}, solve: func(x inputs) quantities {
		var times []float64
		for i, l := range x["L"] {
			times = append(times, l/x["V"][i])
		}
		sum := TimeOfConc(0, times...)
		return quantities{"Tt": sum, "Tc": sum, "tc": sum}
	}},
}

// unused are the kinds of example whose equation nothing here computes with, and
// why not.
var unused = []struct{ word, why string }{
	{"curb-opening", "water enters a lot's pipes by grates and downspouts, not through the street's curb"},
	{"curb opening", "water enters a lot's pipes by grates and downspouts, not through the street's curb"},
	{"lag method", "a yard's ways are walked on its raster; a lag by curve number is for watersheds"},
	{"channel-fall", "for basins of kilometres"},
}

// whyNot says why a row is not computed.
func whyNot(r example) string {
	for _, u := range unused {
		if strings.Contains(r.topic, u.word) {
			return u.why
		}
	}
	return "topic not understood"
}

// gutter reads n, Sx, SL and, of a depressed one, W and a.
func (x inputs) gutter() Gutter {
	g := Gutter{Roughness: x.one("n"), CrossSlope: x.one("Sx"), Grade: x.one("SL")}
	if x["W"] != nil && x["a"] != nil {
		g.Width, g.Depression = x.one("W"), x.one("a")
	}
	return g
}

func normalFlow(x inputs) quantities {
	p := NormalDepth(x.one("Q"), x.one("D"), x.one("n"), x.one("S"))
	s := SegmentAt(x.one("D"), p.Depth)
	return quantities{
		"y": p.Depth, "V": p.Velocity, "y_D": p.DepthRatio, "d_D": p.DepthRatio,
		"top_width": s.TopWidth, "T": s.TopWidth, "A": s.Area, "P": s.WettedPerimeter, "R": s.HydraulicRadius,
	}
}

func flowAtDepth(x inputs) quantities {
	q, v := FlowAtDepth(x.one("D"), x.one("n"), x.one("S"), x.one("y"))
	s := SegmentAt(x.one("D"), x.one("y"))
	return quantities{"Q": q, "V": v, "A": s.Area, "P": s.WettedPerimeter, "R": s.HydraulicRadius, "top_width": s.TopWidth, "T": s.TopWidth}
}

func criticalFlow(x inputs) quantities {
	yc := CriticalDepth(x.one("Q"), x.one("D"))
	out := quantities{"yc": yc, "Vc": x.one("Q") / SegmentAt(x.one("D"), yc).Area}
	if x["n"] != nil {
		out["Sc"] = FrictionSlope(x.one("Q"), x.one("D"), x.one("n"), yc)
	}
	return out
}

// catchment adds up areas with their coefficients, or with one for all.
func catchment(x inputs, areas string) (c Catchment) {
	for i, a := range x[areas] {
		c.Add(a, x["C"][min(i, len(x["C"])-1)])
	}
	return c
}

func weighted(areas string) func(inputs) quantities {
	return func(x inputs) quantities { return quantities{"Cw": catchment(x, areas).Coeff()} }
}

func rational(areas string) func(inputs) quantities {
	return func(x inputs) quantities {
		c := catchment(x, areas)
		return quantities{"Q": RationalFlow(c.Coeff(), x.one("i"), c.Area), "Cw": c.Coeff()}
	}
}

func shallow(cover float64) func(inputs) quantities {
	return func(x inputs) quantities {
		return travel(x, quantities{"V": ShallowVelocity(cover, x.one("s"))})
	}
}

// travel adds the time over length L, where one is given.
func travel(x inputs, out quantities) quantities {
	if x["L"] != nil {
		out["Tt"] = x.one("L") / out["V"]
	}
	return out
}

// solve computes a row; understood is false where no solver is for it. A row
// whose input is a sum of ids adds up their computed travel times.
func solve(r example, all []example) (got quantities, understood bool) {
	if ids := strings.Split(r.rawInputs, "+"); len(r.in) == 0 && len(ids) > 1 {
		var times []float64
		for _, id := range ids {
			for _, other := range all {
				if other.id != strings.TrimSpace(id) || other.id == r.id {
					continue
				}
				part, ok := solve(other, all)
				if _, timed := part["Tt"]; !ok || !timed {
					return nil, false
				}
				times = append(times, part["Tt"])
			}
		}
		if len(times) != len(ids) {
			return nil, false
		}
		sum := TimeOfConc(0, times...)
		return quantities{"Tc": sum, "tc": sum, "Tt": sum}, true
	}
	x := inputs{}
	for _, q := range r.in {
		var si []float64
		for _, v := range q.raw {
			si = append(si, v*q.factor)
		}
		x[q.name] = si
	}
	// A weir's coefficient has the unit length^0.5/s, which no key names: the
	// row's own unit system holds.
	if cw := x["Cw"]; cw != nil && r.units == "US" {
		for i := range cw {
			cw[i] *= math.Sqrt(foot)
		}
	}
	for _, s := range solvers {
		if s.fits(r, x) {
			return s.solve(x), true
		}
	}
	return nil, false
}

func (s solver) fits(r example, x inputs) bool {
	topical := len(s.words) == 0
	for _, w := range s.words {
		topical = topical || strings.Contains(r.topic, w)
	}
	if !topical {
		return false
	}
	for _, n := range s.needs {
		if x[n] == nil {
			return false
		}
	}
	for _, n := range s.without {
		if x[n] != nil {
			return false
		}
	}
	for _, q := range r.out {
		known := false
		for _, a := range s.asks {
			known = known || q.name == a
		}
		if !known {
			return false
		}
	}
	// Lists that belong together are as long as each other; one coefficient may
	// serve all areas. A value that is no number is beyond every formula here.
	if l, v := x["L"], x["V"]; l != nil && v != nil && len(l) != len(v) {
		return false
	}
	for _, areas := range []string{"areas", "A"} {
		if a, c := x[areas], x["C"]; a != nil && c != nil && len(c) != 1 && len(a) != len(c) {
			return false
		}
	}
	for _, values := range x {
		for _, v := range values {
			if math.IsNaN(v) {
				return false
			}
		}
	}
	return true
}
