package storm

import (
	"bytes"
	"slices"

	"curbfall/terrain/depression"
	"curbfall/terrain/grid"
)

// stand finds the ponds from what the nodes do.
func (s *state) stand() {
	s.r.Depth = make([]float32, len(s.t.Surface.Z))
	ponds := make([]Pond, 0, len(s.does)-bytes.Count(s.does, []byte{idle}))
	for k, does := range s.does {
		if does != idle {
			ponds = append(ponds, Pond{Node: int32(k), Level: s.level(int32(k)), Full: does == full})
		}
	}
	grid.OnBands(grid.Bands(len(ponds)), func(_ int, b grid.Band) {
		for k := b.First; k < b.End; k++ {
			s.wet(&ponds[k])
		}
	})
	s.r.Ponds = slices.DeleteFunc(ponds, func(p Pond) bool { return p.Area == 0 })
	for _, p := range s.r.Ponds {
		s.ponded.add(p.Volume)
	}
}

// wet lets a pond, whose level is in the raster's unit so far, stand on its cells.
func (s *state) wet(p *Pond) {
	g := s.t.Surface
	for _, i := range s.t.Covered(p.Node) {
		if d := (p.Level - float64(g.Z[i])) * g.MetresPerZ; d > 0 {
			p.Volume += d
			p.Area++
			p.Depth = max(p.Depth, d)
			s.r.Depth[i] = float32(d)
		}
	}
	p.Level *= g.MetresPerZ
	p.Volume *= g.CellArea()
	p.Area *= g.CellArea()
}

// level is where the water of a node stands that is full or partly so, in the
// raster's unit.
func (s *state) level(node int32) float64 {
	if s.does[node] == full {
		return float64(s.t.Nodes[node].Spill)
	}
	return s.curve(node).Level((s.water[node] - s.drowned(node)) / s.unit)
}

// pondAt is the node whose pond a pit's cell lies under, or has its water from;
// None where nothing comes to it.
func (s *state) pondAt(cell int) int32 {
	n := s.t.Of[cell]
	for n != depression.None && s.does[n] == idle {
		n = s.t.Nodes[n].Parent
	}
	return n
}

// drowned is what the drains of a node have taken: those of a pit that is not
// full at most what comes to it, all others their capacity.
func (s *state) drowned(node int32) float64 {
	if len(s.hole) == 0 {
		return 0
	}
	n := &s.t.Nodes[node]
	if n.Leaf() {
		return min(s.hole[node], s.water[node])
	}
	return s.holes(n.Children[0]) + s.holes(n.Children[1])
}

// holes is what all drains of a node can take.
func (s *state) holes(node int32) (v float64) {
	stack := []int32{node}
	for len(stack) > 0 {
		k := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if n := &s.t.Nodes[k]; n.Leaf() {
			v += s.hole[k]
		} else {
			stack = append(stack, n.Children[0], n.Children[1])
		}
	}
	return v
}

// swallow finds what each drain took; those of one cell take in the order
// given.
func (s *state) swallow(capacity []float64) {
	left := map[int32]float64{} // water of pits that is still to be shared out
	for k, d := range s.drains {
		leaf, n := s.t.Of[d.Cell], s.pondAt(d.Cell)
		switch {
		case n == depression.None:
		case n == leaf && s.does[n] == partial:
			if _, known := left[leaf]; !known {
				left[leaf] = s.water[leaf]
			}
			s.r.Drained[k] = min(capacity[k], left[leaf])
			left[leaf] -= s.r.Drained[k]
		default:
			s.r.Drained[k] = capacity[k]
		}
	}
}
