package search

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
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
