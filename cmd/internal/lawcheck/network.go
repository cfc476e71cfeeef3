package lawcheck

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"
)

// network proves that ids, places, stations and lengths hang together, and
// builds the graph the other rules follow.
func (c *checker) network() {
	total := 0.0
	for _, p := range c.out.pipes {
		from, to := c.out.node[p.from], c.out.node[p.to]
		if from == nil || to == nil {
			c.report(NodeIDs, p.id, math.NaN(), math.NaN(), math.NaN(), "from_node %q or to_node %q is no node", p.from, p.to)
		}
		c.outOf[p.from] = append(c.outOf[p.from], p)
		c.in[p.to] = append(c.in[p.to], p)
		total += p.length()
		if from == nil || to == nil {
			continue
		}
		if apart := math.Max(length(p.up, from.at), length(p.down, to.at)); !(apart <= planTolerance) {
			says := "an end of the line is not at its node"
			if length(p.up, to.at) <= planTolerance && length(p.down, from.at) <= planTolerance {
				says = "the line is drawn upstream"
			}
			c.report(Geometry, p.id, to.number["station_m"], apart, 0, "%s", says)
		}
		if rise := from.number["station_m"] - to.number["station_m"]; !(math.Abs(rise-p.length()) <= planTolerance) {
			c.report(Station, p.id, to.number["station_m"], rise, p.length(), "station_m does not rise upstream by the plan length")
		}
	}
	if s := c.out.summary.PlanLength; !(math.Abs(s-total) <= planTolerance*float64(1+len(c.out.pipes))) {
		c.report(Printed, "summary.json", math.NaN(), s, total, "plan_length_m is not the sum of the pipes")
	}
	outlets := 0.0
	for _, n := range c.out.nodes {
		if n.kind == "outlet" {
			outlets++
		}
	}
	if most, ok := c.limits["limits.outlets_max"]; ok && outlets > most {
		c.report(OutletsMax, "", math.NaN(), outlets, most, "more outlets than allowed")
	}
}

// atNode proves rule 4 and the printed levels at a node.
func (c *checker) atNode(n *node) {
	in, out := c.in[n.id], c.outOf[n.id]
	want := 1
	if n.kind == "outlet" {
		want = 0
	}
	if len(out) != want {
		c.report(NodeIDs, n.id, n.number["station_m"], float64(len(out)), float64(want), "pipes leave this %s", n.kind)
	}
	if n.kind == "outlet" && !(math.Abs(n.number["station_m"]) <= planTolerance) {
		c.report(Station, n.id, n.number["station_m"], n.number["station_m"], 0, "station_m is not 0 at the outlet")
	}
	if !n.inflow() && len(in) == 0 && n.kind != "outlet" {
		c.report(NodeIDs, n.id, n.number["station_m"], 0, 1, "no pipe comes to this %s", n.kind)
	}
	z := c.ground.at(n.at)
	if beside := slices.Concat(in, out); len(beside) > 0 {
		z = c.z(beside[0], n.at)
	}
	if raw := c.ground.at(n.at); !(math.Abs(n.number["ground_m"]-z) <= coverTolerance || math.Abs(n.number["ground_m"]-raw) <= coverTolerance) {
		c.report(Printed, n.id, n.number["station_m"], n.number["ground_m"], z, "ground_m is not the ground")
	}
	if d := n.number["ground_m"] - n.number["invert_m"]; n.kind != "outlet" && !(math.Abs(d-n.number["invert_depth_m"]) <= coverTolerance) {
		c.report(Printed, n.id, n.number["station_m"], n.number["invert_depth_m"], d, "invert_depth_m is not ground less invert")
	}
	if over := n.number["hgl_m"] - n.number["rim_m"]; over > invertTolerance && !strings.Contains(c.out.summary.Verdict, "over the rim of") {
		c.report(GradeLine, n.id, n.number["station_m"], n.number["hgl_m"], n.number["rim_m"], "the grade line stands over an open rim, and the verdict hides it")
	}
	for _, q := range out {
		if n.number["hgl_m"] < q.invertUp()-invertTolerance {
			c.report(Printed, n.id, n.number["station_m"], n.number["hgl_m"], q.invertUp(), "hgl_m lies below the outgoing pipe")
		}
		if !(math.Abs(n.number["invert_m"]-q.invertUp()) <= invertTolerance) {
			c.report(Printed, n.id, n.number["station_m"], n.number["invert_m"], q.invertUp(), "invert_m is not the outgoing pipe's")
		}
		for _, p := range in {
			c.join(n, p, q)
		}
		c.flows(n, in, q)
	}
}

// join proves rule 4 for a pipe that comes in and the one that goes out.
func (c *checker) join(n *node, p, q *pipe) {
	station := n.number["station_m"]
	if !(p.invertDown() >= q.invertUp()-invertTolerance) {
		c.report(NodeInverts, p.id, station, p.invertDown(), q.invertUp(), "it comes in below pipe %s, which leaves", q.id)
	}
	if q.diameter < p.diameter-1e-6 && c.lastTo(q) == "" {
		c.report(SizeShrinks, q.id, station, q.diameter, p.diameter, "smaller than pipe %s, which comes in", p.id)
	}
}

// flows proves that a pipe's design flow hides nothing that comes into it.
func (c *checker) flows(n *node, in []*pipe, q *pipe) {
	least := 0.0
	if n.inflow() {
		least = n.number["inflow_lps"]
	}
	for _, p := range in {
		least = math.Max(least, p.number["design_flow_lps"])
	}
	if flow := q.number["design_flow_lps"]; !(flow >= least*(1-flowTolerance)) && !c.saysLeftOver(least-flow) {
		c.report(Capacity, q.id, n.number["station_m"], flow/litresPerCubicMetre, least/litresPerCubicMetre, "its design flow is less than what comes in, and nothing says so")
	}
}

// crossings proves that pipes meet only at nodes they share.
func (c *checker) crossings() {
	for i, p := range c.out.pipes {
		for _, q := range c.out.pipes[:i] {
			var at []orb.Point
			if x, ok := meet(p.up, p.down, q.up, q.down); ok {
				at = append(at, x)
			}
			for _, e := range []struct {
				x    orb.Point
				line *pipe
			}{{p.up, q}, {p.down, q}, {q.up, p}, {q.down, p}} {
				if length(e.x, between(e.line.up, e.line.down, foot(e.x, e.line.up, e.line.down))) <= planTolerance {
					at = append(at, e.x)
				}
			}
			for _, x := range at {
				if !c.shared(p, q, x) {
					c.report(Crossing, p.id, c.foot(p)+length(x, p.down), length(x, p.down), 0, "it meets pipe %s where they share no node", q.id)
					break
				}
			}
		}
	}
}

// shared tells whether two pipes have a node in common at x.
func (c *checker) shared(p, q *pipe, x orb.Point) bool {
	for _, a := range []string{p.from, p.to} {
		if n := c.out.node[a]; n != nil && (a == q.from || a == q.to) && length(n.at, x) <= 2*planTolerance {
			return true
		}
	}
	return false
}

// hidden proves that utilities of unknown depth under or over a pipe are listed.
func (c *checker) hidden(dir string) {
	data, err := os.ReadFile(filepath.Join(dir, "crossings.geojson"))
	var l layer
	if err == nil {
		err = json.Unmarshal(data, &l)
	}
	if err != nil {
		c.report(Form, "crossings.geojson", math.NaN(), math.NaN(), math.NaN(), "%v", err)
		return
	}
	listed := map[[2]string]bool{}
	for _, f := range l.Features {
		if strings.Contains(word(f.Properties["says"]), "expose before digging") {
			listed[[2]string{word(f.Properties["pipe"]), word(f.Properties["id"])}] = true
		}
	}
	for _, u := range c.site.byKind["utility"] {
		_, top := c.site.level(u, "top")
		_, depth := u.length("depth")
		for _, p := range c.out.pipes {
			for k := 1; k < len(u.line) && !top && !depth; k++ {
				if _, ok := meet(p.up, p.down, u.line[k-1], u.line[k]); ok && !listed[[2]string{p.id, u.id}] {
					c.report(Utility, p.id, c.foot(p), math.NaN(), math.NaN(), "it meets utility %s of unknown depth, and nothing says expose before digging", u.id)
					break
				}
			}
		}
	}
}
