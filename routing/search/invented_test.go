package search

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/routing/constraint"
)

// invented is a case of 20 by 24 cells of 0.5 m on level ground at 100 m, the ceiling
// of inverts at 99.6, as a file has it but for what is given.
func invented(t *testing.T, model, rest string) *caseFile {
	t.Helper()
	var c caseFile
	for _, part := range []string{
		fmt.Sprintf(`{"cell": 0.5, "nx": 20, "ny": 24, "ground": %s, "cover": 0.3, "od": 0.1, "dmax": 5, "smin": 0.01, "start": {"cell": [10, 22]}}`, everywhere(100)),
		rest,
	} {
		if err := json.Unmarshal([]byte(part), &c); err != nil {
			t.Fatal(err)
		}
	}
	c.Model, c.above = model, math.NaN()
	c.cheapestMetre()
	return &c
}

// everywhere is a field of one value.
func everywhere(v float64) string {
	field, _ := json.Marshal(slices.Repeat([][]float64{slices.Repeat([]float64{v}, 20)}, 24))
	return string(field)
}

// row is a curb of all cells of row 0.
func row(least float64) string {
	var list []string
	for i := range 20 {
		list = append(list, fmt.Sprintf(`{"cell": [%d, 0], "min_invert": %.12g}`, i, least))
	}
	return `"targets": [` + strings.Join(list, ", ") + `]`
}

// length is that of a way.
func length(path ...orb.Point) float64 { return planar.Length(orb.LineString(path)) }

// Ways in the plane whose answers are known by formula.
func TestInventedPlane(t *testing.T) {
	start := orb.Point{5.25, 11.25}
	// Round the left end of an obstacle to a single target.
	round := length(start, orb.Point{3.1, 5.9}, orb.Point{3.1, 4.3}, orb.Point{3.75, 0.25})
	alone := func(slack float64) string {
		return fmt.Sprintf(`{"obstacles": [[3.1, 4.3, 9.9, 5.9]], "targets": [{"cell": [7, 0], "min_invert": %.12g}], `, 99.6-0.01*round-slack)
	}
	gap := length(start, orb.Point{5.6, 7}, orb.Point{5.6, 0.25})
	// Beside a strip that no pipe gets over or under.
	beside := length(start, orb.Point{6, 6}, orb.Point{6, 0.25})
	for name, rest := range map[string]string{
		"no slack":   alone(0.0001) + fmt.Sprintf(`"expected": {"feasible": true, "cost": %.12g, "outlet_margin": 0.0001, "tolerance": 5e-5}}`, round),
		"to spare":   alone(0.05) + fmt.Sprintf(`"expected": {"feasible": true, "cost": %.12g, "outlet_margin": 0.05, "tolerance": 1e-6}}`, round),
		"too low":    alone(-0.0002) + `"expected": {"feasible": false, "outlet_margin": -0.0002, "tolerance": 1e-6}}`,
		"narrow gap": fmt.Sprintf(`{"obstacles": [[-1, 5, 5.6, 7], [5.65, 5, 20, 7]], %s, "expected": {"feasible": true, "cost": %.12g}}`, row(96), gap),
		"narrow gap or round": fmt.Sprintf(`{"obstacles": [[-1, 5, 5.6, 7], [5.9, 5, 9, 7]], %s, "expected": {"feasible": true, "cost": %.12g}}`,
			row(96), gap),
		"touching corners": fmt.Sprintf(`{"obstacles": [[-1, 7, 6.4, 9], [6.4, 5, 20, 7]], %s, "expected": {"feasible": true, "cost": %.12g}}`, row(96),
			length(start, orb.Point{6.4, 9}, orb.Point{6.4, 0.25})),
		"between two strips": fmt.Sprintf(`{"utility_strips": [{"polygon": [[-1, 5], [12, 5], [12, 6], [-1, 6]], "blocked": [99.54, 99.9]},
			{"polygon": [[-1, 5.4], [12, 5.4], [12, 5.8], [-1, 5.8]], "blocked": [99.2, 99.40]}], %s, "expected": {"feasible": true, "cost": 11}}`, row(99.42)),
		"just over a strip": fmt.Sprintf(`{"utility_strips": [{"polygon": [[-1, 5], [12, 5], [12, 6], [-1, 6]], "blocked": [99, 99.5375]}], %s,
			"expected": {"feasible": true, "cost": 11}}`, row(99.3)),
		"beside a strip": fmt.Sprintf(`{"utility_strips": [{"polygon": [[-1, 5], [6, 5], [6, 6], [-1, 6]], "blocked": [90, 99.9]}], %s,
			"expected": {"feasible": true, "cost": %.12g}}`, row(96), beside),
		"shut by a strip's outline": `{"obstacles": [[6.25, 4, 20, 8]], "utility_strips": [{"polygon": [[-1, 5], [6.25, 5], [6.25, 6], [-1, 6]], "blocked": [90, 99.9]}], ` +
			row(96) + `, "expected": {"feasible": false}}`,
		"on the curb": `{"start": {"cell": [8, 0]}, ` + row(96) + `, "expected": {"feasible": true, "cost": 0, "outlet_margin": 3.6}}`,
		"cheap ground": fmt.Sprintf(`{"unit": %s, %s, "expected": {"feasible": true, "cost": %.12g}}`,
			everywhere(0.25), row(96), 11*0.25),
		"limits": `{` + row(99.4) + `, "expected": {"feasible": true, "cost": 11, "outlet_margin": 0.09, "cover_margin": 0.09,
			"smin_max": 0.0181818181818, "dmax_needed": 0.51}}`,
		"limits of none": `{` + row(99.53) + `, "expected": {"feasible": false, "outlet_margin": -0.04, "cover_margin": -0.04, "smin_max": 0.00636363636363}}`,
	} {
		t.Run(name, func(t *testing.T) { runContinuous(t, invented(t, "continuous", rest)) })
	}
}

// Lattice cases at the edge, their answers by hand.
func TestInventedLattice(t *testing.T) {
	const at = `"targets": [{"cell": [10, 0], "min_invert": `
	for name, rest := range map[string]string{
		// 11 m to the target: limits far from those as filed.
		"wide limits": `{"dmax": 200, ` + at + `94}], "expected": {"feasible": true, "cost": 11, "outlet_margin": 5.49, "start_excess": -5.49,
			"cover_margin": 5.49, "smin_max": 0.50909090909, "dmax_needed": 0.51}}`,
		"steep":        `{"dmax": 200, ` + at + `80}], "expected": {"feasible": true, "cost": 11, "smin_max": 1.7818181818}}`,
		"deep":         `{"dmax": 300, "smin": 8, ` + at + `0}], "expected": {"feasible": true, "cost": 11, "dmax_needed": 88.4}}`,
		"start at end": `{"start": {"cell": [10, 0]}, "dmax": 1, ` + at + `94}], "expected": {"feasible": true, "cost": 0, "outlet_margin": 5.6, "start_excess": -0.6}}`,
		"start shut": `{"blocked": ["` + strings.Repeat("....................\", \"", 22) + `..........#.........", "...................."], ` + at + `94}],
			"expected": {"feasible": false}}`,
		// What is asked for is a rounding above the end of a band.
		"at a band's end": `{"utilities": [{"cell": [10, 0], "blocked": [98, 99.55]}], ` + at + `98.00000000000006}],
			"expected": {"feasible": true, "cost": 11, "outlet_margin": 0}}`,
	} {
		t.Run(name, func(t *testing.T) { runLattice(t, invented(t, "lattice8", rest)) })
	}
}

// Between the stations of a line in the plane ceiling and floor stay within their
// fields, which bend.
func TestPlaneLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(53, 59))
	c := invented(t, "continuous", `{`+row(96)+`}`)
	for j := range c.Ground {
		for i := range c.Ground[j] {
			c.Ground[j][i] += 20 * rng.Float64()
		}
	}
	m := newContinuous(c, asFiled())
	somewhere := func() orb.Point { return orb.Point{0.25 + 9.5*rng.Float64(), 0.25 + 11.5*rng.Float64()} }
	for range 200 {
		a, b := somewhere(), somewhere()
		st, _, ok := m.line(nil, a, b)
		if !ok {
			t.Fatal("nothing is in the way")
		}
		whole := planar.Distance(a, b)
		for k := range 1000 {
			s := whole * (float64(k) + 0.5) / 1000
			i := slices.IndexFunc(st, func(x constraint.Station) bool { return x.S > s })
			x, y := st[i-1], st[i]
			u := (s - x.S) / (y.S - x.S)
			f := m.at(orb.Point{a[0] + s/whole*(b[0]-a[0]), a[1] + s/whole*(b[1]-a[1])})
			if over := x.Ceiling*(1-u) + y.Ceiling*u - f.ceiling; over > 1e-9 {
				t.Fatalf("%v to %v: the ceiling at %.3f m is %.4f too high", a, b, s, over)
			}
			if under := f.floor - x.Floor*(1-u) - y.Floor*u; under > 1e-9 {
				t.Fatalf("%v to %v: the floor at %.3f m is %.4f too low", a, b, s, under)
			}
		}
	}
}
