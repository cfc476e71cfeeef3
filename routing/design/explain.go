package design

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"curbfall/routing/network"
	"curbfall/routing/search"
)

// explain names, for each inflow that cannot be served, what is missing, where
// it binds, and every single change that would do.
func (d *job) explain(ctx context.Context, verdicts []search.Verdict) error {
	var unserved []int
	for i := range d.in {
		in := &d.in[i]
		switch {
		case in.Status == Served:
		case verdicts[i].Feasible:
			in.Sealed = "pipes already laid for the other inflows shut it in"
		default:
			unserved = append(unserved, i)
			if math.IsInf(verdicts[i].Margin, -1) {
				in.Sealed = d.sealed(i)
				continue
			}
			in.ShortBy = -verdicts[i].Margin
		}
	}
	found, ways, err := d.remedies(ctx, unserved)
	if err != nil {
		return err
	}
	for n, i := range unserved {
		if w := ways[i]; w != nil {
			d.in[i].Binding = d.bindingOf(i, *w)
		}
		for _, r := range found[n] {
			if r.Rule != "" {
				d.in[i].Remedies = append(d.in[i].Remedies, r)
			}
		}
		d.in[i].Remedies = append(d.in[i].Remedies, d.otherWays(i, verdicts[i])...)
	}
	return nil
}

// otherWays are the remedies that need no search: height from elsewhere.
func (d *job) otherWays(i int, v search.Verdict) []Remedy {
	in := d.in[i]
	var list []Remedy
	if !math.IsInf(v.Margin, -1) {
		o := d.out[v.Outlet]
		list = append(list, Remedy{Rule: "outlet invert", Now: o.minInvert, Needed: o.minInvert + v.Margin, Unit: "m",
			Says: fmt.Sprintf("an outlet %.3f m lower, where the street or a storm inlet offers one", -v.Margin)})
	}
	return append(list, Remedy{Rule: "pump", Now: math.NaN(), Needed: in.Flow, Unit: "m3/s",
		Says: fmt.Sprintf("a pump for %.1f L/s to a pipe that falls to the curb", in.Flow*1000)})
}

// sealed says what shuts an inflow in that no pipe can leave at any depth
// within the limits.
func (d *job) sealed(i int) string {
	reached, open := d.search(d.leastHeight(fine)).Reachable(i)
	if open {
		return fmt.Sprintf("every way out is deeper than depth_max %.2f m somewhere", d.criteria.Limits.DepthMax)
	}
	l := d.lattice(fine)
	count := map[string]int{}
	blame := func(k int) {
		if b, ok := d.law.BarAt(l.At(k)); ok {
			count[b.Rule+" of "+b.ID]++
		}
	}
	for _, k := range reached {
		for _, n := range [4]int{k - 1, k + 1, k - l.Cols, k + l.Cols} {
			if n >= 0 && n < len(l.Usable) && !l.Usable[n] {
				blame(n)
			}
		}
	}
	if len(reached) == 0 {
		return "no straight first pipe can leave it: " + d.barredRound(i)
	}
	names := make([]string, 0, len(count))
	for name := range count {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if count[a] != count[b] {
			return count[b] - count[a]
		}
		return strings.Compare(a, b)
	})
	return "shut in by " + strings.Join(names[:min(len(names), mostBlamed)], ", ")
}

// mostBlamed is how many obstacles are named.
const mostBlamed = 4

// barredRound names what bars the place of an inflow itself.
func (d *job) barredRound(i int) string {
	if b, ok := d.law.BarAt(d.in[i].At); ok {
		return b.Rule + " of " + b.ID
	}
	return "the ground round it is unknown or outside the lot"
}

// conclude settles the status and the verdict's sentence.
func (d *job) conclude(r *Result) {
	r.Inflows = append(slices.Clone(d.in), d.drowned...)
	served, short := 0, -1
	for i := range r.Inflows {
		if r.Inflows[i].Status == Served {
			served++
			continue
		}
		if short < 0 || less(r.Inflows[short].ShortBy, r.Inflows[i].ShortBy) {
			short = i
		}
	}
	r.Status = Feasible
	if served < len(r.Inflows) {
		r.Status = Infeasible
	}
	r.Verdict = d.verdict(r, served, short)
}

// less puts inflows without any way (NaN) last, as the worst.
func less(a, b float64) bool { return a < b || !math.IsNaN(a) && math.IsNaN(b) }

func (d *job) verdict(r *Result, served, short int) string {
	if r.Status == Infeasible {
		in := r.Inflows[short]
		tail := fmt.Sprintf("%s has no way at all: %s", in.ID, in.Sealed)
		if !math.IsNaN(in.ShortBy) {
			tail = fmt.Sprintf("%s is short of fall by %.3f m", in.ID, in.ShortBy)
		}
		return fmt.Sprintf("Not every inflow drains by gravity: %d of %d reach the outlet; %s%s.", served, len(r.Inflows), tail, overRimWords(&r.Network))
	}
	n := &r.Network
	var outlets []string
	for i := range n.Pipes {
		if p := &n.Pipes[i]; n.Nodes[p.To].Out < 0 {
			outlets = append(outlets, fmt.Sprintf("a %s %s outlet, invert %.4f m", p.Size.Nominal, p.Size.Material, p.InvertDown))
		}
	}
	s := fmt.Sprintf("All %d inflows drain by gravity through %.2f m of pipe to %s", len(r.Inflows), r.PlanLength, strings.Join(outlets, ", and "))
	if r.Leftover > 0 {
		s += fmt.Sprintf("; %.3f L/s of the design flow is more than the pipes carry flowing full and is left over", r.Leftover*1000)
		if len(r.Spills) == 0 || r.Spills[0].Share >= 1 {
			s += ", though under pressure it finds room with the hydraulic grade line below every rim and leader"
		}
	}
	return s + overRimWords(n) + "."
}

// overRimWords says which open rim the grade line passes most, "" for none.
func overRimWords(n *network.Network) string {
	v := overRim(n)
	if v == nil {
		return ""
	}
	return fmt.Sprintf("; in the design storm the hydraulic grade line stands %.3f m over the rim of %s, and water comes out there", -v.Freeboard, v.ID)
}
