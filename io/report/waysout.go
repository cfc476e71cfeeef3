package report

import (
	"fmt"
	"math"
	"strings"

	"curbfall/io/units"
	"curbfall/routing/design"
)

// unserved are the inflows that nothing leads out.
func unserved(r *design.Result) (list []design.Inflow) {
	for _, in := range r.Inflows {
		if in.Status != design.Served {
			list = append(list, in)
		}
	}
	return list
}

// ways writes the alternatives as a table, and what each asks of the builder.
func ways(b *strings.Builder, r *design.Result, s units.System) {
	if len(r.Alternatives) == 0 {
		return
	}
	rows := []string{"change\tnow\tneeded\tfor\tdrains\tpipe\tsize\ttrench\tleast cover\tdeepest"}
	for _, x := range r.Alternatives {
		a := alternative{x}
		row := []string{a.name(), a.now(s), a.needed(s), among(a.Inflows, len(unserved(r)))}
		if o := a.Design; o != nil {
			row = append(row, drains(o, r, s), units.FormatLength(o.PlanLength, s), strings.Join(o.Sizes, ", "), units.FormatArea(o.Trench, s), units.FormatDepth(o.CoverMin, s), units.FormatLength(o.DepthMax, s))
		}
		rows = append(rows, strings.Join(row, "\t"))
	}
	heading := "Ways out: any one row does for the inflows it is for, each alone; the whole lot with it then comes to"
	if n := design.AlternativesDesigned; len(r.Alternatives) > n {
		heading += fmt.Sprintf(" (designed with the first %d)", n)
	}
	table(b, heading, rows)
	for _, x := range r.Alternatives {
		fmt.Fprintf(b, "  - %s: %s\n", alternative{x}.name(), inUnits(x.Says, s))
	}
	b.WriteString("\n")
}

// drains says how many inflows a design drains, and how much of their flow.
func drains(o *design.Outcome, r *design.Result, s units.System) string {
	text := fmt.Sprintf("%d of %d, ", len(o.Served), len(r.Inflows))
	if o.Leftover > 0 {
		text += units.FormatFlow(o.Flow-o.Leftover, s) + " of "
	}
	return text + units.FormatFlow(o.Flow, s)
}

// alternative is a row of the ways out.
type alternative struct{ design.Alternative }

// name is the change as a row is headed: a criteria key, or what is built.
func (w alternative) name() string {
	if w.Type != "" {
		return w.Rule + " " + string(w.Type)
	}
	return w.Rule
}

// now is the value of the change as it is; of a lower outlet each inflow may have its
// own.
func (w alternative) now(s units.System) string {
	if w.Rule == design.RuleOutletInvert {
		return ""
	}
	return w.amount(units.Nearest, w.Now, s)
}

// needed is the value of the change that would do, rounded so that it still does.
func (w alternative) needed(s units.System) string {
	switch {
	case w.Rule == design.RuleOutletInvert:
		return atLeast(w.Now-w.Needed, s) + " lower"
	case !math.IsNaN(w.Lift):
		return w.amount(units.Up, w.Needed, s) + ", up " + atLeast(w.Lift, s)
	case w.Needed > w.Now:
		return w.amount(units.Up, w.Needed, s)
	case w.Needed < w.Now:
		return w.amount(units.Down, w.Needed, s)
	}
	return w.amount(units.Nearest, w.Needed, s)
}

// onSide is a number that is rounded to a side in steps, others as they are.
func onSide(to units.Rounding, v, step float64) float64 {
	if to == units.Nearest {
		return v
	}
	return to.Step(v, step)
}

// atLeast is a height that is wanted or lacks.
func atLeast(v float64, s units.System) string {
	return units.Up.Depth(units.Up.Step(v, millimetre), s)
}

// amount is a value of the change in the units people read.
func (w alternative) amount(to units.Rounding, v float64, s units.System) string {
	switch {
	case math.IsNaN(v):
		return ""
	case w.Unit == "m3/s":
		return to.Flow(v, s)
	case w.Unit != "m" && strings.HasPrefix(w.Rule, "limits.slope"):
		return to.Slope(v)
	case w.Unit != "m":
		return fmt.Sprintf("%.3g", onSide(to, v, tenth))
	}
	v = onSide(to, v, millimetre)
	if !strings.HasPrefix(w.Rule, "limits.") && !strings.HasPrefix(w.Rule, "pipes.") {
		return to.Elevation(v, s)
	}
	return length(to, v, "", s)
}

// among are inflows out of so many.
func among(inflows []string, all int) string {
	if len(inflows) == all && all > 1 {
		return fmt.Sprintf("all %d", all)
	}
	return some(inflows)
}

// missing says what each inflow that has no way misses, once for all that miss the
// same.
func missing(r *design.Result, s units.System) (lines []string) {
	for _, group := range alike(unserved(r), func(in design.Inflow) string { return lack(in, s) }) {
		ids := make([]string, len(group))
		for k, in := range group {
			ids[k] = in.ID
		}
		lines = append(lines, strings.Join(ids, ", ")+": "+lack(group[0], s))
	}
	return lines
}

// lack says what one inflow misses, and between which places.
func lack(in design.Inflow, s units.System) string {
	switch x := in.Binding; {
	case in.Sealed != "":
		return "no way: " + inUnits(in.Sealed, s)
	case x == nil:
		return height(in.ShortBy, s) + " of fall"
	case x.Lower == nil:
		return fmt.Sprintf("%s: %s is at %s, %s is needed (%s)", height(in.ShortBy, s), in.ID, units.Down.Elevation(x.Value, s), units.Up.Elevation(x.Limit, s), x.Rule)
	default:
		return fmt.Sprintf("%s of %s. %s", height(in.ShortBy, s), scarce(x), pair(x, s))
	}
}

// height is a missing height: however little lacks, it is not told as none.
func height(v float64, s units.System) string {
	if v < millimetre {
		return "less than " + atLeast(millimetre, s)
	}
	return atLeast(v, s)
}

// scarce is what an inflow has too little of.
func scarce(x *design.Binding) string {
	if x.Rule == x.Lower.Rule {
		return "depth"
	}
	return "fall"
}

// pair says where a way is held down, and where more is asked.
func pair(x *design.Binding, s units.System) string {
	up, low := x.Upper, x.Lower
	held := fmt.Sprintf("%s holds the pipe at %s, %s from the outlet", whose(up), units.Down.Elevation(up.Invert, s), units.FormatLength(up.Station, s))
	where := "at the outlet"
	if low.Station > 0 {
		where = units.FormatLength(low.Station, s) + " from it"
	}
	if up.Station-low.Station < 0.01 {
		return fmt.Sprintf("%s; there %s asks %s", held, whose(low), units.Up.Elevation(low.Needed, s))
	}
	says := fmt.Sprintf("%s; at its least slope it comes to %s %s, where %s asks %s", held, units.Down.Elevation(low.Invert, s), where, whose(low), units.Up.Elevation(low.Needed, s))
	if up.Invert < low.Needed {
		says += ": not even a level pipe would do"
	}
	return says
}

// whose is a rule with what it belongs to.
func whose(p *design.Place) string {
	if p.ID == "" {
		return p.Rule
	}
	return p.Rule + " of " + p.ID
}
