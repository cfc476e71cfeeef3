package profile_test

import (
	"fmt"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/profile"
)

// A pipe of 20 m at 1 % or more. The ceiling dips to 9.70 m half way, the floor
// lies 0.40 m below it. One grade does: from 9.80 at 1 % it touches the dip and
// ends at 9.60. Asked to start at 9.90 or above and to end at 9.55 or above, one
// grade would pass the dip at (9.90 + 9.55) / 2 = 9.725, too high: it breaks
// there. No grades end at 9.65, 10 m and 0.10 m of fall below the dip.
func ExampleSolve() {
	c := profile.NewChain()
	c.Append([]constraint.Station{
		constraint.Free(0, 10.00, 9.60),
		constraint.Free(10, 9.70, 9.30),
		constraint.Free(20, 9.80, 9.40),
	}, 0.01)

	print := func() {
		laid, err := profile.Solve(c)
		if err != nil {
			fmt.Println(err)
		}
		for _, r := range laid {
			fmt.Printf("%4.1f to %4.1f m: invert %.2f to %.2f, %.1f %%\n", r.From, r.To, r.InvertFrom, r.InvertTo, 100*r.Slope())
		}
	}
	fmt.Println("free:")
	print()
	c.StartLow, c.EndMin = 9.90, 9.55
	fmt.Println("starts at 9.90, ends at 9.55 or above:")
	print()
	c.EndMin = 9.65
	fmt.Println("ends at 9.65:")
	print()
	// Output:
	// free:
	//  0.0 to 20.0 m: invert 9.80 to 9.60, 1.0 %
	// starts at 9.90, ends at 9.55 or above:
	//  0.0 to 10.0 m: invert 10.00 to 9.70, 3.0 %
	// 10.0 to 20.0 m: invert 9.70 to 9.60, 1.0 %
	// ends at 9.65:
	// invert 9.600 m at S 20.00 m, end asks for 9.650 m: short by 0.05 m, held down by the ceiling at S 10.00 m
}

// A path of 10 m with a bend 6 m above the outlet, whose grade breaks 2 m down
// from its start, that is at station 8.
func ExampleAlignment() {
	path := orb.LineString{{0, 6}, {4, 6}, {4, 0}}
	a, err := profile.Alignment(path, []profile.Run{
		{From: 0, To: 2, InvertFrom: 9.90, InvertTo: 9.80},
		{From: 2, To: 10, InvertFrom: 9.80, InvertTo: 9.72},
	}, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range a.Coords() {
		fmt.Printf("station %4.1f: (%g, %g) invert %.2f\n", p[3], p[0], p[1], p[2])
	}
	// Output:
	// station  0.0: (4, 0) invert 9.72
	// station  6.0: (4, 6) invert 9.78
	// station  8.0: (2, 6) invert 9.80
	// station 10.0: (0, 6) invert 9.90
}
