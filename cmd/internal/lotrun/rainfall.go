package lotrun

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"curbfall/io/atlas"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// rainfallFile is the path of the rainfall table, "" where none is given.
func (g *given) rainfallFile() string {
	table := g.criteria.Storm.Table
	if table == "" || filepath.IsAbs(table) {
		return table
	}
	return filepath.Join(filepath.Dir(g.in.Criteria), table)
}

// readRainfall takes the design storm's intensity from the table, where one is
// given, and doubts a figure that no place has.
func (g *given) readRainfall() error {
	s := &g.criteria.Storm
	path := g.rainfallFile()
	if path == "" {
		if err := atlas.Plausible(s.Intensity, s.Duration); err != nil {
			return &InputError{g.in.Criteria + ": storm.intensity: " + err.Error()}
		}
		return nil
	}
	f, err := os.Open(path)
	if err != nil {
		return &InputError{fmt.Sprintf("%s: storm.table: %s cannot be read: %v; name the table's file, its path from the criteria's folder", g.in.Criteria, s.Table, reason(err))}
	}
	defer f.Close()
	if g.rainfall, err = atlas.Read(f, path); err != nil {
		return err
	}
	storm, err := g.rainfall.At(s.Years, s.Duration)
	if err != nil {
		return &InputError{err.Error() + "; set storm.return_period and storm.duration to what it has"}
	}
	if err := g.besideStorms(); err != nil {
		return err
	}
	s.Intensity, s.Source, s.Assumed = storm.Intensity, storm.Label+", "+storm.Source, false
	if s.Rain, err = g.rainfall.Over(s.Years); err != nil {
		return &InputError{err.Error()}
	}
	if day, err := g.rainfall.At(2, secondsPerDay); err == nil {
		s.Rain24h = day.Intensity * day.Duration
	} else {
		g.notes = append(g.notes, fmt.Sprintf("every time of concentration is taken as %.0f min: %v, which tells how fast water runs over ground", s.Duration/secondsPerMinute, err))
	}
	for k := range g.criteria.Used {
		if u := &g.criteria.Used[k]; u.Name == "storm.intensity" {
			u.Value, u.Text, u.Source, u.Given = s.Intensity, "", s.Source, true
		}
	}
	return nil
}

const secondsPerDay = 24 * 3600

// besideStorms refuses a storm that was asked for beside the design storm and
// that the table does not have; one nobody asked for is left out, and said.
func (g *given) besideStorms() error {
	s := g.criteria.Storm
	for _, x := range []struct {
		key             string
		years, duration float64
	}{
		{"storm.check_return_period", s.CheckYears, s.Duration},
		{"storm.plumbing_convention", s.Plumbing.Years, s.Plumbing.Duration},
	} {
		_, err := g.rainfall.At(x.years, x.duration)
		asked := slices.ContainsFunc(g.criteria.Used, func(u constraint.Used) bool { return u.Name == x.key && u.Given })
		switch {
		case err == nil:
		case asked:
			return &InputError{fmt.Sprintf("%v; set %s to what it has", err, x.key)}
		default:
			g.notes = append(g.notes, fmt.Sprintf("%s is not looked at: %v", x.key, err))
		}
	}
	return nil
}

// harderStorms are those looked at beside the design storm.
func (g *given) harderStorms() (list []harderStorm) {
	s := g.criteria.Storm
	if s.Increase > 0 {
		list = append(list, harderStorm{fmt.Sprintf("with %.0f %% more rain (storm.increase)", 100*s.Increase), s.Times(1 + s.Increase)})
	}
	if g.rainfall != nil && s.CheckYears > s.Years {
		if check, err := g.rainfall.At(s.CheckYears, s.Duration); err == nil {
			list = append(list, harderStorm{fmt.Sprintf("in the %s storm (storm.check_return_period)", check.Label), g.stormOf(check)})
		}
	}
	return list
}

// stormOf is the design storm with a return period and an intensity of the table.
func (g *given) stormOf(x atlas.Storm) design.Storm {
	s := g.criteria.Storm
	s.Years, s.Intensity = x.Years, x.Intensity
	s.Rain, _ = g.rainfall.Over(x.Years) // it has these years
	return s
}

// moreRain are the shares more than the design storm a design is asked about;
// common practice, no source.
var moreRain = []float64{0.1, 0.2, 0.3}

// whatIfs asks a design about the design storm, the plumbing codes' one, rarer
// ones the table has, and harder ones.
func (g *given) whatIfs(r *design.Result) (list []design.WhatIf) {
	s := g.criteria.Storm
	ask := func(name string, x design.Storm) { list = append(list, r.WhatIf(name, x)) }
	if g.rainfall == nil {
		ask("design", s)
	} else {
		for _, years := range g.rainfall.Years {
			x, err := g.rainfall.At(years, s.Duration)
			switch {
			case err != nil: // rounded to nothing, so of no use here
			case years == s.Years:
				ask(x.Label+", design", s)
			case years > s.Years:
				ask(x.Label, g.stormOf(x))
			}
		}
		if x, err := g.rainfall.At(s.Plumbing.Years, s.Plumbing.Duration); err == nil {
			codes := g.stormOf(x)
			codes.Rain = nil // they ask for no time of concentration
			ask(x.Label+", plumbing codes", codes)
		}
	}
	for _, more := range moreRain {
		ask(fmt.Sprintf("design + %.0f %%", 100*more), s.Times(1+more))
	}
	return list
}
