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

// Ways in the plane whose answers are known by formula.
func TestInventedPlane(t *testing.T) {
	for name, rest := range map[string]string{
		"between two strips": fmt.Sprintf(`{"utility_strips": [{"polygon": [[-1, 5], [12, 5], [12, 6], [-1, 6]], "blocked": [99.54, 99.9]},
			{"polygon": [[-1, 5.4], [12, 5.4], [12, 5.8], [-1, 5.8]], "blocked": [99.2, 99.40]}], %s, "expected": {"feasible": true, "cost": 11}}`, row(99.42)),
		"just over a strip": fmt.Sprintf(`{"utility_strips": [{"polygon": [[-1, 5], [12, 5], [12, 6], [-1, 6]], "blocked": [99, 99.5375]}], %s,
			"expected": {"feasible": true, "cost": 11}}`, row(99.3)),
		"shut by a strip's outline": `{"obstacles": [[6.25, 4, 20, 8]], "utility_strips": [{"polygon": [[-1, 5], [6.25, 5], [6.25, 6], [-1, 6]], "blocked": [90, 99.9]}], ` +
			row(96) + `, "expected": {"feasible": false}}`,
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
