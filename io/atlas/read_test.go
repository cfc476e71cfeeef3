package atlas

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"
)

func readFile(t testing.TB, name string) *Table {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := Read(f, name)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// inHour is an intensity of so many inches an hour.
func inHour(v float64) float64 { return v * inch / hour }

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: %g, by hand %g", what, got, want)
	}
}

// By hand: 0.600 in in 5 minutes is 7.2 in/h; 3.22 in in 60 minutes is 3.22 in/h:
// the two conventions differ by 2.24 here. The same table as whole mm/h holds 183
// and 82. Only the first of the blocks is read: the upper bound has 0.720.
func TestReadInvented(t *testing.T) {
	for name, rounding := range map[string]float64{"invented_depth_in.csv": 1e-12, "invented_intensity_mm.csv": 0.5 / 82} {
		table := readFile(t, name)
		if table.Source != "INVENTED EXAMPLE Volume 0 Version 0" || len(table.Years) != 10 || len(table.Durations) != 15 {
			t.Fatalf("%s: %q, %d return periods, %d durations", name, table.Source, len(table.Years), len(table.Durations))
		}
		civil, err := table.At(10, 5*minute)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" 10-year 5-min", civil.Intensity, inHour(7.2), rounding)
		if civil.Label != "10-year 5-min" || civil.Source != table.Source || civil.Years != 10 {
			t.Errorf("%+v", civil)
		}
		plumbing, err := table.At(100, hour)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" 100-year 60-min", plumbing.Intensity, inHour(3.22), rounding)
	}
}

// Between 10-min (0.849 in, 5.094 in/h) and 15-min (1.04 in, 4.16 in/h) at 12
// minutes: share ln 1.2 / ln 1.5 = 0.449660; 5.094 x (4.16/5.094)^0.449660 = 4.6506
// in/h. Below 5 minutes the 5-minute one holds.
func TestOver(t *testing.T) {
	table := readFile(t, "invented_depth_in.csv")
	rain, err := table.Over(10)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ minutes, want, tol float64 }{
		{12, 4.6506, 1e-4}, {5, 7.2, 1e-12}, {2, 7.2, 1e-12}, {60, 2.08, 1e-12},
		{20 * 24 * 60, 8.18 / 240, 1e-9}, // the table ends at 10 days
	} {
		near(t, "intensity over minutes", rain(c.minutes*minute), inHour(c.want), c.tol)
	}
}

// A table that rounds long rains to nothing ends before them: 9 days of the
// yearly rain are those of the last duration it has a figure for.
func TestOverRoundedToNothing(t *testing.T) {
	coarse := readFile(t, "invented_intensity_mm.csv")
	coarse.Intensity[14][0] = 0 // as a file of whole mm/h has it
	rain, err := coarse.Over(1)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := rain(9*day), coarse.Intensity[13][0]; got != want || want == 0 {
		t.Errorf("%v m/s over 9 days, want those over 7, %v", got, want)
	}
}

func TestNotInTheTable(t *testing.T) {
	table := readFile(t, "invented_depth_in.csv")
	coarse := readFile(t, "invented_intensity_mm.csv")
	coarse.Intensity[14][0] = 0 // as a file of whole mm/h has it for long durations
	for _, c := range []struct {
		call func() error
		says string
	}{
		{func() error { _, err := table.At(10, 7*minute); return err }, "invented_depth_in.csv: has no duration of 7-min; it has 5-min, 10-min, 15-min"},
		{func() error { _, err := table.At(10, 90*minute); return err }, "has no duration of 90-min"},
		{func() error { _, err := table.At(20, 5*minute); return err }, "has no return period of 20 years; it has 1, 2, 5, 10, 25"},
		{func() error { _, err := table.Over(20); return err }, "has no return period of 20 years"},
		{func() error { _, err := coarse.At(1, 10*day); return err }, "rounds the 1-year 10-day rain to 0; use the table of depths"},
	} {
		err := c.call()
		var choice *ChoiceError
		if !errors.As(err, &choice) || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("want %q, got %v", c.says, err)
		}
	}
}

// One line each, with the line of the file.
func TestBadTables(t *testing.T) {
	data, err := os.ReadFile("testdata/invented_depth_in.csv")
	if err != nil {
		t.Fatal(err)
	}
	good := string(data)
	swap := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(good) }
	intensities, err := os.ReadFile("testdata/invented_intensity_mm.csv")
	if err != nil {
		t.Fatal(err)
	}
	relabelled := strings.NewReplacer("millimeters/hour", "inches", "Precipitation intensity", "Precipitation depth").Replace(string(intensities))
	for _, c := range []struct{ name, text, says string }{
		{"empty", "", `f.csv: has no line "by duration`},
		{"a page instead", "<html>\n<body>not found</body>\n", `has no line "by duration`},
		{"too long", strings.Repeat("x\n", sizeMost), "is too long"},
		{"a line too long", strings.Repeat("x", 2*sizeMost), "is too long"},
		{"depths said to be intensities", swap("(inches)", "(inches/hour)", "Data type: Precipitation depth", "Data type: Precipitation intensity"), "f.csv:16: says intensities, but 10-min has 0.548 after 0.387 in 5-min: are these depths?"},
		{"intensities said to be depths", relabelled, "f.csv:10: says depths, but 10-min brings 84 after 118 in 5-min: are these intensities?"},
		{"first line against third", swap("(inches)", "(inches/hour)"), "f.csv:3: says precipitation depth, but its first line says inches/hour"},
		{"another kind", swap("Precipitation depth", "Snow depth"), `f.csv:3: holds "snow depth"`},
		{"no kind", swap("Data type: Precipitation depth", ""), "does not say whether it holds depth or intensity"},
		{"another unit", swap("(inches)", "(cubits)"), `f.csv:1: is in "cubits"`},
		{"no unit", swap("Point precipitation", "Precipitation"), "does not say its unit"},
		{"millimetres said to be inches", strings.Replace(string(intensities), "millimeters/hour", "inches/hour", 1), "183.00 in/h (4648.2 mm/h), as no place has"},
		{"inches said to be millimetres", swap("(inches)", "(millimeters)"), "0.28 in/h (7.2 mm/h), as no place has"},
		{"annual maximum", swap("Partial duration", "Annual maximum"), "f.csv:4: is the annual maximum series"},
		{"probabilities", swap("for ARI (years):, 1,2,5", "for AEP:, 1/1,1/2,1/5"), `f.csv:14: its columns are "by duration for AEP"`},
		{"bounds alone", good[:strings.Index(good, "PRECIPITATION FREQ")] + good[strings.LastIndex(good, "PRECIPITATION FREQ"):], "take the file with the estimates first"},
		{"years fall", swap("years):, 1,2,5", "years):, 1,5,2"), "f.csv:14: return periods do not rise"},
		{"a hole", swap("0.526,0.600", "0.526,,0.600"), `f.csv:15: value 4 is "", not a number`},
		{"a hole filled with text", swap("0.526,0.600", "0.526,n/a"), `f.csv:15: value 4 is "n/a"`},
		{"a negative", swap("0.526,0.600", "0.526,-9.99"), `value 4 is "-9.99"`},
		{"a short row", swap("0.526,0.600", "0.526"), "f.csv:15: 5-min has 9 values for 10 return periods"},
		{"no rows", swap("5-min:", "five minutes:"), "f.csv:14: has no durations"},
		{"rows out of order", swap("10-min:", "20-min:", "15-min:", "10-min:"), "f.csv:17: 10-min follows 20-min"},
		{"rarer is less", swap("0.526,0.600", "0.526,0.500"), "f.csv:15: 5-min falls from 0.526 at 5 years to 0.5 at 10"},
		{"no rain", swap("5-min:, 0.387", "5-min:, 0.000"), "the 1-year 5-min rain is 0"},
	} {
		_, err := Read(strings.NewReader(c.text), "f.csv")
		var bad *Error
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: want %q, got %v", c.name, c.says, err)
		}
	}
	// Line ends of another system and a byte order mark are no fault.
	if _, err := Read(strings.NewReader("\ufeff"+strings.ReplaceAll(good, "\n", "\r\n")), "f.csv"); err != nil {
		t.Error(err)
	}
}

// 180 typed where 180 mm/h was meant is 180 in/h; 7 where 7 in/h was meant, 7 mm/h.
func TestPlausible(t *testing.T) {
	for _, c := range []struct {
		intensity float64
		says      string
	}{
		{inHour(7), ""}, {inHour(0.4), ""}, {inHour(15), ""},
		{inHour(180), "a design storm of 180.00 in/h (4572.0 mm/h) is outside 0.40 in/h to 15.00 in/h over 5 min; was 180.0 mm/h meant?"},
		{inHour(7) / 25.4, "a design storm of 0.28 in/h (7.0 mm/h) is outside 0.40 in/h to 15.00 in/h over 5 min; was 7.00 in/h meant?"},
		{inHour(20), "was 20.0 mm/h meant?"}, {inHour(5) * 25.4 * 25.4, "check the number and its unit"},
		{0, "check the number and its unit"},
		{math.NaN(), "check the number and its unit"},
	} {
		err := Plausible(c.intensity, 5*minute)
		var odd *ImplausibleError
		if (err == nil) != (c.says == "") || err != nil && (!errors.As(err, &odd) || !strings.HasSuffix(err.Error(), c.says)) {
			t.Errorf("%g m/s: want %q, got %v", c.intensity, c.says, err)
		}
	}
}

// 10 in/h fall in five minutes, not in an hour; 10 mm/h over an hour do, and over
// five minutes would be asked about.
func TestPlausibleOverAnHour(t *testing.T) {
	if err := Plausible(inHour(10), 5*minute); err != nil {
		t.Error(err)
	}
	const says = "a design storm of 10.00 in/h (254.0 mm/h) is outside 0.21 in/h to 8.06 in/h over 60 min; was 10.0 mm/h meant?"
	if err := Plausible(inHour(10), hour); err == nil || err.Error() != says {
		t.Errorf("want %q, got %v", says, err)
	}
	if Plausible(inHour(10)/25.4, hour) != nil || Plausible(inHour(10)/25.4, 5*minute) == nil {
		t.Error("10 mm/h")
	}
}

func FuzzRead(f *testing.F) {
	for _, name := range []string{"invented_depth_in.csv", "invented_intensity_mm.csv"} {
		data, err := os.ReadFile("testdata/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	f.Fuzz(func(t *testing.T, text string) {
		table, err := Read(strings.NewReader(text), "f.csv")
		if err != nil {
			return
		}
		for d := range table.Durations {
			for y := range table.Years {
				if i := table.Intensity[d][y]; !(i >= 0) || math.IsInf(i, 0) {
					t.Fatalf("intensity %g", i)
				}
			}
		}
	})
}
