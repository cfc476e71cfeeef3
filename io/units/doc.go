// Package units turns what people write and read into SI and back. Inside
// curbfall every number is SI: metres, square metres, cubic metres per second,
// seconds, rainfall in metres per second, slope as rise over run. Feet and
// inches exist here and in code above this package, nowhere below.
//
//	"1/4 in/ft"  --Parse(text, Slope)-->      0.0208333 (rise/run)
//	"7 in/h"     --Parse(text, Intensity)-->  4.93889e-05 m/s
//	12.893 m     --FormatLength(v, USFoot)--> "42.3 ft"
//
// A bare number is always SI. Rounding happens once, at printing.
//
// Two feet are told apart. At an easting of 2,000,000 ft they differ by 1.219 m,
// so coordinates and elevations name theirs ("ft" or "us-ft"); for a cover of
// 12 in the difference is 0.6 micrometres, and "ft" and "in" in a quantity
// are the international ones.
package units
