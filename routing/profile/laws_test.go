package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"curbfall/routing/constraint"
)

// smallRandom yields solved random corridors for the laws below.
func smallRandom(t *testing.T, seed uint64, n int, law func(c *Chain, laid []Run)) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 11))
	solved := 0
	for k := 0; solved < n; k++ {
		if k > 10*n {
			t.Fatalf("only %d of %d corridors feasible", solved, k)
		}
		c := randomChain(rng, 4+rng.IntN(12))
		if laid, err := Solve(c); err == nil {
			solved++
			law(c, laid)
		}
	}
}

// limitsAt interpolates a chain's limits just inside the stretch between two
// stations that holds s, written apart from the package's own.
func limitsAt(c *Chain, s float64) (ceiling, floor, low, high float64) {
	for k := 1; k < len(c.Stations); k++ {
		a, b := c.Stations[k-1], c.Stations[k]
		if s > a.S && s < b.S {
			t := (s - a.S) / (b.S - a.S)
			mix := func(x, y float64) float64 { return x + (y-x)*t }
			low, high = math.Inf(1), math.Inf(-1)
			if a.Low < a.High && b.Low < b.High {
				low, high = mix(a.Low, b.Low), mix(a.High, b.High)
			}
			return mix(a.Ceiling, b.Ceiling), mix(a.Floor, b.Floor), low, high
		}
	}
	return math.NaN(), math.NaN(), 0, 0
}

func TestEveryCentimetreKeepsTheLaw(t *testing.T) {
	smallRandom(t, 20, 400, func(c *Chain, laid []Run) {
		for _, r := range laid {
			for s := r.From + 0.0037; s < r.To; s += 0.01 {
				ceiling, floor, low, high := limitsAt(c, s)
				if math.IsNaN(ceiling) {
					continue // on a station, where Check looks
				}
				y := r.InvertFrom + (r.InvertTo-r.InvertFrom)*(s-r.From)/(r.To-r.From)
				if y > ceiling+constraint.Tolerance || y < floor-constraint.Tolerance ||
					y > low+constraint.Tolerance && y < high-constraint.Tolerance {
					t.Fatalf("S %.4f: invert %.9f, floor %.9f, ceiling %.9f, utility %.9f to %.9f\n%+v", s, y, floor, ceiling, low, high, laid)
				}
			}
			before := c.Start()
			for _, q := range c.Stretches {
				if r.From < q.To && r.To > before && r.InvertFrom-r.InvertTo < q.SlopeMin*(r.To-r.From)-constraint.Tolerance {
					t.Fatalf("slope %.6f under %.6f: %+v", r.Slope(), q.SlopeMin, r)
				}
				before = q.To
			}
		}
	})
}

// Inverts lie between the lowest and the highest profile, and the highest one
// counts as runs itself: with a break at each station and no jump, drop or
// largest slope in the way there are never more runs than its own grades.
func TestNeverMoreRunsThanTheHighestProfile(t *testing.T) {
	compared := 0
	smallRandom(t, 21, 1500, func(c *Chain, laid []Run) {
		high, short := Highest(c)
		low := Lowest(c)
		if short != nil {
			t.Fatalf("solved, but %v", short)
		}
		grades, smooth := 1, math.IsInf(c.SlopeMax, 1) && c.Breaks == nil
		slope := math.NaN()
		for k, st := range c.Stations {
			if !(high[k] >= low[k]-2*constraint.Tolerance) {
				t.Fatalf("highest %.9f below lowest %.9f at S %g", high[k], low[k], st.S)
			}
			if k == 0 {
				continue
			}
			d := st.S - c.Stations[k-1].S
			if d == 0 || c.Stations[k-1].Low < c.Stations[k-1].High {
				smooth = false
				continue
			}
			next := (high[k-1] - high[k]) / d
			if k > 1 && math.Abs(next-slope) > 1e-9 {
				grades++
			}
			slope = next
		}
		for _, r := range laid {
			for k, st := range c.Stations {
				if y := r.Invert(st.S); st.S > r.From && st.S < r.To && (y > high[k]+2*constraint.Tolerance || y < low[k]-2*constraint.Tolerance) {
					t.Fatalf("invert %.9f outside %.9f to %.9f at S %g", y, low[k], high[k], st.S)
				}
			}
		}
		if smooth {
			compared++
			if len(laid) > grades {
				t.Fatalf("%d runs where the highest profile has %d grades: %+v", len(laid), grades, c)
			}
		}
	})
	if compared < 100 {
		t.Errorf("only %d corridors compared", compared)
	}
}

func (c *Chain) changed(move func(s, z float64) (float64, float64)) *Chain {
	d := *c
	d.Stations, d.Stretches, d.Nodes, d.Breaks = slices.Clone(c.Stations), slices.Clone(c.Stretches), slices.Clone(c.Nodes), slices.Clone(c.Breaks)
	z := func(v float64) float64 { _, w := move(0, v); return w }
	s := func(v float64) float64 { w, _ := move(v, 0); return w }
	for k, st := range d.Stations {
		d.Stations[k] = constraint.Station{S: s(st.S), Ceiling: z(st.Ceiling), Floor: z(st.Floor), Low: z(st.Low), High: z(st.High)}
	}
	for k := range d.Stretches {
		d.Stretches[k].To = s(d.Stretches[k].To)
	}
	for k := range d.Nodes {
		d.Nodes[k] = s(d.Nodes[k])
	}
	for k := range d.Breaks {
		d.Breaks[k] = s(d.Breaks[k])
	}
	d.StartLow, d.StartHigh, d.EndMin = z(d.StartLow), z(d.StartHigh), z(d.EndMin)
	return &d
}

func TestShiftedChainsGiveShiftedRuns(t *testing.T) {
	const along, up = 16, 32 // powers of two: S keeps its bits, z all but the last
	smallRandom(t, 22, 500, func(c *Chain, laid []Run) {
		again, err := Solve(c.changed(func(s, z float64) (float64, float64) { return s + along, z + up }))
		if err != nil || len(again) != len(laid) {
			t.Fatalf("%d runs, shifted %d: %v", len(laid), len(again), err)
		}
		if d := math.Abs(area(again) - area(laid) - up*(c.End()-c.Start())); d > 1e-6 {
			t.Fatalf("area differs by %g m2 after a shift", d)
		}
	})
}

// Turned end for end and upside down, falls stay falls, ceilings turn into
// floors, and the fewest runs stay as many. Drops do too, but the stations of a
// jump at a node change places with the runs.
func TestMirroredChainsTakeAsManyRuns(t *testing.T) {
	smallRandom(t, 23, 500, func(c *Chain, laid []Run) {
		if !math.IsInf(c.StartLow, 0) || !math.IsInf(c.StartHigh, 0) || !math.IsInf(c.EndMin, 0) {
			return
		}
		end := c.End()
		m := c.changed(func(s, z float64) (float64, float64) { return end - s, -z })
		slices.Reverse(m.Stations)
		for k, st := range m.Stations {
			m.Stations[k].Ceiling, m.Stations[k].Floor = st.Floor, st.Ceiling
			m.Stations[k].Low, m.Stations[k].High = st.High, st.Low
			if st.High == st.Low || math.IsInf(st.Low, 0) {
				m.Stations[k].Low, m.Stations[k].High = math.Inf(1), math.Inf(-1)
			}
		}
		m.StartLow, m.StartHigh, m.EndMin = math.Inf(-1), math.Inf(1), math.Inf(-1)
		for k, n := 0, len(c.Stretches); k < n; k++ {
			to := end
			if j := n - 2 - k; j >= 0 {
				to = end - c.Stretches[j].To
			}
			m.Stretches[k] = Stretch{To: to, SlopeMin: c.Stretches[n-1-k].SlopeMin}
		}
		again, err := Solve(m)
		if err != nil || len(again) != len(laid) {
			t.Fatalf("%d runs, mirrored %d: %v\n%+v\n%+v", len(laid), len(again), err, c, m)
		}
	})
}

func TestSolveTwiceIsTheSame(t *testing.T) {
	smallRandom(t, 24, 200, func(c *Chain, laid []Run) {
		if again, _ := Solve(c); !slices.Equal(again, laid) {
			t.Fatalf("%v, then %v", laid, again)
		}
	})
}

// A shortfall is the height that lacks: raised by it, and by no less, the start
// and the ceilings let a profile through.
func TestShortfallIsTheHeightThatLacks(t *testing.T) {
	rng := rand.New(rand.NewPCG(25, 11))
	for tried := 0; tried < 1000; {
		c := randomChain(rng, 4+rng.IntN(8))
		for k := range c.Stations {
			c.Stations[k].Low, c.Stations[k].High = math.Inf(1), math.Inf(-1)
		}
		_, short := Highest(c)
		if short == nil {
			continue
		}
		tried++
		if _, err := Solve(c); !errors.As(err, new(*Shortfall)) {
			t.Fatalf("Solve says %v", err)
		}
		for _, spare := range []float64{1e-6, -1e-6} {
			d := c.changed(func(s, z float64) (float64, float64) { return s, z })
			for k := range d.Stations {
				d.Stations[k].Ceiling += short.Missing + spare
			}
			d.StartHigh += short.Missing + spare
			if _, left := Highest(d); (left == nil) != (spare > 0) {
				t.Fatalf("%v: raised by %+g m more: %v", short, spare, left)
			}
		}
		if short.Bound > short.At {
			t.Fatalf("%v: bound below where it fails", short)
		}
	}
}
