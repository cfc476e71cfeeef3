package design

import (
	"context"
	"math"
	"testing"

	"curbfall/routing/constraint"
)

// What is laid, measured again: pipes by their lengths, the trench in steps of a
// millimetre.
func TestCostOfWhatIsLaid(t *testing.T) {
	g, site := testLot(0.05)
	c := testCriteria()
	law := constraint.NewLaw(g, site, 0, c.Limits)
	if r, err := Lot(context.Background(), law, site, Water{}, c); err != nil || r.Costs != nil {
		t.Fatalf("without prices: %v, %v", r.Costs, err)
	}
	c.Costs = Costs{Pipe: []float64{5, 8}, Dig: 12}
	r, err := Lot(context.Background(), law, site, Water{}, c)
	if err != nil {
		t.Fatal(err)
	}
	want := 0.0
	for k := range r.Network.Pipes {
		p := &r.Network.Pipes[k]
		a, b := r.Network.Nodes[p.From].At, r.Network.Nodes[p.To].At
		n := math.Ceil(p.Length / 1e-3)
		for i := 0.5; i < n; i++ {
			at := pointOn(a, b, i/n)
			want += c.Costs.Dig * p.Length / n * (g.Ground(at[0], at[1]) - (p.InvertUp - p.Fall()*i/n))
		}
		for b, bore := range c.Catalogue.Bores {
			if bore.Nominal == p.Size.Nominal {
				want += c.Costs.Pipe[b] * p.Length
			}
		}
	}
	if got := r.CostTotal(); want < 100 || math.Abs(got-want) > 1e-5*want {
		t.Errorf("costs %.4f, measured %.4f", got, want)
	}
}
