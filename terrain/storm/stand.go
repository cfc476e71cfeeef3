package storm

import "curbfall/terrain/depression"

// stand finds the ponds from what the nodes do.
func (s *state) stand() {
	z := s.t.Surface.Z
	m := s.t.Surface.MetresPerZ
	s.r.Depth = make([]float32, len(z))
	for k, does := range s.does {
		if does == idle {
			continue
		}
		node := int32(k)
		level := s.level(node)
		p := Pond{Node: node, Level: level * m, Full: does == full}
		for _, i := range s.t.Within(node) {
			if d := (level - float64(z[i])) * m; d > 0 {
				p.Volume += d
				p.Area++
				p.Depth = max(p.Depth, d)
				s.r.Depth[i] = float32(d)
			}
		}
		if p.Area == 0 {
			continue
		}
		p.Volume *= s.t.Surface.CellArea()
		p.Area *= s.t.Surface.CellArea()
		s.ponded.add(p.Volume)
		s.r.Ponds = append(s.r.Ponds, p)
	}
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
