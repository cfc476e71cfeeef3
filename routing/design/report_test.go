package design

import (
	"slices"
	"testing"

	"curbfall/routing/network"
)

// Pipes that flow as deep are told in one line, each depth its own.
func TestDeepFlow(t *testing.T) {
	l := &layer{job: &job{criteria: testCriteria()}}
	for _, p := range []struct {
		id          string
		depth, flow float64
	}{{"p1", 0.82, 1}, {"p2", 0.7, 1}, {"p3", 0.824, 1}, {"p4", 0.9, 1}, {"p5", 0.82, 3}} {
		l.net.Pipes = append(l.net.Pipes, network.Pipe{ID: p.id, DepthRatio: p.depth, Flow: p.flow, Capacity: 2})
	}
	l.deepFlow()
	if want := []string{"pipes p1, p3 flow 82 % deep at design flow, over 80 %", "pipe p4 flows 90 % deep at design flow, over 80 %"}; !slices.Equal(l.notes, want) {
		t.Errorf("%q, want %q", l.notes, want)
	}
}
