package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"curbfall/io/units"
	"curbfall/routing/design"
	"curbfall/routing/network"
)

// Text is the page a designer reads: the verdict, what is missing and what
// would do, then what is laid and what to mind.
func Text(r *design.Result, lot string, s units.System, folder string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Lot %s: %s\n%s\n\n", lot, strings.ToUpper(string(r.Status)), inUnits(r.Verdict, s))
	list(&b, "What is missing", missing(r, s))
	ways(&b, r, s)
	if g := r.Gap(); !math.IsNaN(g) && !math.IsInf(g, 0) {
		fmt.Fprintf(&b, "Proven: no plan with as many outlets is shorter than %s; this one is at most %.1f %% longer.\n\n", units.Down.Length(r.LengthBound, s), units.Up.Step(100*g, 0.1))
	}
	list(&b, "Design storm", stormWords(r, s))
	pipes(&b, r, s)
	costs(&b, r, s)
	outlets(&b, r, s)
	list(&b, "Water in the pipes", waterLevels(r, s))
	whatIfs(&b, r, s)
	list(&b, "Water on the ground", lines(r.SurfaceWater, s))
	inflows(&b, r, s)
	list(&b, "Shallow pipe to protect", protections(r, s))
	list(&b, "Crossed on the way", crossings(r, s))
	list(&b, "Assumed", lines(r.Assumed, s))
	list(&b, "Noted", lines(r.Notes, s))
	list(&b, "Before anyone digs", Cautions)
	fmt.Fprintf(&b, "%sLayers are in %s; open review.geojson in any map viewer.\n", footOf(s), folder)
	return b.String()
}

// footOf says which foot the page is in.
func footOf(s units.System) string {
	switch s {
	case units.USFoot:
		return "Feet are US survey feet. "
	case units.IntlFoot:
		return "Feet are international feet. "
	}
	return ""
}

func list(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "%s\n", title)
	for _, l := range lines {
		fmt.Fprintf(b, "  - %s\n", l)
	}
	b.WriteString("\n")
}

// table writes rows with the first as heads; cells are parted by tabs.
func table(b *strings.Builder, title string, rows []string) {
	var cells strings.Builder
	w := tabwriter.NewWriter(&cells, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintf(w, "  %s\n", r)
	}
	_ = w.Flush() // a string builder takes everything
	fmt.Fprintf(b, "%s\n", title)
	for line := range strings.Lines(cells.String()) {
		b.WriteString(strings.TrimRight(line, " \n") + "\n") // the last column's cell may be empty
	}
}

// stormWords says which rain the flows are of, and by which convention.
func stormWords(r *design.Result, s units.System) (lines []string) {
	storm := r.Storm
	if storm.Intensity == 0 {
		return nil
	}
	rain, least := units.FormatIntensity(storm.Intensity, s), units.FormatTime(storm.Duration)
	if storm.Rain != nil {
		lines = append(lines, fmt.Sprintf("%s, %s (%s); water that takes longer than %s to come has the lighter rain of its time", rain, storm.Source, storm.Table, least), conventions(storm)+": what_if in summary.json")
	} else {
		whence := "as given (storm.intensity)"
		if storm.Assumed {
			whence = "assumed since none was given (storm.intensity, storm.table)"
		}
		lines = append(lines, fmt.Sprintf("%s over %s, %g-year, %s; one figure: it is the same however long water takes to come", rain, least, storm.Years, whence), conventions(storm)+": a rainfall table (storm.table) tells it")
	}
	if f := storm.Factor(); f != 1 {
		lines = append(lines, fmt.Sprintf("so rare a storm falls on wet ground: runoff coefficients times %g, 1 at most (storm.frequency_factor)", f))
	}
	return lines
}

// conventions says by which rule the storm is chosen, and what the other one is.
func conventions(storm design.Storm) string {
	if storm.Years == storm.Plumbing.Years && storm.Duration == storm.Plumbing.Duration {
		return "that is the plumbing codes' convention (storm.plumbing_convention); the civil one designs yards for the 10-year rain of 5 min (storm.return_period, storm.duration)"
	}
	return fmt.Sprintf("that is the civil convention (storm.return_period, storm.duration); the plumbing codes design for the %g-year rain of %s (storm.plumbing_convention)",
		storm.Plumbing.Years, units.FormatTime(storm.Plumbing.Duration))
}

// rainHead and rainOf are the head and the cell of how long the rain lasts that a
// flow is of, where that is not the same for all.
func rainHead(r *design.Result) []string {
	if r.Storm.Rain == nil {
		return nil
	}
	return []string{"rain of"}
}

func rainOf(r *design.Result, seconds float64) []string {
	if r.Storm.Rain == nil {
		return nil
	}
	return []string{units.FormatTime(seconds)}
}

func pipes(b *strings.Builder, r *design.Result, s units.System) {
	n := &r.Network
	if len(n.Pipes) == 0 {
		return
	}
	head := append([]string{"pipe", "from", "to", "size", "length", "slope", "invert up", "down", "cover"}, rainHead(r)...)
	rows := []string{strings.Join(append(head, "flow", "carries"), "\t")}
	for k := range n.Pipes {
		p := &n.Pipes[k]
		carries := units.FormatFlow(p.Capacity, s)
		if p.Flow > p.Capacity {
			carries += " TOO LITTLE"
		}
		row := append([]string{p.ID, n.Nodes[p.From].ID, nodeWords(n, p.To), p.Size.Nominal + " " + p.Size.Material,
			units.FormatLength(p.Length, s), units.FormatSlope(p.Slope()),
			units.FormatElevation(p.InvertUp, s), units.FormatElevation(p.InvertDown, s),
			units.FormatDepth(p.CoverMin, s)}, rainOf(r, p.RainDuration)...)
		rows = append(rows, strings.Join(append(row, units.FormatFlow(p.Flow, s), carries), "\t"))
	}
	table(b, fmt.Sprintf("Pipes, downstream, %s in all", units.FormatLength(r.PlanLength, s)), rows)
	if r.Leftover > 0 {
		fmt.Fprintf(b, "  Left over: %s of the design flow is more than the pipes carry.\n", units.FormatFlow(r.Leftover, s))
	}
	b.WriteString("\n")
}

// costs prints what pipe and trench come to at the user's prices.
func costs(b *strings.Builder, r *design.Result, s units.System) {
	if len(r.Costs) == 0 {
		return
	}
	rows := []string{"item\tquantity\tcost"}
	for _, c := range r.Costs {
		quantity := units.FormatLength(c.Quantity, s)
		if c.Trench {
			quantity = units.FormatArea(c.Quantity, s) + " of its side, ground to invert"
		}
		rows = append(rows, fmt.Sprintf("%s\t%s\t%.2f", c.Item, quantity, c.Sum()))
	}
	table(b, "Cost by the prices in the criteria", append(rows, fmt.Sprintf("all\t\t%.2f", r.CostTotal())))
	b.WriteString("\n")
}

// nodeWords names a node with what is built there.
func nodeWords(n *network.Network, v int) string {
	if n.Nodes[v].Kind == network.OutletNode {
		return n.Nodes[v].ID
	}
	return n.Nodes[v].ID + " " + n.Fitting(v)
}

func outlets(b *strings.Builder, r *design.Result, s units.System) {
	var lines []string
	for k := range r.Network.Nodes {
		v := &r.Network.Nodes[k]
		if v.Kind != network.OutletNode {
			continue
		}
		l := fmt.Sprintf("%s, %s, invert %s", v.ID, plain(string(v.OutletType)), units.FormatElevation(v.Invert, s))
		if !math.IsNaN(v.Gutter) {
			l += fmt.Sprintf(", %s above the gutter at %s", units.FormatDepth(v.Invert-v.Gutter, s), units.FormatElevation(v.Gutter, s))
		}
		if !math.IsNaN(v.Lid) {
			l += fmt.Sprintf(", lid at %s", units.FormatElevation(v.Lid, s))
		}
		lines = append(lines, l)
	}
	list(b, "Outlet", lines)
}

// waterLevels says which rim the hydraulic grade line is nearest to, and where water
// leaves first.
func waterLevels(r *design.Result, s units.System) (lines []string) {
	if len(r.Network.Pipes) == 0 {
		return nil
	}
	var nearest *network.Node
	for k := range r.Network.Nodes {
		if v := &r.Network.Nodes[k]; v.Freeboard >= 0 && (nearest == nil || v.Freeboard < nearest.Freeboard) {
			nearest = v
		}
	}
	if nearest != nil {
		lines = append(lines, fmt.Sprintf("the hydraulic grade line, the level water would rise to, is nearest to the rim of %s in the design storm: %s below it", nearest.ID, units.FormatDepth(nearest.Freeboard, s)))
	}
	if len(r.Spills) == 0 {
		return append(lines, fmt.Sprintf("no rim or downspout overflows up to %d times the design storm's flow", design.SpillsUpTo))
	}
	first, where := r.Spills[0], "rim"
	if first.Kind == network.Downspout {
		where = "ground"
	}
	line := fmt.Sprintf("first to overflow: %s, over its %s at %s, from %.2f times the design storm's flow on", first.Node, where,
		units.FormatElevation(first.Level, s), first.Share)
	for _, w := range r.WhatIfs {
		if slices.Contains(w.Overflows, first.Node) {
			line += "; of the storms in the table below, " + w.Name + " is the first to bring it"
			break
		}
	}
	return append(lines, line)
}

// whatIfs says what other storms would do.
func whatIfs(b *strings.Builder, r *design.Result, s units.System) {
	if len(r.WhatIfs) == 0 || len(r.Network.Pipes) == 0 {
		return
	}
	rows := []string{"storm\train\tflow\tpipes too small\toverflows"}
	for _, w := range r.WhatIfs {
		rows = append(rows, strings.Join([]string{w.Name, units.FormatIntensity(w.Intensity, s), units.FormatFlow(w.Flow, s), some(w.Over), some(w.Overflows)}, "\t"))
	}
	table(b, "If it rains harder", rows)
	b.WriteString("\n")
}

// someShown is how many names a cell holds.
const someShown = 4

// some writes names, the many by number.
func some(names []string) string {
	switch n := len(names); {
	case n == 0:
		return "none"
	case n > someShown:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:someShown-1], ", "), n-someShown+1)
	}
	return strings.Join(names, ", ")
}

func inflows(b *strings.Builder, r *design.Result, s units.System) {
	if len(r.Inflows) == 0 {
		return
	}
	head := append([]string{"inflow", "kind", "drains", "runs off"}, rainHead(r)...)
	rows := []string{strings.Join(append(head, "design flow", "status", ""), "\t")}
	for _, in := range r.Inflows {
		more := ""
		if in.Assumed {
			more = "proposed"
		}
		row := append([]string{in.ID, plain(string(in.Kind)), units.FormatArea(in.Area, s), fmt.Sprintf("%.2f", in.Coeff())}, rainOf(r, in.TimeOfConc)...)
		rows = append(rows, strings.Join(append(row, units.FormatFlow(in.Flow, s), string(in.Status), more), "\t"))
	}
	table(b, "Inflows", rows)
	b.WriteString("\n")
}

// protections lists shallow pipe by what is to be done, each stretch of it with its
// least cover.
func protections(r *design.Result, s units.System) (lines []string) {
	for _, group := range alike(r.Protections, func(p design.Protection) string { return p.Says }) {
		says := inUnits(group[0].Says, s)
		stretches := joined(r, group)
		if len(stretches) == 1 {
			lines = append(lines, stretches[0].words(s)+": "+says)
			continue
		}
		line := says + ":"
		for _, x := range stretches {
			line += "\n      " + x.words(s)
		}
		lines = append(lines, line)
	}
	return lines
}

// stretch is shallow cover over pipes one after the other.
type stretch struct {
	first, last string // pipes
	from, to    float64
	cover       float64 // least
}

func (x stretch) words(s units.System) string {
	pipes := x.first
	if x.last != x.first {
		pipes += " to " + x.last
	}
	return fmt.Sprintf("%s, %s to %s from the outlet, cover %s", pipes, units.FormatLength(x.from, s), units.FormatLength(x.to, s), units.FormatDepth(x.cover, s))
}

// touching is how near two stretches are one, m.
const touching = 0.01

// joined makes stretches of protections in the order of the pipes, those that go on
// from one pipe into the next as one.
func joined(r *design.Result, list []design.Protection) (stretches []stretch) {
	from, to := map[string]int{}, map[string]int{} // nodes, by pipe
	for k := range r.Network.Pipes {
		p := &r.Network.Pipes[k]
		from[p.ID], to[p.ID] = p.From, p.To
	}
	for _, p := range list {
		if n := len(stretches); n > 0 {
			x := &stretches[n-1]
			if (x.last == p.Pipe || to[x.last] == from[p.Pipe]) && math.Abs(x.from-p.To) < touching {
				x.last, x.from, x.cover = p.Pipe, p.From, math.Min(x.cover, p.Cover)
				continue
			}
		}
		stretches = append(stretches, stretch{p.Pipe, p.Pipe, p.From, p.To, p.Cover})
	}
	return stretches
}

// crossings lists what is met on the way, each zone in one line for all pipes
// in it.
func crossings(r *design.Result, s units.System) []string {
	var lines []string
	key := func(c design.Crossing) string {
		if c.Kind == "utility" {
			return c.Kind + c.ID + c.Pipe
		}
		return c.Kind + c.ID + c.Says
	}
	for _, group := range alike(r.Crossings, key) {
		c := group[0]
		what := strings.TrimSpace(plain(c.Kind) + " " + c.ID)
		if !math.IsNaN(c.Clearance) {
			what += ", clear by " + units.FormatDepth(c.Clearance, s)
		}
		inside := 0.0
		for _, c := range group {
			inside += c.Length
		}
		what += ", " + units.FormatLength(inside, s) + " inside"
		if c.Kind == "utility" {
			what = strings.TrimSuffix(what, "inside") + "by hand"
		}
		where := fmt.Sprintf("%s, %s from the outlet", c.Pipe, units.FormatLength(c.Station, s))
		if len(group) > 1 {
			where = pipeList(group, func(c design.Crossing) string { return c.Pipe })
		}
		lines = append(lines, fmt.Sprintf("%s, %s: %s", where, what, inUnits(c.Says, s)))
	}
	return lines
}

// alike gathers what has the same key, in the order of the first of each.
func alike[T any](list []T, key func(T) string) (groups [][]T) {
	at := map[string]int{}
	for _, x := range list {
		k := key(x)
		if _, ok := at[k]; !ok {
			at[k] = len(groups)
			groups = append(groups, nil)
		}
		groups[at[k]] = append(groups[at[k]], x)
	}
	return groups
}

// pipeList names pipes, each once.
func pipeList[T any](list []T, pipe func(T) string) string {
	var ids []string
	for _, x := range list {
		if id := pipe(x); !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return strings.Join(ids, ", ")
}
