package design

import (
	"fmt"
)

// Costs are the user's unit prices, in a currency of theirs; zero where none are
// given.
type Costs struct {
	Pipe []float64 // of a metre laid in each bore of the catalogue
	Dig  float64   // of a metre of trench a metre deep from ground to invert
}

// Given tells whether there are prices.
func (c Costs) Given() bool { return c.Pipe != nil }

// Cost is a quantity with its price.
type Cost struct {
	Item     string  // "4 in pipe", "trench"
	Trench   bool    // measured by its side, from ground to invert
	Quantity float64 // m of pipe, m2 of trench
	Price    float64 // of one
}

// Sum is what the quantity costs.
func (c Cost) Sum() float64 { return c.Quantity * c.Price }

// CostTotal is what all quantities cost together.
func (r *Result) CostTotal() (sum float64) {
	for _, c := range r.Costs {
		sum += c.Sum()
	}
	return sum
}

// costs lists what was laid at the user's prices, the smallest size first; nil
// where none are given.
func (l *layer) costs() (list []Cost) {
	prices := l.criteria.Costs
	if !prices.Given() {
		return nil
	}
	for b, bore := range l.criteria.Catalogue.Bores {
		c := Cost{Item: fmt.Sprintf("%s pipe", bore.Nominal), Price: prices.Pipe[b]}
		for k := range l.net.Pipes {
			if p := &l.net.Pipes[k]; p.Size.Nominal == bore.Nominal {
				c.Quantity += p.Length
			}
		}
		if c.Quantity > 0 {
			list = append(list, c)
		}
	}
	trench := Cost{Item: "trench", Trench: true, Price: prices.Dig}
	for k := range l.net.Pipes {
		trench.Quantity += l.dug(k)
	}
	return append(list, trench)
}

// dug is the area between the ground as given and the invert of pipe k, m2: a
// parabola less a straight line on every piece of ground, by Simpson's rule
// exactly.
func (l *layer) dug(k int) (area float64) {
	p := &l.net.Pipes[k]
	a, b := l.net.Nodes[p.From].At, l.net.Nodes[p.To].At
	pieces, _ := l.law.Ground.Along(nil, a[0], a[1], b[0], b[1])
	for _, g := range pieces {
		depth := func(s float64) float64 { return g.At(s) - (p.InvertUp - p.Fall()*s/p.Length) }
		area += (g.To - g.From) / 6 * (depth(g.From) + 4*depth((g.From+g.To)/2) + depth(g.To))
	}
	return area
}
