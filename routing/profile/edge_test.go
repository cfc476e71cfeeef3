package profile

import (
	"errors"
	"math"
	"slices"
	"testing"

	"curbfall/routing/constraint"
)

// level is a corridor between two constant elevations, one station a metre.
func level(length int, ceiling, floor, slopeMin float64) *Chain {
	c := NewChain()
	for k := 0; k <= length; k++ {
		c.Stations = append(c.Stations, constraint.Free(float64(k), ceiling, floor))
	}
	c.Stretches = []Stretch{{To: float64(length), SlopeMin: slopeMin}}
	return c
}

// Limits that leave one line exactly, as when the end asks for all there is.
func TestOneLineLeft(t *testing.T) {
	c := level(10, 10, 9.9, 0.01)
	laid, err := Solve(c)
	if err != nil || len(laid) != 1 || math.Abs(laid[0].InvertFrom-10) > constraint.Tolerance || math.Abs(laid[0].InvertTo-9.9) > constraint.Tolerance {
		t.Errorf("got %v, %v", laid, err)
	}
	c.Stretches[0].SlopeMin = 0.01 + 1e-6
	var short *Shortfall
	if _, err = Solve(c); !errors.As(err, &short) {
		t.Fatalf("got %v", err)
	}
	if math.Abs(short.Missing-1e-5) > 1e-12 || short.Bound != 0 || short.At != 10 || short.By != RuleCeiling || short.Needs != RuleFloor {
		t.Errorf("got %+v", short)
	}
}

func TestBindingRules(t *testing.T) {
	c := level(10, 10, 9, 0.01)
	c.StartHigh, c.EndMin = 9.5, 9.45
	var short *Shortfall
	if _, err := Solve(c); !errors.As(err, &short) || short.By != RuleStart || short.Needs != RuleEnd || math.Abs(short.Missing-0.05) > 1e-12 {
		t.Errorf("got %+v", short)
	}
	c.StartHigh = math.Inf(1)
	for k := 4; k <= 6; k++ {
		c.Stations[k].Low, c.Stations[k].High = 9.2, 10.5
	}
	if _, err := Solve(c); !errors.As(err, &short) || short.By != RuleUtility || short.Bound != 4 || math.Abs(short.Missing-0.31) > 1e-12 {
		t.Errorf("got %+v", short)
	}
}

// The outlet pipe asks for a larger slope than the main: with the end as high
// as it may be one grade cannot serve both, and the break falls on the node.
func TestSteeperOutletPipe(t *testing.T) {
	c := NewChain()
	line := func(length float64) []constraint.Station {
		return []constraint.Station{constraint.Free(0, 10, 9), constraint.Free(length, 10, 9)}
	}
	c.Append(line(40), 0.01)
	c.Append(line(5), 0.02)
	c.StartHigh, c.EndMin = 10, 9.5
	laid, err := Solve(c)
	if err != nil || len(laid) != 2 || laid[0].To != 40 {
		t.Fatalf("got %v, %v", laid, err)
	}
	if d := laid[0].Slope() - 0.01; math.Abs(d) > 1e-9 {
		t.Errorf("main at %v", laid[0].Slope())
	}
	c.EndMin = 9.1 // 0.9 m over 45 m is 2 %
	if laid, err = Solve(c); err != nil || len(laid) != 1 {
		t.Errorf("got %v, %v", laid, err)
	}
}

// Ground steps down 1 m at S 10: without a drop there the pipe above would lie
// too deep.
func TestDropAtNodeAlone(t *testing.T) {
	c := NewChain()
	c.Append([]constraint.Station{constraint.Free(0, 10, 9.5), constraint.Free(10, 10, 9.5)}, 0.01)
	c.Append([]constraint.Station{constraint.Free(0, 9, 8.5), constraint.Free(10, 9, 8.5)}, 0.01)
	laid, err := Solve(c)
	if err != nil || len(laid) != 2 {
		t.Fatalf("got %v, %v", laid, err)
	}
	for k, want := range []float64{10, 9.9, 9, 8.9} {
		got := []float64{laid[0].InvertFrom, laid[0].InvertTo, laid[1].InvertFrom, laid[1].InvertTo}[k]
		if math.Abs(got-want) > constraint.Tolerance {
			t.Errorf("invert %d: %.6f, want %.6f", k, got, want)
		}
	}
	c.Nodes = nil
	var breaks *BreaksError
	if _, err := Solve(c); !errors.As(err, &breaks) || breaks.Reached != 0 {
		t.Errorf("without the node: %v", err)
	}
}

func TestDropKeepsOffUtility(t *testing.T) {
	c := level(2, 10, 9, 0)
	c.Nodes = []float64{1}
	c.Stations[1].Low, c.Stations[1].High = 9.4, 9.6
	c.Stations[2].Ceiling = 9.2
	c.StartLow, c.SlopeMax = 9.9, 0.3 // no grade gets down to 9.2, a drop would go through
	if _, err := Solve(c); !errors.As(err, new(*BreaksError)) {
		t.Errorf("got %v", err)
	}
	c.Stations[1].Low, c.Stations[1].High = math.Inf(1), math.Inf(-1)
	if laid, err := Solve(c); err != nil || len(laid) != 2 {
		t.Errorf("got %v, %v", laid, err)
	}
}

func TestCheckFindsWhatIsWrong(t *testing.T) {
	c := level(10, 10, 9, 0.01)
	c.SlopeMax = 0.1
	c.Stations[5].Low, c.Stations[5].High = 9.4, 9.6
	c.Stations[6].Low, c.Stations[6].High = 9.4, 9.41
	good := []Run{{0, 10, 9.9, 9.7}}
	if err := Check(c, good); err != nil {
		t.Fatal(err)
	}
	for want, laid := range map[string][]Run{
		"no runs":                             nil,
		"runs do not span the chain":          {{0, 9, 9.9, 9.7}},
		"slope too small":                     {{0, 10, 9.9, 9.85}},
		"fall too large":                      {{0, 5, 10, 9.7}, {5, 6, 9.7, 9.59}, {6, 10, 9.59, 9.5}},
		"invert above the ceiling":            {{0, 10, 10.1, 9.7}},
		"invert below the floor":              {{0, 10, 9.3, 8.9}},
		"invert within a utility's clearance": {{0, 10, 9.6, 9.4}},
		"invert rises between runs":           {{0, 5, 9.9, 9.8}, {5, 10, 9.85, 9.7}},
		"drop away from a node":               {{0, 4, 9.9, 9.8}, {4, 10, 9.75, 9.65}},
		"gap between runs":                    {{0, 5, 9.9, 9.8}, {6, 10, 9.8, 9.7}},
		"run through a utility's clearance":   {{0, 5, 9.9, 9.6}, {5, 6, 9.6, 9.4}, {6, 10, 9.4, 9.3}},
		"drop through a utility's clearance":  {{0, 5, 9.9, 9.7}, {5, 10, 9.3, 9.2}},
		"first invert above its range":        {{0, 10, 9.97, 9.7}},
		"last invert too low":                 {{0, 10, 9.3, 9.15}},
	} {
		d := *c
		d.StartHigh, d.EndMin = 9.95, 9.2
		switch want {
		case "invert above the ceiling", "fall too large":
			d.StartHigh = 11
		case "invert below the floor":
			d.EndMin = 0
		case "run through a utility's clearance":
			d.SlopeMax = 1
		case "drop through a utility's clearance":
			d.Nodes = []float64{5}
		}
		var v *Violation
		if err := Check(&d, laid); !errors.As(err, &v) || v.What != want {
			t.Errorf("want %q, got %v", want, err)
		}
	}
}

func TestValidateRefuses(t *testing.T) {
	for name, spoil := range map[string]func(c *Chain){
		"one station":       func(c *Chain) { c.Stations = c.Stations[:1] },
		"void":              func(c *Chain) { c.Stations[3].Ceiling = math.NaN() },
		"endless utility":   func(c *Chain) { c.Stations[3].Low, c.Stations[3].High = 9, math.Inf(1) },
		"order":             func(c *Chain) { c.Stations[3].S = 0.5 },
		"no length":         func(c *Chain) { c.Stations = c.Stations[:2]; c.Stations[1].S = 0 },
		"no largest slope":  func(c *Chain) { c.SlopeMax = 0 },
		"rising":            func(c *Chain) { c.Stretches[0].SlopeMin = -0.01 },
		"short stretches":   func(c *Chain) { c.Stretches[0].To = 5 },
		"no stretches":      func(c *Chain) { c.Stretches = nil },
		"stretches order":   func(c *Chain) { c.Stretches = []Stretch{{10, 0.01}, {5, 0.01}} },
		"node outside":      func(c *Chain) { c.Nodes = []float64{11} },
		"start is a number": func(c *Chain) { c.StartHigh = math.NaN() },
	} {
		c := level(10, 10, 9, 0.01)
		spoil(c)
		var e *ChainError
		if _, err := Solve(c); !errors.As(err, &e) || e.Error() == "" {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

// FuzzSolve turns bytes into limits on a grid of 1/16 m, so that lines touch
// limits and each other exactly and corridors are of no height.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{3, 0, 160, 4, 16, 150, 4, 16, 140, 4, 0, 130, 4, 16, 120, 0})
	f.Add([]byte{0, 1, 10, 0, 1, 10, 0, 1, 10, 0})
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) < 7 || len(text) > 60 {
			return // too few bytes for two stations, or more than a quick case needs
		}
		c := NewChain()
		s := 0.0
		for k := 1; k+2 < len(text); k += 3 {
			st := constraint.Free(s, float64(text[k+1])/16, float64(text[k+1])/16-float64(text[k+2]%16)/16)
			if text[k+2]&16 != 0 {
				st.Low, st.High = st.Floor, st.Floor+float64(text[k+2]>>5)/16
			}
			c.Stations = append(c.Stations, st)
			if text[0]>>(k/3%8)&1 != 0 {
				c.Nodes = append(c.Nodes, s)
			}
			s += float64(text[k]%32) / 16
		}
		c.Stretches = []Stretch{{To: c.End(), SlopeMin: float64(text[0]%4) / 64}}
		laid, err := Solve(c)
		if err != nil {
			if !errors.As(err, new(*ChainError)) && !errors.As(err, new(*Shortfall)) && !errors.As(err, new(*BreaksError)) {
				t.Fatal(err)
			}
			return
		}
		if bad := Check(c, laid); bad != nil {
			t.Fatalf("%v\n%+v\n%+v", bad, laid, c)
		}
		if breaks := allBreaks(c); len(breaks) <= 8 {
			least := newReference(c, constraint.Tolerance).fewest(breaks)
			most := newReference(c, 0).fewest(breaks)
			if len(laid) < least || len(laid) > orNever(most) {
				t.Fatalf("%d runs, every set of breaks %d, eased %d\n%+v", len(laid), most, least, c)
			}
		}
	})
}

func TestBreakEvery(t *testing.T) {
	c := level(2, 10, 9, 0.01)
	c.BreakEvery(0.5)
	if want := []float64{0.5, 1, 1.5}; !slices.Equal(c.Breaks, want) {
		t.Errorf("got %v, want %v", c.Breaks, want)
	}
}
