package design

import "curbfall/routing/hydraulics"

// WhatIf is what a storm other than the design storm would do to a design.
type WhatIf struct {
	Name      string
	Intensity float64  // over the storm's duration, m/s
	Flow      float64  // of all inflows, m3/s
	Over      []string // pipes it brings more than they carry
	Overflows []string // nodes where water leaves the pipes
}

// WhatIf tells what a storm would do to the design: each flow by its own times of
// concentration, which are left as they are.
func (r *Result) WhatIf(name string, s Storm) WhatIf {
	w := WhatIf{Name: name, Intensity: s.Intensity}
	for i := range r.Inflows {
		w.Flow += r.FlowIn(&r.Inflows[i], s)
	}
	times := make([]float64, len(r.Network.Pipes)) // the design flow, in each
	own := arrivals(&r.Network, r.Inflows, asDesigned)
	for k, list := range arrivals(&r.Network, r.Inflows, func(in *Inflow) float64 { return r.weightedIn(in, s) }) {
		flow, _ := hydraulics.PeakFlow(list, s.Over)
		if q, _ := hydraulics.PeakFlow(own[k], r.Storm.Over); q > 0 {
			times[k] = flow / q
		}
		if p := &r.Network.Pipes[k]; times[k]*p.Flow > p.Capacity*(1+overRounding) {
			w.Over = append(w.Over, p.ID)
		}
	}
	for _, x := range r.Spills {
		for v := range r.Network.Nodes {
			if n := &r.Network.Nodes[v]; n.ID == x.Node && n.Kind == x.Kind && x.Share <= times[n.Out]*(1+overRounding) {
				w.Overflows = append(w.Overflows, x.Node)
			}
		}
	}
	return w
}
