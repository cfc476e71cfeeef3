package criteria

import (
	"bytes"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"curbfall/routing/constraint"
)

func TestDefaults(t *testing.T) {
	l := Default().Limits
	v := reflect.ValueOf(l)
	for i := range v.NumField() {
		if f := v.Field(i); f.Kind() == reflect.Float64 && math.IsNaN(f.Float()) && v.Type().Field(i).Name != "CurbRaiseWidth" {
			t.Errorf("%s has no value", v.Type().Field(i).Name)
		}
	}
	if math.Abs(l.CoverMin-0.1524) > 1e-12 || math.Abs(l.SlopeMin-0.01) > 1e-12 || math.Abs(l.OutletZone-7.62) > 1e-12 {
		t.Errorf("cover %v, slope %v, zone %v", l.CoverMin, l.SlopeMin, l.OutletZone)
	}
	bores := Default().Catalogue.Bores
	if len(bores) != 6 || bores[1].Lawn.Material != "SDR 35" || bores[0].Lawn.Material != "Schedule 40" {
		t.Errorf("catalogue %+v", bores)
	}
}

// The template, read back, is the shipped criteria but for who gave them.
func TestTemplateIsDefault(t *testing.T) {
	var b bytes.Buffer
	if err := Template(&b); err != nil {
		t.Fatal(err)
	}
	got, _, err := Parse("template", b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	want := Default()
	got.Limits.CurbRaiseWidth, want.Limits.CurbRaiseWidth = 0, 0 // NaN is not itself
	if got.Limits != want.Limits || !reflect.DeepEqual(got.Catalogue, want.Catalogue) {
		t.Errorf("the template does not give the defaults")
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"limits:\n  cover_mim: 12 in\n", "x.yaml:2: unknown key limits.cover_mim; the nearest known one is limits.cover_min"},
		{"limits:\n  cover_min: 5 %\n", "x.yaml:2: limits.cover_min"},
		{"limits:\n  cover_min: -0.1\n", "x.yaml:2: limits.cover_min"},
		{"limits:\n  root_zone_rule: never\n", "price, forbid"},
		{"limits:\n  bend_max: 45\n", "45 deg"},
		{"limits: [1]\n", `x.yaml:1: limits is a list, want a mapping of keys; write them below it, one a line, such as "slope_min: ..."`},
		{"limits:\n  shallow_cover_factor: 2\n", "fixed at 1"},
		{"costs:\n  dgi: 3\n", "x.yaml:2: unknown key costs.dgi; the nearest known one is costs.dig"},
		{"costs:\n  dig: 3 /ft\n", "a price for an area"},
		{"costs:\n  dig: 0\n", "above 0"},
		{"costs:\n  dig:\n", "no default"},
		{"costs:\n  dig: 3\n", "x.yaml:2: costs.dig has a price and costs.pipe.3 has none"},
		{"pipes:\n  sizes: 4 in\ncosts:\n  pipe: {\"4\": 2 /ft}\n", "x.yaml:4: costs.pipe.4 has a price and costs.dig has none"},
		{"a: {", "is not YAML"},
	} {
		_, _, err := Parse("x.yaml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q gives %v, want one line with %q", c.text, err, c.want)
		}
	}
}

func TestUnitsAndNotes(t *testing.T) {
	c, notes, err := Parse("x", []byte("limits:\n  cover_min: 12 in\n  slope_min: 0.02\n  slope_preferred: 3 %\nstorm:\n  intensity: 4 in/h\n  grate_clogged: 0.3\n"))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Limits.CoverMin-0.3048) > 1e-12 || c.Limits.SlopeMin != 0.02 || c.Storm.Assumed || len(notes) != 1 || c.Grates.Clogged != 0.3 || math.Abs(c.Grates.Perimeter-0.9144) > 1e-12 {
		t.Errorf("%+v %v", c.Storm, notes)
	}
}

// Prices have no default, and come back with their source.
func TestCosts(t *testing.T) {
	if c := Default(); c.Costs.Given() {
		t.Errorf("shipped: %+v", c.Costs)
	}
	c, notes, err := Parse("x", []byte("costs:\n  pipe: {\"3\": 1 /ft, \"4\": 2 per ft, \"6\": 3, \"8\": 4 /m, \"10\": 5, \"12\": 6}\n  dig: 0.5 /ft2\n"))
	if err != nil || len(notes) > 0 {
		t.Fatal(err, notes)
	}
	for b, want := range []float64{1 / 0.3048, 2 / 0.3048, 3, 4, 5, 6} {
		if math.Abs(c.Costs.Pipe[b]-want) > 1e-12 {
			t.Errorf("%s: %g a metre, want %g", c.Catalogue.Bores[b].Nominal, c.Costs.Pipe[b], want)
		}
	}
	if math.Abs(c.Costs.Dig-0.5/(0.3048*0.3048)) > 1e-12 {
		t.Errorf("dig %g", c.Costs.Dig)
	}
	if c, _, err := Parse("x", []byte("pipes:\n  sizes: 4, 6 in\ncosts:\n  pipe: {\"4\": 2, \"6\": 3}\n  dig: 1\n")); err != nil || !slices.Equal(c.Costs.Pipe, []float64{2, 3}) {
		t.Errorf("of two sizes: %v, %v", c.Costs, err)
	}
	if u := c.Used[len(c.Used)-1]; u.Name != "costs.dig" || u.Unit != "1/m2" || u.Source != "criteria file" {
		t.Errorf("used: %+v", u)
	}
}

// What was used comes back with the unit of its number, a word without one.
func TestUnitsOfUsed(t *testing.T) {
	c, _, err := Parse("x", []byte("outlet:\n  tailwater:\n    curb_face: 3 in\nlimits:\n  curb_raise_width: 1 m\n"))
	if err != nil {
		t.Fatal(err)
	}
	units := map[string]string{}
	for _, u := range append(c.Used, Default().Used...) {
		units[u.Name] += "|" + u.Unit
		if u.Text != "" && u.Unit != "" {
			t.Errorf("%s is %q, in %q", u.Name, u.Text, u.Unit)
		}
	}
	for name, want := range map[string]string{
		"limits.cover_min": "|m|m", "limits.curb_raise_width": "|m|", "outlet.tailwater.curb_face": "|m|", "outlet.type": "||", "pipes.sizes": "||",
		"storm.intensity": "|m/s|m/s", "storm.return_period": "|year|year", "storm.duration": "|s|s", "limits.slope_min": "||", "limits.outlets_max": "||",
		"limits.bend_max": "|rad|rad", "limits.downspout_roof_area": "|m2|m2", "limits.velocity_max": "|m/s|m/s",
	} {
		if units[name] != want {
			t.Errorf("%s: %q, want %q", name, units[name], want)
		}
	}
}

// The water outside outlets: words leave it to the design (NaN), free is -Inf, a
// length is a depth.
func TestTailwater(t *testing.T) {
	d := Default().Tailwater
	if !math.IsNaN(d.CurbFace) || !math.IsNaN(d.Emitter) || !math.IsInf(d.Daylight, -1) || !math.IsNaN(d.StormInlet) {
		t.Errorf("shipped: %+v", d)
	}
	c, notes, err := Parse("x", []byte("outlet:\n  tailwater:\n    curb_face: 3 in\n    daylight: 0.1\n    storm_inlet: free\n  emitter:\n    weep_diameter: 10 mm\n"))
	if err != nil || len(notes) > 0 {
		t.Fatal(err, notes)
	}
	if w := c.Tailwater; math.Abs(w.CurbFace-0.0762) > 1e-12 || w.Daylight != 0.1 || !math.IsInf(w.StormInlet, -1) || !math.IsNaN(w.Emitter) {
		t.Errorf("given: %+v", w)
	}
	if b := c.Base; math.Abs(b.Weep-0.01) > 1e-12 || math.Abs(b.BedArea-0.37161216) > 1e-8 || b.Porosity != 0.4 || math.Abs(b.SoilRate-0.25*0.0254/3600) > 1e-15 {
		t.Errorf("base: %+v", b)
	}
	for _, text := range []string{"outlet:\n  tailwater:\n    curb_face: full\n", "outlet:\n  emitter:\n    bed_porosity: 1.4\n"} {
		if _, _, err := Parse("x.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), "x.yaml:3: outlet.") {
			t.Errorf("%q gives %v", text, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("limits:\n  cover_min: 12 in\n"))
	f.Add([]byte("pipes: {pvc_sdr35: {\"4\": {inside_diameter: 4 in}}}"))
	f.Add([]byte("limits: &a\n  cover_min: 12 in\nchecks: *a\n"))
	f.Add([]byte("limits:\n  cover_min: \"12\\nin\"\n---\nstorm:\n"))
	f.Add([]byte("limits:\n  outlets_max: 1 1/2\n  slope_min: 1/8 in/ft\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, _, err := Parse("f", data)
		if err != nil {
			if e := (*Error)(nil); !errors.As(err, &e) || strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("%q: not one line with a place: %v", data, err)
			}
			return
		}
		v := reflect.ValueOf(c.Limits)
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if x := v.Field(i); x.Kind() == reflect.Float64 && name != "CurbRaiseWidth" && !(x.Float() >= 0 && x.Float() < math.Inf(1)) {
				t.Errorf("%q: %s is %v", data, name, x.Float())
			}
		}
		for _, b := range c.Catalogue.Bores {
			for _, size := range []constraint.Size{b.Lawn, b.Hard, b.Outlet} {
				if !(size.Inside > 0 && size.Outside > size.Inside && size.Roughness > 0) {
					t.Errorf("%q: pipe %+v", data, size)
				}
			}
		}
	})
}
