// Package criteria reads the design rules a user sets and fills in the shipped
// ones, each with its source.
//
//	limits:
//	  cover_min: 12 in    # a plain number is SI: metres here
//	storm:
//	  intensity: 4 in/h
package criteria

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"curbfall/io/spelling"
	"curbfall/io/units"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// entry is one key with its default.
type entry struct {
	key, value   string
	dim          units.Dimension
	words        []string // allowed words
	wordOnly     bool     // nothing but these words
	text         bool     // free text nothing computes with
	why          string
	source, mark string
}

// practice marks a value that nobody's text states.
const practice = "common practice, no source"

// cited is who states the value, and how sure that is.
func (e *entry) cited() string {
	switch {
	case e.mark != practice:
		return e.source + " (" + e.mark + ")"
	case e.source == "ours" || strings.Contains(e.source, "practice"):
		return practice
	}
	return e.source + "; the value is common practice"
}

// setting is the value of a key in force.
type setting struct {
	*entry
	number float64 // SI; NaN for a word
	word   string
	given  bool
	line   int // in the user's file, 0 where not given
}

// Error is a criteria file that cannot be used: one line with what to do.
type Error struct {
	File string
	Line int
	Says string
}

func (e *Error) Error() string {
	says := strings.Join(strings.Fields(e.Says), " ") // a value may hold line breaks
	if e.Line == 0 {
		return e.File + ": " + says
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, says)
}

// Default returns the shipped criteria.
func Default() design.Criteria {
	c, _, err := Parse("", nil)
	if err != nil {
		panic(err) // the shipped values are wrong
	}
	return c
}

// Load reads a criteria file. Notes are keys that were set and that nothing
// uses yet.
func Load(file string) (design.Criteria, []string, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		var at *fs.PathError
		if errors.As(err, &at) {
			err = at.Err
		}
		return design.Criteria{}, nil, &Error{File: file, Says: "cannot be read: " + err.Error() + "; name a criteria file, or see curbfall route --criteria-template"}
	}
	return Parse(file, data)
}

// Parse is Load for the bytes of a file.
func Parse(file string, data []byte) (design.Criteria, []string, error) {
	settings := make(map[string]*setting, len(defaults))
	for i := range defaults {
		e := &defaults[i]
		s := &setting{entry: e}
		if err := s.set(e.value); err != nil {
			return design.Criteria{}, nil, fmt.Errorf("default of %s: %w", e.key, err)
		}
		settings[e.key] = s
	}
	for i := range costs {
		settings[costs[i].key] = &setting{entry: &costs[i], number: math.NaN()}
	}
	notes, err := override(file, data, settings)
	if err != nil {
		return design.Criteria{}, nil, err
	}
	return assemble(settings), notes, nil
}

func override(file string, data []byte, settings map[string]*setting) (notes []string, err error) {
	list, err := leaves(file, data)
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, l := range list {
		s, ok := settings[l.key]
		switch {
		case seen[l.key]:
			return nil, &Error{file, l.line, fmt.Sprintf("%s is set twice; keep one", l.key)}
		case l.key == "limits.shallow_cover_factor":
			return nil, &Error{file, l.line, "limits.shallow_cover_factor is fixed at 1: a price that hangs on depth would make the exact search inexact; take it out"}
		case !ok:
			return nil, &Error{file, l.line, fmt.Sprintf("unknown key %s; the nearest known one is %s", l.key, nearest(l.key))}
		}
		seen[l.key] = true
		if err := s.set(l.value); err != nil {
			return nil, &Error{file, l.line, fmt.Sprintf("%s: %v", l.key, err)}
		}
		s.given, s.line = true, l.line
		if unused(l.key) {
			notes = append(notes, fmt.Sprintf("criteria: %s is kept, and nothing uses it yet", l.key))
		}
	}
	if err := consistent(file, settings); err != nil {
		return nil, err
	}
	return append(notes, remarks(settings)...), nil
}

// set takes a value as written.
func (s *setting) set(value string) error {
	s.number, s.word = math.NaN(), ""
	if strings.TrimSpace(value) == "" {
		if s.value == "" {
			return fmt.Errorf("has no value, and there is no default; write %s such as %q", s.dim, s.dim.Example())
		}
		return fmt.Errorf("has no value; the default is %s", s.value)
	}
	if s.text {
		s.word = value
		return nil
	}
	if slices.Contains(s.words, value) {
		s.word = value
		return nil
	}
	if s.wordOnly {
		return fmt.Errorf("%q is not one of %s", value, strings.Join(s.words, ", "))
	}
	v, err := units.Parse(value, s.dim)
	if err != nil {
		return err
	}
	if err := s.plausible(value, v); err != nil {
		return err
	}
	s.number = v
	return nil
}

// nearest is the known key with the fewest letters changed.
func nearest(key string) string {
	var known []string
	for _, e := range append(slices.Clone(defaults), costs...) {
		known = append(known, e.key)
	}
	at, _ := spelling.Nearest(key, known)
	return at
}

// Template writes a commented criteria file with every key at its default.
func Template(w io.Writer) error {
	var b strings.Builder
	b.WriteString("# Criteria of curbfall. A plain number is SI (metres, m/s, rise over run);\n# a string has its unit. Every value here is the shipped one.\n")
	var open []string
	for i := range defaults {
		e := &defaults[i]
		parts := strings.Split(e.key, ".")
		groups := parts[:len(parts)-1]
		for depth, g := range groups {
			if depth < len(open) && open[depth] == g && slices.Equal(open[:depth], groups[:depth]) {
				continue
			}
			fmt.Fprintf(&b, "%s%s:\n", strings.Repeat("  ", depth), key(g))
		}
		open = groups
		indent := strings.Repeat("  ", len(groups))
		if e.why != "" {
			fmt.Fprintf(&b, "%s# %s\n", indent, e.why)
		}
		fmt.Fprintf(&b, "%s# source: %s\n", indent, e.cited())
		if unused(e.key) {
			fmt.Fprintf(&b, "%s# not used yet\n", indent)
		}
		fmt.Fprintf(&b, "%s%s: %s\n", indent, key(parts[len(parts)-1]), scalar(e.value))
	}
	costsTemplate(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// key quotes a key YAML would read as a number.
func key(k string) string {
	if k[0] >= '0' && k[0] <= '9' {
		return `"` + k + `"`
	}
	return k
}

func scalar(v string) string {
	if strings.ContainsAny(v, ":#/,%") {
		return `"` + v + `"`
	}
	return v
}

// unused tells whether nothing computes with a key yet.
func unused(key string) bool {
	for _, p := range unusedKeys {
		if strings.HasPrefix(key, p) {
			return true
		}
	}
	return false
}

// unusedKeys are known, checked and kept, for what is not computed yet.
var unusedKeys = []string{
	"checks.gutter_bias", "storm.runoff_coeff.bed", "pipes.exclude",
	"limits.slope_preferred", "limits.bedding",
}

// assemble builds the criteria from the settings in force.
func assemble(s map[string]*setting) design.Criteria {
	n := func(key string) float64 { return s[key].number }
	c := design.Criteria{
		Limits: limitsOf(s), Catalogue: catalogueOf(s),
		Storm: design.Storm{
			Intensity: n("storm.intensity"), Increase: n("storm.increase"), Assumed: !s["storm.intensity"].given,
			Years: n("storm.return_period"), Duration: n("storm.duration"), Table: tableOf(s),
			CheckYears: n("storm.check_return_period"), Plumbing: plumbingOf(s),
			Lawn: n("storm.runoff_coeff.lawn"), Roof: n("storm.runoff_coeff.roof"), Walk: n("storm.runoff_coeff.walk"),
			Driveway: n("storm.runoff_coeff.driveway"), Patio: n("storm.runoff_coeff.patio"), Gravel: n("storm.runoff_coeff.gravel"), Frequency: frequencyOf(s),
		},
		Outlet: constraint.OutletType(s["outlet.type"].word), InvertStep: units.SI.ElevationStep(),
		Tailwater: tailwaterOf(s), Base: emitterBaseOf(s), Grates: gratesOf(s),
		Street: design.Street{Roughness: n("outlet.gutter.roughness"), CrossSlope: n("outlet.gutter.cross_slope")},
	}
	c.Costs = costsOf(s, c.Catalogue)
	for i := range defaults {
		e := &defaults[i]
		if unused(e.key) || strings.HasPrefix(e.key, "pipes.p") {
			continue
		}
		v := s[e.key]
		source := e.cited()
		if v.given {
			source = "criteria file"
		}
		c.Used = append(c.Used, constraint.Used{Name: e.key, Value: v.number, Text: v.word, Unit: v.unit(), Source: source, Given: v.given})
	}
	for i := range costs {
		if v := s[costs[i].key]; v.given {
			c.Used = append(c.Used, constraint.Used{Name: v.key, Value: v.number, Unit: v.unit(), Source: "criteria file", Given: true})
		}
	}
	return c
}

// noTable is the word for no rainfall table.
const noTable = "none"

func tableOf(s map[string]*setting) string {
	if t := s["storm.table"].word; t != noTable {
		return t
	}
	return ""
}

// plumbingOf is the storm of the plumbing codes; override has read it once.
func plumbingOf(s map[string]*setting) design.Convention {
	c, err := readConvention(s["storm.plumbing_convention"].word)
	if err != nil {
		panic(err)
	}
	return c
}

// frequencyOf are the factors of rare storms; override has read them once.
func frequencyOf(s map[string]*setting) (f [len(design.FrequencyYears)]float64) {
	f, err := readFrequency(s["storm.frequency_factor"].word)
	if err != nil {
		panic(err)
	}
	return f
}

// factorMost is above any frequency factor published, 1.25.
const factorMost = 2

// readFrequency reads "1.0 / 1.1 / 1.2 / 1.25".
func readFrequency(text string) (f [len(design.FrequencyYears)]float64, err error) {
	parts := strings.Split(text, "/")
	ok := len(parts) == len(f)
	for k := 0; ok && k < len(f); k++ {
		f[k], err = strconv.ParseFloat(strings.TrimSpace(parts[k]), 64)
		ok = err == nil && f[k] >= 1 && f[k] <= factorMost && (k == 0 || f[k] >= f[k-1])
	}
	if !ok {
		return f, fmt.Errorf("%q is no list of %d factors that do not fall, 1 to %d, for %v years; write them as %q", text, len(f), factorMost, design.FrequencyYears, "1.0 / 1.1 / 1.2 / 1.25")
	}
	return f, nil
}

// readConvention reads "100-year 60-minute".
func readConvention(text string) (c design.Convention, err error) {
	words := strings.Fields(text)
	if len(words) == 2 {
		if c.Years, err = units.Parse(words[0], units.ReturnPeriod); err == nil {
			if c.Duration, err = units.Parse(strings.ReplaceAll(words[1], "-", " "), units.Time); err == nil {
				return c, nil
			}
		}
	}
	return c, fmt.Errorf("%q is no return period and duration; write them as %q", text, "100-year 60-minute")
}

// unit is the SI unit of the number in force, "" for a word and a plain number.
func (s *setting) unit() string {
	if s.word != "" {
		return ""
	}
	switch s.dim {
	case units.Length:
		return "m"
	case units.Intensity, units.Velocity:
		return "m/s"
	case units.Area:
		return "m2"
	case units.Time:
		return "s"
	case units.Angle:
		return "rad"
	case units.ReturnPeriod:
		return "year"
	case units.LengthPrice:
		return "1/m"
	case units.AreaPrice:
		return "1/m2"
	}
	return ""
}
