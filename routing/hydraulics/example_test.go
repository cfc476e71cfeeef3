package hydraulics_test

import (
	"fmt"

	"curbfall/routing/hydraulics"
)

// A quarter of a 200 m2 roof in 180 mm/h of rain, in a smooth 4 in pipe at 1 %.
func ExampleNormalDepth() {
	q := hydraulics.RationalFlow(0.95, 0.180/3600, 50)
	p := hydraulics.NormalDepth(q, 0.101, 0.012, 0.01)
	fmt.Printf("%.2f L/s of %.2f L/s, %.0f %% deep, %.2f m/s\n",
		q*1000, hydraulics.FullCapacity(0.101, 0.012, 0.01)*1000, p.DepthRatio*100, p.Velocity)
	// Output: 2.38 L/s of 5.75 L/s, 45 % deep, 0.68 m/s
}
