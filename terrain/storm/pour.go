package storm

import (
	"fmt"
	"math"
	"slices"

	"curbfall/terrain/depression"
)

// Pouring is a storm's water at the pits it runs to, before any of it has found
// its place: with other drains it settles again for a walk of the tree.
type Pouring struct {
	t        *depression.Tree
	unit     float64 // m3 of a tree's unit of volume
	drains   []Drain
	came     []float64 // m3, by pit's node
	in, lost sum       // m3
	curves   map[int32]*depression.Curve
}

// Pour brings the water to the pits it runs to. The capacities of its drains are
// not read. Errors are of type *BadWater.
func Pour(t *depression.Tree, w Water) (*Pouring, error) {
	p := &Pouring{t: t, unit: t.Surface.CellArea() * t.Surface.MetresPerZ, drains: w.Drains, came: make([]float64, len(t.Nodes)), curves: map[int32]*depression.Curve{}}
	for _, d := range w.Drains {
		if d.Cell < 0 || d.Cell >= len(t.Of) || t.Of[d.Cell] == depression.None || int(t.Nodes[t.Of[d.Cell]].Pit) != d.Cell {
			return nil, &BadWater{d.Cell, "a drain that is no sink of the tree"}
		}
	}
	area := t.Surface.CellArea()
	for i := range t.Of {
		if t.Surface.Void(i) {
			continue
		}
		if err := p.give(i, w.Runoff(i)*area, p.came, &p.in, &p.lost); err != nil {
			return nil, err
		}
	}
	return p, p.deliver(w.Deliveries, p.came, &p.in, &p.lost)
}

// Share is a share of the pouring: what has come down while the storm still
// lasts.
func (p *Pouring) Share(share float64) *Pouring {
	part := *p
	part.came = make([]float64, len(p.came))
	for k, v := range p.came {
		part.came[k] = share * v
	}
	part.in = sum{share * p.in.large, share * p.in.rounded}
	part.lost = sum{share * p.lost.large, share * p.lost.rounded}
	return &part
}

// give lets water out at a cell.
func (p *Pouring) give(cell int, v float64, to []float64, in, lost *sum) error {
	if !(v >= 0) || math.IsInf(v, 1) {
		return &BadWater{cell, fmt.Sprintf("%v m3 of water, which must be a number and not negative", v)}
	}
	in.add(v)
	if n := p.t.Of[cell]; n != depression.None {
		to[n] += v
	} else {
		lost.add(v)
	}
	return nil
}

func (p *Pouring) deliver(list []Delivery, to []float64, in, lost *sum) error {
	for _, d := range list {
		if d.Cell < 0 || d.Cell >= len(p.t.Of) || p.t.Surface.Void(d.Cell) {
			return &BadWater{d.Cell, "water let out where there is no ground"}
		}
		if err := p.give(d.Cell, d.Volume, to, in, lost); err != nil {
			return err
		}
	}
	return nil
}

// place lets the water, and more, find its place with drains of capacities,
// m3, in their order.
func (p *Pouring) place(capacity []float64, more []Delivery) (*state, error) {
	s := &state{Pouring: p, water: slices.Clone(p.came), holds: make([]float64, len(p.t.Nodes)), hole: map[int32]float64{},
		does: make([]uint8, len(p.t.Nodes)), r: &Result{Spilled: make([]float64, len(p.t.Nodes)), Drained: make([]float64, len(p.drains))}, in: p.in, lost: p.lost}
	if err := s.open(capacity); err != nil {
		return nil, err
	}
	if err := p.deliver(more, s.water, &s.in, &s.lost); err != nil {
		return nil, err
	}
	for k := range p.t.Nodes {
		if n := p.t.Nodes[k].Parent; n != depression.None {
			s.water[n] += s.water[k]
		}
	}
	for k := len(p.t.Roots) - 1; k >= 0; k-- {
		s.settle(p.t.Roots[k])
	}
	s.swallow(capacity)
	return s, nil
}

// Settle is Run with drains of these capacities, m3, one for each of the
// water's, and with more water than was poured.
func (p *Pouring) Settle(capacity []float64, more []Delivery) (*Result, error) {
	s, err := p.place(capacity, more)
	if err != nil {
		return nil, err
	}
	s.stand()
	s.r.In, s.r.Lost, s.r.Ponded = s.in.total(), s.lost.total(), s.ponded.total()
	return s.r, nil
}

// Levels is Settle where only the drains are asked about: the elevation of the
// water over each, m, which is the ground's where it is dry, and what each took,
// m3. It costs no more than the walk of the tree.
func (p *Pouring) Levels(capacity []float64, more []Delivery) (levels, drained []float64, err error) {
	s, err := p.place(capacity, more)
	if err != nil {
		return nil, nil, err
	}
	levels = make([]float64, len(p.drains))
	for k, d := range p.drains {
		levels[k] = p.t.Surface.Elevation(d.Cell)
		if n := s.pondAt(d.Cell); n != depression.None {
			levels[k] = max(levels[k], s.level(n)*p.t.Surface.MetresPerZ)
		}
	}
	return levels, s.r.Drained, nil
}

// curve is the stage-volume curve of a node, made once.
func (p *Pouring) curve(node int32) *depression.Curve {
	c := p.curves[node]
	if c == nil {
		c = p.t.Curve(node)
		p.curves[node] = c
	}
	return c
}
