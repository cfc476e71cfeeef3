package hydraulics

import (
	"math"
	"testing"
)

// plumbingRow is a horizontal storm drain of a model plumbing code: nominal size
// in inches taken as the inside diameter, slope in inches a foot, gallons a
// minute, and the Manning n of a full pipe that the row implies.
type plumbingRow struct{ inches, slope, gpm, n float64 }

// International Plumbing Code, 2015 to 2021, Table 1106.2, rows read-quoted.
var ipcRows = []plumbingRow{
	{2, 1.0 / 4, 31, 0.0081},
	{3, 1.0 / 4, 79, 0.0094},
	{4, 1.0 / 4, 163, 0.0098},
	{6, 1.0 / 4, 487, 0.0097},
	{8, 1.0 / 4, 1010, 0.0101},
	{10, 1.0 / 4, 1855, 0.0099},
	{12, 1.0 / 4, 2960, 0.0101},
}

// The other rows of the same table, from memory. The 5 in rows are out of line
// with their neighbours.
var ipcRowsUnverified = []plumbingRow{
	{2, 1.0 / 16, 15, 0.0084},
	{2, 1.0 / 8, 22, 0.0081},
	{2, 1.0 / 2, 44, 0.0081},
	{3, 1.0 / 16, 39, 0.0095},
	{3, 1.0 / 8, 55, 0.0096},
	{3, 1.0 / 2, 111, 0.0095},
	{4, 1.0 / 16, 81, 0.0099},
	{4, 1.0 / 8, 115, 0.0099},
	{4, 1.0 / 2, 231, 0.0098},
	{5, 1.0 / 16, 117, 0.0124},
	{5, 1.0 / 8, 165, 0.0125},
	{5, 1.0 / 4, 234, 0.0124},
	{5, 1.0 / 2, 331, 0.0124},
	{6, 1.0 / 16, 243, 0.0097},
	{6, 1.0 / 8, 344, 0.0097},
	{6, 1.0 / 2, 689, 0.0097},
	{8, 1.0 / 16, 505, 0.0101},
	{8, 1.0 / 8, 714, 0.0101},
	{8, 1.0 / 2, 1429, 0.0101},
	{10, 1.0 / 16, 927, 0.0100},
	{10, 1.0 / 8, 1311, 0.0100},
	{10, 1.0 / 2, 2623, 0.0099},
	{12, 1.0 / 16, 1480, 0.0101},
	{12, 1.0 / 8, 2093, 0.0101},
	{12, 1.0 / 2, 4187, 0.0101},
	{15, 1.0 / 16, 2508, 0.0108},
	{15, 1.0 / 8, 3546, 0.0108},
	{15, 1.0 / 4, 5016, 0.0108},
	{15, 1.0 / 2, 7093, 0.0108},
}

// Uniform Plumbing Code, 2006 to 2021, Table 1101.12: the 6 in row at 1/8 in a
// foot was read as its roof area, 21,400 ft2 at 1 in/h.
var upcRows = []plumbingRow{
	{6, 1.0 / 8, 222, 0.0151},
}

// The other rows of the same table, from memory.
var upcRowsUnverified = []plumbingRow{
	{3, 1.0 / 8, 34, 0.0155},
	{3, 1.0 / 4, 48, 0.0155},
	{3, 1.0 / 2, 68, 0.0155},
	{4, 1.0 / 8, 78, 0.0145},
	{4, 1.0 / 4, 110, 0.0146},
	{4, 1.0 / 2, 156, 0.0145},
	{5, 1.0 / 8, 139, 0.0148},
	{5, 1.0 / 4, 196, 0.0148},
	{5, 1.0 / 2, 278, 0.0148},
	{6, 1.0 / 4, 314, 0.0150},
	{6, 1.0 / 2, 445, 0.0150},
	{8, 1.0 / 8, 478, 0.0151},
	{8, 1.0 / 4, 677, 0.0150},
	{8, 1.0 / 2, 956, 0.0151},
	{10, 1.0 / 8, 860, 0.0152},
	{10, 1.0 / 4, 1214, 0.0152},
	{10, 1.0 / 2, 1721, 0.0152},
	{12, 1.0 / 8, 1384, 0.0153},
	{12, 1.0 / 4, 1953, 0.0154},
	{12, 1.0 / 2, 2768, 0.0153},
	{15, 1.0 / 8, 2473, 0.0156},
	{15, 1.0 / 4, 3491, 0.0156},
	{15, 1.0 / 2, 4946, 0.0156},
}

// gallon is the US gallon: 231 cubic inches.
const gallon = 231 * inch * inch * inch

// reproduce holds full pipe flow against a code's rows, each with the roughness
// it implies: what a row's four digits of n and whole gallons allow.
func reproduce(t *testing.T, rows []plumbingRow, least, most float64) {
	t.Helper()
	for _, r := range rows {
		slope := r.slope / 12
		gpm := FullCapacity(r.inches*inch, r.n, slope) / gallon * minute
		if allowed := 0.5 + 0.5e-4/r.n*r.gpm; math.Abs(gpm-r.gpm) > allowed {
			t.Errorf("%g in at %g in/ft, n %g: %.2f gpm, the code %g", r.inches, r.slope, r.n, gpm, r.gpm)
		}
		if r.n < least || r.n > most {
			t.Errorf("%g in at %g in/ft implies n %g, outside %g to %g", r.inches, r.slope, r.n, least, most)
		}
		// The other way: the slope at which the pipe carries the code's flow.
		if s := SlopeForFlow(r.gpm*gallon/minute, r.inches*inch, r.n); math.Abs(s-slope) > slope*(1/r.gpm+1e-4/r.n) {
			t.Errorf("%g in, n %g carries %g gpm on %.5f, the code says %.5f", r.inches, r.n, r.gpm, s, slope)
		}
	}
}

// The two codes imply roughness of about 0.010 and 0.015: the same pipe on the
// same slope carries half as much again by the one as by the other.
func TestPlumbingTables(t *testing.T) {
	reproduce(t, ipcRows, 0.008, 0.0102)
	reproduce(t, upcRows, 0.0144, 0.0157)
}

func TestPlumbingTablesUnverified(t *testing.T) {
	reproduce(t, ipcRowsUnverified, 0.008, 0.0126)
	reproduce(t, upcRowsUnverified, 0.0144, 0.0157)
}

// Full-flow coefficients C1 = Q / S^0.5 in cfs at n 0.013, concrete pipe design
// handbook, from memory: printed to three digits.
func TestFullFlowCoefficientsUnverified(t *testing.T) {
	for inches, want := range map[float64]float64{8: 12.1, 10: 21.9, 12: 35.7, 15: 64.7} {
		if got := FullCapacity(inches*inch, 0.013, 1) / (foot * foot * foot); math.Abs(got-want) > 0.003*want {
			t.Errorf("%g in: C1 = %.2f, handbook %g", inches, got, want)
		}
	}
}
