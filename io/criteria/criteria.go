// Package criteria reads the design rules a user sets and fills in the shipped
// ones, each with its source.
//
//	limits:
//	  cover_min: 12 in    # a plain number is SI: metres here
//	storm:
//	  intensity: 4 in/h
package criteria

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

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

// setting is the value of a key in force.
type setting struct {
	*entry
	number float64 // SI; NaN for a word
	word   string
	given  bool
}

// Error is a criteria file that cannot be used: one line with what to do.
type Error struct {
	File string
	Line int
	Says string
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Says
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Says)
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
		return design.Criteria{}, nil, &Error{File: file, Says: "cannot be read; name a criteria file, or see --criteria-template"}
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
	notes, err := override(file, data, settings)
	if err != nil {
		return design.Criteria{}, nil, err
	}
	return assemble(settings), notes, nil
}

func override(file string, data []byte, settings map[string]*setting) (notes []string, err error) {
	var root yaml.Node
	if err := yaml.Unmarshal(data, &root); err != nil {
		return nil, &Error{File: file, Says: "is not YAML: " + strings.TrimPrefix(err.Error(), "yaml: ")}
	}
	if len(root.Content) == 0 {
		return nil, nil
	}
	leaves, err := flatten(file, "", root.Content[0], nil)
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, l := range leaves {
		s, ok := settings[l.key]
		switch {
		case seen[l.key]:
			return nil, &Error{file, l.line, fmt.Sprintf("%s is set twice; keep one", l.key)}
		case l.key == "limits.shallow_cover_factor":
			return nil, &Error{file, l.line, "limits.shallow_cover_factor is fixed at 1: a price that hangs on depth would make the exact search inexact; take it out"}
		case strings.HasPrefix(l.key, "costs."):
			return nil, &Error{file, l.line, "costs are not used yet: routes are priced by limits.*_factor; take the group out"}
		case !ok:
			return nil, &Error{file, l.line, fmt.Sprintf("unknown key %s; the nearest known one is %s", l.key, nearest(l.key))}
		}
		seen[l.key] = true
		if err := s.set(l.value); err != nil {
			return nil, &Error{file, l.line, fmt.Sprintf("%s: %v", l.key, err)}
		}
		s.given = true
		if unused(l.key) {
			notes = append(notes, fmt.Sprintf("criteria: %s is kept, and nothing uses it yet", l.key))
		}
	}
	return notes, nil
}

type leaf struct {
	key, value string
	line       int
}

// flatten turns groups into dotted keys, in the file's order.
func flatten(file, prefix string, n *yaml.Node, leaves []leaf) ([]leaf, error) {
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i].Value
			if prefix != "" {
				key = prefix + "." + key
			}
			var err error
			if leaves, err = flatten(file, key, n.Content[i+1], leaves); err != nil {
				return nil, err
			}
		}
		return leaves, nil
	case yaml.ScalarNode:
		if n.Tag == "!!null" && n.Value == "" {
			return leaves, nil // a group with nothing in it
		}
		return append(leaves, leaf{prefix, n.Value, n.Line}), nil
	}
	return nil, &Error{file, n.Line, fmt.Sprintf("%s is a list; give one value", prefix)}
}

// set takes a value as written.
func (s *setting) set(value string) error {
	s.number, s.word = math.NaN(), ""
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
	if s.dim == units.Angle && v > 2*math.Pi {
		return fmt.Errorf("%s is more than a turn; a plain number is in radians, write %s deg", value, value)
	}
	if most := s.most(); v > most {
		return fmt.Errorf("%s is more than %g, the most that makes sense here", value, most)
	}
	s.number = v
	return nil
}

// most is the largest value of a key that can be meant; common practice, no
// source.
func (s *setting) most() float64 {
	switch {
	case s.key == "storm.increase":
		return 10
	case strings.HasPrefix(s.key, "storm.runoff_coeff."), s.key == "limits.depth_ratio_max", s.key == "storm.grate_clogged":
		return 1
	case s.dim == units.Slope:
		return 1
	case strings.HasSuffix(s.key, ".roughness"):
		return 0.1
	}
	return math.Inf(1)
}

// nearest is the known key with the fewest letters changed.
func nearest(key string) string {
	best, at := math.MaxInt, ""
	for i := range defaults {
		if d := edits(key, defaults[i].key); d < best {
			best, at = d, defaults[i].key
		}
	}
	return at
}

// edits is the number of letters to add, drop or change between two words.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diagonal
			if a[i-1] != b[j-1] {
				cost++
			}
			diagonal = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
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
		fmt.Fprintf(&b, "%s# source: %s (%s)\n", indent, e.source, e.mark)
		fmt.Fprintf(&b, "%s%s: %s\n", indent, key(parts[len(parts)-1]), scalar(e.value))
	}
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

// used tells whether a key's value entered the design.
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
	"checks.", "outlet.tailwater", "storm.return_period", "storm.duration", "storm.check_return_period",
	"storm.plumbing_convention", "storm.increase", "storm.frequency_factor", "storm.grate_clogged",
	"storm.runoff_coeff.gravel", "storm.runoff_coeff.bed", "pipes.exclude",
	"limits.slope_preferred", "limits.bend_max", "limits.outlets_max", "limits.cleanout_spacing", "limits.sump_depth",
	"limits.bedding", "limits.freeboard_min", "limits.building_freeboard_min", "limits.standing_water_hours_max",
	"limits.septic_setback",
}

// assemble builds the criteria from the settings in force.
func assemble(s map[string]*setting) design.Criteria {
	n := func(key string) float64 { return s[key].number }
	c := design.Criteria{
		Limits: limitsOf(s), Catalogue: catalogueOf(s),
		Storm: design.Storm{
			Intensity: n("storm.intensity"), Assumed: !s["storm.intensity"].given,
			Lawn: n("storm.runoff_coeff.lawn"), Roof: n("storm.runoff_coeff.roof"), Walk: n("storm.runoff_coeff.walk"),
			Driveway: n("storm.runoff_coeff.driveway"), Patio: n("storm.runoff_coeff.patio"),
		},
		Outlet: constraint.OutletType(s["outlet.type"].word),
	}
	for i := range defaults {
		e := &defaults[i]
		if unused(e.key) || strings.HasPrefix(e.key, "pipes.p") {
			continue
		}
		v := s[e.key]
		source := e.source + " (" + e.mark + ")"
		if v.given {
			source = "criteria file"
		}
		c.Used = append(c.Used, constraint.Used{Name: e.key, Value: v.number, Text: v.word, Unit: siUnit(e), Source: source, Given: v.given})
	}
	return c
}

func siUnit(e *entry) string {
	switch e.dim {
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
	}
	return ""
}
