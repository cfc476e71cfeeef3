package atlas_test

import (
	"fmt"
	"os"

	"curbfall/io/atlas"
	"curbfall/io/units"
)

func ExampleRead() {
	f, err := os.Open("testdata/invented_depth_in.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer f.Close()
	table, err := atlas.Read(f, "invented_depth_in.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range []struct{ years, duration float64 }{{10, 300}, {100, 3600}} {
		s, err := table.At(c.years, c.duration)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: %s\n", s.Label, units.FormatIntensity(s.Intensity, units.USFoot))
	}
	// Output:
	// 10-year 5-min: 7.20 in/h
	// 100-year 60-min: 3.22 in/h
}
