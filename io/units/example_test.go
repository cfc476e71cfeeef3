package units_test

import (
	"fmt"

	"curbfall/io/units"
)

func ExampleParse() {
	cover, _ := units.Parse("12 in", units.Length)
	slope, _ := units.Parse("1/4 in/ft", units.Slope)
	rain, _ := units.Parse("7 in/h", units.Intensity)
	fmt.Printf("%.4f m, %.5f, %.4e m/s\n", cover, slope, rain)
	_, err := units.Parse("5 %", units.Length)
	fmt.Println(err)
	// Output:
	// 0.3048 m, 0.02083, 4.9389e-05 m/s
	// wants a length, got 5 % (a slope); write cm, ft, in, m, mm, us-ft
}

func ExampleFormatLength() {
	fmt.Println(units.FormatLength(12.893, units.SI))
	fmt.Println(units.FormatLength(12.893, units.USFoot))
	// Output:
	// 12.89 m
	// 42.3 ft
}

func ExampleFormatFlow() {
	// A 2,000 ft2 roof in 6 in/h: 185.8 m2 of roof, 4.23e-5 m/s of rain, C 0.95.
	q := 0.95 * 4.233e-5 * 185.8
	fmt.Println(units.FormatFlow(q, units.SI))
	fmt.Println(units.FormatFlow(q, units.USFoot))
	// Output:
	// 7.47 L/s
	// 118 gpm
}

func ExampleUnitOfFactor() {
	u, ok := units.UnitOfFactor(0.304800609601219)
	fmt.Println(u, ok)
	// Output: us-ft true
}
