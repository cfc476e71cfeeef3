package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"curbfall/io/units"
	"curbfall/routing/design"
)

// wayOut is one change with all inflows it would do for, each alone: a row of the
// alternatives. What is needed is what the one asks that asks most; the rest are
// the worst of all.
type wayOut struct {
	design.Remedy
	inflows []string
}

// unserved are the inflows that nothing leads out.
func unserved(r *design.Result) (list []design.Inflow) {
	for _, in := range r.Inflows {
		if in.Status != design.Served {
			list = append(list, in)
		}
	}
	return list
}

// waysOut lays the remedies of all inflows side by side, those that do for most
// first. Each rim is a change of its own.
func waysOut(r *design.Result) (list []wayOut) {
	for _, in := range unserved(r) {
		for _, x := range in.Remedies {
			k := slices.IndexFunc(list, func(w wayOut) bool { return w.Rule == x.Rule && w.Type == x.Type && w.Rule != design.RuleRim })
			if k < 0 {
				list = append(list, wayOut{x, []string{in.ID}})
				continue
			}
			list[k].join(x, in.ID)
		}
	}
	slices.SortStableFunc(list, func(a, b wayOut) int { return len(b.inflows) - len(a.inflows) })
	return list
}

// join takes in what the same change asks for another inflow.
func (w *wayOut) join(x design.Remedy, id string) {
	length, carries, cover, depth := w.Length, w.Carries, w.CoverMin, w.DepthMax
	if further(x, w.Remedy) {
		w.Remedy = x
	}
	w.Length, w.Carries, w.CoverMin, w.DepthMax = math.Max(length, x.Length), math.Min(carries, x.Carries), math.Min(cover, x.CoverMin), math.Max(depth, x.DepthMax)
	w.inflows = append(w.inflows, id)
}

// further tells that remedy a goes further than b of the same kind.
func further(a, b design.Remedy) bool {
	if a.Lift != b.Lift && !math.IsNaN(a.Lift) {
		return a.Lift > b.Lift
	}
	return math.Abs(a.Needed-a.Now) > math.Abs(b.Needed-b.Now)
}

// ways writes the alternatives as a table, and what each asks of the builder.
func ways(b *strings.Builder, r *design.Result, s units.System) {
	list := waysOut(r)
	if len(list) == 0 {
		return
	}
	rows := []string{"change\tnow\tneeded\tfor\tpipe\tsize\tcarries\tleast cover\tdeepest"}
	for _, w := range list {
		rows = append(rows, strings.Join([]string{w.name(), w.now(s), w.needed(s), w.whom(len(unserved(r))),
			unless(w.Length, units.FormatLength, s), w.Size, unless(w.Carries, units.FormatFlow, s), unless(w.CoverMin, units.FormatDepth, s), unless(w.DepthMax, units.FormatLength, s)}, "\t"))
	}
	table(b, "Ways out: any one row does for the inflows it is for, and its pipe then comes to", rows)
	for _, w := range list {
		fmt.Fprintf(b, "  - %s: %s%s\n", w.name(), inUnits(w.Says, s), w.elsewhere())
	}
	b.WriteString("\n")
}

// name is the change as a row is headed: a criteria key, or what is built.
func (w *wayOut) name() string {
	if w.Type != "" {
		return w.Rule + " " + string(w.Type)
	}
	return w.Rule
}

// elsewhere says that what is built stands elsewhere for other inflows.
func (w *wayOut) elsewhere() string {
	if w.Type == "" || len(w.inflows) == 1 {
		return ""
	}
	return " (each inflow's own place in summary.json)"
}

// now is the value of the change as it is; of a lower outlet each inflow may have its
// own.
func (w *wayOut) now(s units.System) string {
	if w.Rule == design.RuleOutletInvert {
		return ""
	}
	return w.amount(units.Nearest, w.Now, s)
}

// needed is the value of the change that would do, rounded so that it still does.
func (w *wayOut) needed(s units.System) string {
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

// atLeast is a height that is wanted or lacks.
func atLeast(v float64, s units.System) string {
	return units.Up.Depth(units.Up.Step(v, millimetre), s)
}

// amount is a value of the change in the units people read.
func (w *wayOut) amount(to units.Rounding, v float64, s units.System) string {
	switch {
	case math.IsNaN(v):
		return ""
	case w.Unit == "m3/s":
		return to.Flow(v, s)
	case w.Unit != "m" && strings.HasPrefix(w.Rule, "limits.slope"):
		return to.Slope(v)
	case w.Unit != "m":
		return fmt.Sprintf("%.3g", to.Step(v, 0.1))
	}
	if to != units.Nearest {
		v = to.Step(v, millimetre)
	}
	if !strings.HasPrefix(w.Rule, "limits.") && !strings.HasPrefix(w.Rule, "pipes.") {
		return to.Elevation(v, s)
	}
	return length(to, v, "", s)
}

// whom are the inflows a change is for.
func (w *wayOut) whom(all int) string {
	if len(w.inflows) == all && all > 1 {
		return fmt.Sprintf("all %d", all)
	}
	return some(w.inflows)
}

// unless is a number in the units people read, nothing for one that does not apply.
func unless(v float64, format func(float64, units.System) string, s units.System) string {
	if math.IsNaN(v) {
		return ""
	}
	return format(v, s)
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
