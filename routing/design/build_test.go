package design

import (
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// Corners of a way that are all but one are one node, and no pipe lies between.
func TestCornersAllButOne(t *testing.T) {
	s := shortLot{rise: 0.05, change: func(*constraint.Site) {}}
	law, site, water, c := s.pose(func(*Criteria) {})
	d := &job{law: law, site: site, criteria: c, water: water}
	d.in = d.inflows()
	d.exits = []constraint.Exit{d.exitOf(&d.in[0])}
	d.out, _ = d.discharges()
	d.used = d.out[len(d.out)/2 : len(d.out)/2+1]
	end := d.used[0].at
	const near = 5e-5
	at := []orb.Point{d.in[0].At, {5, 11}, {7, 8}, {7 + near, 8 - near}, {end[0], 4}, end}
	var way tree
	for k, p := range at {
		way = append(way, vertex{at: p, next: k + 1, inflow: -1, outlet: -1})
	}
	way[0].inflow, way[5].next, way[5].outlet = 0, -1, 0
	l, err := d.lay(way, 0)
	if err != nil {
		t.Fatal(err)
	}
	for k := range l.net.Pipes {
		if p := &l.net.Pipes[k]; p.From == p.To || p.Length < nodeApart {
			t.Errorf("%s from %v to %v", p.ID, l.net.Nodes[p.From].At, l.net.Nodes[p.To].At)
		}
	}
}
