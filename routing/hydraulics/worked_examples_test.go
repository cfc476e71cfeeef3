package hydraulics

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// repoRoot is where relative paths start; tests run in their package.
var repoRoot = filepath.Join("..", "..")

// TestWorkedExamples computes published examples and compares within the
// tolerance each row states, which covers chart reading and printed rounding.
// The table is named by CURBFALL_WORKED_EXAMPLES (from the root of the
// repository where relative). Rows whose equation nothing here uses
// are skipped by id, counted, and listed with the reason.
func TestWorkedExamples(t *testing.T) {
	rows := readExamples(t)
	var left []string
	for _, r := range rows {
		name := r.id
		if r.mark == "from memory" {
			name += " unverified"
		}
		t.Run(name, func(t *testing.T) {
			got, understood := solve(r, rows)
			if !understood {
				left = append(left, fmt.Sprintf("%s (%s: %s)", r.id, r.topic, whyNot(r)))
				t.Skipf("%s: %s (%s)", whyNot(r), r.topic, r.rawInputs)
			}
			r.compare(t, got)
		})
	}
	t.Logf("%d rows, %d computed, %d not, with the reason: %s",
		len(rows), len(rows)-len(left), len(left), strings.Join(left, "; "))
}

// compare holds every published output against the computed ones.
func (r example) compare(t *testing.T, got quantities) {
	keys := make([]string, 0, len(r.out))
	for k := range r.out {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		want := r.out[k]
		v, ok := got[want.name]
		if !ok {
			t.Errorf("output %s is not computed for topic %q", k, r.topic)
			continue
		}
		v /= want.factor
		off := 100 * math.Abs(v-want.raw[0]) / math.Abs(want.raw[0])
		if !(off <= r.tolerance) {
			t.Errorf("%s = %.5g, published %.5g: off by %.2f %%, tolerance %g %% (%s)", k, v, want.raw[0], off, r.tolerance, r.source)
		}
	}
}

func readExamples(t *testing.T) []example {
	t.Helper()
	path, named := os.LookupEnv("CURBFALL_WORKED_EXAMPLES")
	if !named || path == "" {
		named, path = false, filepath.Join("..", "shared", "reference", "worked_examples.csv")
	}
	if !filepath.IsAbs(path) {
		path = filepath.Join(repoRoot, path)
	}
	f, err := os.Open(path)
	if os.IsNotExist(err) && !named {
		t.Skip("no table of worked examples, which is no part of the repository, beside it; name one in CURBFALL_WORKED_EXAMPLES")
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 2 {
		t.Fatalf("%s holds no rows", path)
	}
	var rows []example
	for _, rec := range records[1:] {
		rows = append(rows, newExample(t, records[0], rec))
	}
	return rows
}

// example is one row. Inputs and outputs are kept by their key as written.
type example struct {
	id, topic, rawInputs, units, source, mark string
	in, out                                   map[string]quantity
	tolerance                                 float64 // percent
}

// quantity is the value of a key such as Q_cfs: name Q, raw numbers in the
// key's unit, factor from it to SI.
type quantity struct {
	name   string
	factor float64
	raw    []float64
}

func newExample(t *testing.T, header, record []string) example {
	t.Helper()
	field := func(name string) string {
		for i, h := range header {
			if strings.TrimSpace(h) == name && i < len(record) {
				return strings.TrimSpace(record[i])
			}
		}
		return ""
	}
	e := example{
		id: field("id"), topic: strings.ToLower(field("topic")), rawInputs: field("inputs"), units: field("units"),
		source: field("source") + ", " + field("locator"), mark: field("mark"),
		in: readQuantities(field("inputs")), out: readQuantities(field("outputs")),
	}
	var err error
	if e.tolerance, err = strconv.ParseFloat(field("tolerance_pct"), 64); err != nil {
		t.Fatalf("row %s: tolerance_pct: %v", e.id, err)
	}
	return e
}

// unitFactors turns the unit at the end of a key into SI.
var unitFactors = map[string]float64{
	"m": 1, "cm": 0.01, "mm": 0.001, "km": 1000, "ft": foot, "in": inch,
	"m2": 1, "ft2": foot * foot, "in2": inch * inch, "ac": 43560 * foot * foot, "ha": 1e4, "km2": 1e6,
	"m3s": 1, "lps": 1e-3, "Lps": 1e-3, "cfs": foot * foot * foot, "gpm": 231 * inch * inch * inch / minute,
	"mps": 1, "fps": foot, "fps2": foot, "mps2": 1,
	"s": 1, "min": minute, "h": hour, "hr": hour,
	"pct": 0.01,
}

// unitAliases brings units written with an underscore to those of the table.
var unitAliases = strings.NewReplacer("_m3_s", "_m3s", "_ft3_s", "_cfs", "_L_s", "_lps", "_l_s", "_lps",
	"_ft_s", "_fps", "_m_s", "_mps", "_in_hr", "_in_h", "_mm_hr", "_mm_h", "y_over_D", "y_D")

// readQuantities reads "D_in=30;n=0.015;areas_ha=8.95,8.60". The unit of a key is
// what follows its last underscore; i_in_h and i_mm_h are intensities.
func readQuantities(text string) map[string]quantity {
	out := map[string]quantity{}
	for _, pair := range strings.Split(text, ";") {
		key, value, ok := strings.Cut(strings.TrimSpace(pair), "=")
		if !ok {
			continue
		}
		name := unitAliases.Replace(key)
		q := quantity{name: name, factor: 1}
		switch {
		case strings.HasSuffix(name, "_in_h"), strings.HasSuffix(name, "_mm_h"):
			parts := strings.Split(name, "_")
			q.name, q.factor = strings.Join(parts[:len(parts)-2], "_"), unitFactors[parts[len(parts)-2]]/hour
		default:
			if i := strings.LastIndexByte(name, '_'); i > 0 {
				if f, known := unitFactors[name[i+1:]]; known {
					q.name, q.factor = name[:i], f
				}
			}
		}
		for _, number := range strings.Split(value, ",") {
			v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
			if err != nil {
				v = math.NaN() // never within a tolerance, so it shows
			}
			q.raw = append(q.raw, v)
		}
		out[key] = q
	}
	return out
}
