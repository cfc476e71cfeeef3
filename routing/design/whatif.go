package design

// WhatIf is what a storm other than the design storm would do to a design.
type WhatIf struct {
	Name      string
	Intensity float64  // m/s
	Flow      float64  // of all inflows, m3/s
	Over      []string // pipes it brings more than they carry
	Overflows []string // nodes where water leaves the pipes
}

// WhatIf tells what a storm of an intensity, m/s, would do to the design whose
// own storm is s.
func (r *Result) WhatIf(name string, intensity float64, s Storm) WhatIf {
	times := intensity / s.Intensity
	w := WhatIf{Name: name, Intensity: intensity}
	for _, in := range r.Inflows {
		w.Flow += times * in.Flow
	}
	for k := range r.Network.Pipes {
		if p := &r.Network.Pipes[k]; times*p.Flow > p.Capacity*(1+overRounding) {
			w.Over = append(w.Over, p.ID)
		}
	}
	for _, x := range r.Spills {
		if x.Share <= times*(1+overRounding) {
			w.Overflows = append(w.Overflows, x.Node)
		}
	}
	return w
}
