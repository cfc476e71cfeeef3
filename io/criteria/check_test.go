package criteria

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"curbfall/routing/constraint"
)

// Every refusal is one line that names the place, the key, the value and the
// way out.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"limits:\n  cover_min: 12\n", `x.yaml:2: limits.cover_min: 12 is more than 20 times the default, 6 in; a plain number is in metres`},
		{"limits:\n  slope_min: 1\n", "x.yaml:2: limits.slope_min: 1 is more than 20 times the default, 1 %; a plain number is in rise over run"},
		{"storm:\n  intensity: 7\n", "x.yaml:2: storm.intensity: 7 is more than 20 times the default, 7 in/h; a plain number is in m/s"},
		{"limits:\n  slope_min: 100 %\n", "x.yaml:2: limits.slope_min: 100 % is more than 20 %, which is 20 times the default, 1 %; check the number and its unit"},
		{"storm:\n  intensity: 280 in/h\n", "x.yaml:2: storm.intensity: 280 in/h is more than 140 in/h, which is 20 times the default, 7 in/h; check"},
		{"limits:\n  cover_min: 100 ft\n", "x.yaml:2: limits.cover_min: 100 ft is more than 120 in, which is 20 times the default, 6 in; check"},
		{"limits:\n  cover_min: 30 1/2\n", "a plain number is in metres: write the unit behind it"},
		{"limits: 5\n", `x.yaml:1: limits is "5", want a mapping of keys; write them below it, one a line, such as "slope_min: ..."`},
		{"storm:\n  runoff_coeff: 0.5\n", `x.yaml:2: storm.runoff_coeff is "0.5", want a mapping of keys; write them below it, one a line, such as "roof: ..."`},
		{"pipes:\n  pvc_sdr35:\n    - 4\n", "pipes.pvc_sdr35 is a list, want a mapping of keys"},
		{"costs: 5\n", `costs is "5", want a mapping of keys`},
		{"limits:\n  slope_min: 0\n", "x.yaml:2: limits.slope_min: 0 is too little"},
		{"limits:\n  cover_min: -0.1 m\n", "x.yaml:2: limits.cover_min: a length cannot be negative, got -0.1 m"},
		{"limits:\n  cover_min: 12 parsec\n", `unknown unit "parsec"`},
		{"limits:\n  cover_min: .inf\n", `wants a length such as "12 in", got ".inf"`},
		{"limits:\n  cover_min: true\n", `wants a length such as "12 in", got "true"`},
		{"limits:\n\n  cover_min:\n", "x.yaml:3: limits.cover_min: has no value; the default is 6 in"},
		{"limits:\n  cover_min: ~\n", "has no value"},
		{"limits:\n  cover_min: \"12\\n%\"\n", "x.yaml:2: limits.cover_min"},
		{"limits:\n  outlets_max: 1.5\n", "limits.outlets_max: 1.5 is no whole number; write 1 or 2"},
		{"limits:\n  walk_factor: 0.5\n", "limits.walk_factor: 0.5 is less than 1, the price of lawn"},
		{"limits:\n  depth_ratio_max: 1.2\n", "1.2 is more than 1"},
		{"limits:\n  depth_max: 6 in\n", "x.yaml:2: limits.cover_min 0.152 m leaves no room above limits.depth_max 0.152 m"},
		{"limits:\n  cover_min: 6 in\n  cover_min: 7 in\n", "x.yaml:3: limits.cover_min is set twice"},
		{"limits:\n  cover_min: 6 in\nlimits:\n  cover_min: 7 in\n", "x.yaml:4: limits.cover_min is set twice"},
		{"storm:\n  runoff_coeff:\n    roof: 1.1\n", "x.yaml:3: storm.runoff_coeff.roof: 1.1 is more than 1"},
		{"pipes:\n  pvc_sdr35:\n    4:\n      inside_diameter: 5 in\n", "x.yaml:4: pipes.pvc_sdr35.4: inside diameter 0.1270 m is not less than the outside one"},
		{"pipes:\n  pvc_sdr35:\n    roughness: 12\n", "12 is more than 0.1"},
		{"storm:\n  frequency_factor: 1 / 1.1 / 1.2\n", `x.yaml:2: storm.frequency_factor: "1 / 1.1 / 1.2" is no list of 4 factors that do not fall, 1 to 2, for [10 25 50 100] years; write them as "1.0 / 1.1 / 1.2 / 1.25"`},
		{"storm:\n  frequency_factor: 1 / 1.3 / 1.2 / 1.25\n", "is no list of 4 factors that do not fall"},
		{"storm:\n  frequency_factor: 0.9 / 1.1 / 1.2 / 1.25\n", "is no list of 4 factors"},
		{"storm:\n  frequency_factor: 1 / 1.1 / 1.2 / 125\n", "is no list of 4 factors"},
		{"pipes:\n  sizes: 3, 4, 8 in\n", "x.yaml:2: pipes.sizes: a hole: 6 in is left out between 4 in and 8 in; put it in, or leave out the larger ones too"},
		{"pipes:\n  sizes: 4, 12 in\n", "a hole: 6, 8, 10 in is left out between 4 in and 12 in"},
		{"pipes:\n  sizes: 4, 5 in\n", `pipes.sizes: "5" is no trade size; there are 3, 4, 6, 8, 10, 12 in`},
		{"pipes:\n  sizes: 6, 4 in\n", "pipes.sizes: 4 in follows 6 in; write sizes from the smallest to the largest, each once"},
		{"pipes:\n  sizes: 4, 4 in\n", "4 in follows 4 in"},
		{"pipes:\n  sizes: 4, 6\n", `pipes.sizes: "4, 6" lacks its unit; write trade sizes as "3, 4, 6, 8, 10, 12 in"`},
		{"pipes:\n  sizes: in\n", `"" is no trade size`},
		{"pipes:\n  sizes: 3 in\n", "x.yaml:2: pipes.size_min_main 0.102 m is more than the largest of pipes.sizes, 3 in"},
		{"pipes:\n  sizes: 6, 8 in\n", "x.yaml:2: limits.outlet_size_max 0.102 m is less than the smallest of pipes.sizes, 6 in: no pipe fits the hole"},
		{"limits:\n  outlet_size_max: 2 in\n", "x.yaml:2: limits.outlet_size_max 0.051 m is less than the smallest of pipes.sizes, 3 in"},
		{"pipes:\n  pvc_sdr35:\n    6:\n      inside_diameter: 3.9 in\n", "x.yaml:4: pipes.pvc_sdr35.6.inside_diameter 0.0991 m is not more than that of the size below, 0.1010 m"},
		{"pipes:\n  pvc_sdr35:\n    6:\n", "x.yaml:3: pipes.pvc_sdr35.6 has nothing in it, which leaves a hole; give its diameters"},
		{"pipes:\n  default_family: clay\n", `"clay" is not one of pvc_sdr35`},
		{"limit:\n", "x.yaml:1: unknown key limit;"},
		{"limits.cover_min: 6 in\nstorm: {}\nlimits:\n  covermin: 1 m\n", "x.yaml:4: unknown key limits.covermin; the nearest known one is limits.cover_min"},
		{"a: &x {b: 1}\nlimits: *x\n", "refers to another value"},
		{"limits: {}\n---\nlimits: {}\n", "second document"},
		{"- limits\n", "x.yaml:1: wants groups"},
		{"just words\n", "x.yaml:1: wants groups"},
		{"limits:\n  cover_min: [\n", "x.yaml:"},
		{"\tlimits: 1\n", "x.yaml:1: is not YAML"},
	} {
		_, _, err := Parse("x.yaml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q gives\n  %v\nwant one line with\n  %s", c.text, err, c.want)
		}
	}
}

// Files that set nothing are the shipped criteria.
func TestNothingSet(t *testing.T) {
	for _, text := range []string{"", "# a comment\n", "---\n", "limits:\nstorm: {}\npipes:\n  pvc_sdr35:\n"} {
		c, notes, err := Parse("x.yaml", []byte(text))
		if err != nil || len(notes) > 0 || !c.Storm.Assumed {
			t.Errorf("%q: %v %v", text, notes, err)
		}
		for _, u := range c.Used {
			if u.Given {
				t.Errorf("%q: %s counts as given", text, u.Name)
			}
		}
	}
}

// The catalogue is the user's: sizes left out are not laid.
func TestSizesLeftOut(t *testing.T) {
	for text, want := range map[string]string{
		"": "3 in 4 in 6 in 8 in 10 in 12 in", "pipes:\n  sizes: 4, 6 in\n": "4 in 6 in", "pipes:\n  sizes: \"3,4 in\"\n": "3 in 4 in", "pipes:\n  sizes: 4 in\n": "4 in",
	} {
		c, notes, err := Parse("x.yaml", []byte(text))
		if err != nil || len(notes) > 0 {
			t.Fatal(notes, err)
		}
		var got []string
		for _, b := range c.Catalogue.Bores {
			got = append(got, b.Nominal)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// Nothing that is used is called unused: a pump's sump among it.
func TestSumpIsUsed(t *testing.T) {
	c, notes, err := Parse("x.yaml", []byte("limits:\n  sump_depth: 8 in\n"))
	if err != nil || len(notes) > 0 {
		t.Fatal(notes, err)
	}
	if !slices.ContainsFunc(c.Used, func(u constraint.Used) bool { return u.Name == "limits.sump_depth" && u.Given && u.Unit == "m" }) {
		t.Error("limits.sump_depth is not among what was used")
	}
	var b bytes.Buffer
	if err := Template(&b); err != nil {
		t.Fatal(err)
	}
	if before, _, _ := strings.Cut(b.String(), "sump_depth:"); strings.HasSuffix(strings.TrimSpace(before), "not used yet") {
		t.Error("the template calls limits.sump_depth unused")
	}
}

func TestRemarks(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"storm:\n  intensity: 20 in/h\n", "outside 1 to 15 in/h"},
		{"storm:\n  intensity: 0.5 in/h\n", "outside 1 to 15 in/h"},
		{"pipes:\n  pe_dual_wall:\n    4:\n      outside_diameter: 4.8 in\n", "pipes.pe_dual_wall is set and not laid"},
		{"limits:\n  bedding: 3 in\n", "limits.bedding is kept, and nothing uses it yet"},
	} {
		_, notes, err := Parse("x.yaml", []byte(c.text))
		if err != nil || len(notes) != 1 || !strings.Contains(notes[0], c.want) {
			t.Errorf("%q: %q %v, want %q", c.text, notes, err, c.want)
		}
	}
}

// The template holds every key once, in YAML that other readers take too.
func TestTemplateHoldsEveryKey(t *testing.T) {
	var b bytes.Buffer
	if err := Template(&b); err != nil {
		t.Fatal(err)
	}
	var plain map[string]any
	if err := yaml.Unmarshal(b.Bytes(), &plain); err != nil {
		t.Fatalf("a group stands twice: %v", err)
	}
	list, err := leaves("template", b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	held := map[string]string{}
	for _, l := range list {
		held[l.key] = l.value
	}
	for i := range defaults {
		if e := &defaults[i]; held[e.key] != e.value {
			t.Errorf("%s: template has %q, default is %q", e.key, held[e.key], e.value)
		}
	}
}

func TestLoad(t *testing.T) {
	file := filepath.Join(t.TempDir(), "lot.yaml")
	if err := os.WriteFile(file, []byte("limits:\n  cover_min: 8 in\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	c, _, err := Load(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, u := range c.Used {
		if u.Given != (u.Name == "limits.cover_min") {
			t.Errorf("%s: given %v", u.Name, u.Given)
		}
		if u.Source == "" {
			t.Errorf("%s has no source", u.Name)
		}
	}
	for path, why := range map[string]string{file + "x": "no such file or directory", filepath.Dir(file): "is a directory"} {
		if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), path+": cannot be read: "+why+"; name a criteria file") {
			t.Errorf("%s gives %v, want %s", path, err, why)
		}
	}
}
