package sizing_test

import (
	"fmt"
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
	"curbfall/routing/sizing"
)

// One pipe of 20 m from a lawn at 10.00 to a curb hole no lower than 9.30. Either
// size carries 5 L/s at 1 %; the cheaper one is the one that digs least.
func ExampleSolve() {
	sizes := []constraint.Size{
		{Nominal: "4 in", Inside: 0.101, Outside: 0.107, Roughness: 0.012},
		{Nominal: "6 in", Inside: 0.150, Outside: 0.159, Roughness: 0.012},
	}
	pipe := sizing.Pipe{Next: -1, Length: 20, Flow: 0.005}
	for _, size := range sizes {
		st := sizing.Trench([]sizing.Ground{{S: 0, Elevation: 10}, {S: 20, Elevation: 9.8}}, size, 0.3, 0.9)
		st[1].Floor = 9.30
		pipe.Choices = append(pipe.Choices, sizing.Choice{Stations: st, Limits: hydraulics.FlowLimits{
			SlopeMin: 0.01, SlopeMax: math.Inf(1), FillingMax: 1, VelocityMax: math.Inf(1)}})
	}
	d, err := sizing.Solve(&sizing.Problem{
		Pipes: []sizing.Pipe{pipe}, Sizes: sizes, Step: 0.01, Datum: 9.30,
		Cost: sizing.Cost{Head: func(_, _ int, up float64) float64 { return 10 - up }},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	r := d.Runs[0]
	fmt.Printf("%s from %.2f to %.2f\n", sizes[r.Size].Nominal, r.InvertUp, r.InvertDown)
	// Output: 4 in from 9.59 to 9.39
}
