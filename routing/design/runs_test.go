package design

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
	"curbfall/routing/network"
)

// forked is two branches of two pipes into a main of two:
//
//	a -p1- b -p2- e -p5- f -p6- o
//	c -p3- d -p4-/
func forked() *network.Network {
	n := &network.Network{}
	for k, id := range strings.Split("abcdefo", "") {
		n.Nodes = append(n.Nodes, network.Node{ID: id, Kind: network.Bend, At: orb.Point{float64(k), 0}})
	}
	for k, ends := range [][2]int{{0, 1}, {1, 4}, {2, 3}, {3, 4}, {4, 5}, {5, 6}} {
		n.Pipes = append(n.Pipes, network.Pipe{ID: "p" + string(rune('1'+k)), From: ends[0], To: ends[1], Length: float64(k + 1), Role: network.Lateral})
		n.Nodes[ends[0]].Out = k
	}
	n.Nodes[6].Out = -1
	return n
}

func TestRuns(t *testing.T) {
	n := forked()
	for _, c := range []struct {
		pipes []int
		want  string
	}{
		{[]int{0, 1, 2, 3, 4, 5}, "a to o (14.0 m), c to e (7.0 m)"},
		{[]int{0, 1, 3, 5}, "a to e (3.0 m), d to e (4.0 m), f to o (6.0 m)"},
		{[]int{2, 3, 4}, "c to f (12.0 m)"},
		{nil, ""},
	} {
		if got := named(n, runsOf(n, c.pipes)); got != c.want {
			t.Errorf("%v: %q, want %q", c.pipes, got, c.want)
		}
	}
	n.Pipes[0].Length = 0.3
	if got := named(n, longer(n, runsOf(n, []int{0, 4}))); got != "e to f (5.0 m)" {
		t.Errorf("a stub is named: %q", got)
	}
}

// Two pipes that together lie longer in a wall's strip than a crossing askew run
// along the wall; another that crosses the same strip does not.
func TestAlongWalls(t *testing.T) {
	l := &layer{job: &job{criteria: testCriteria()}, net: *forked()} // a strip of 1.524 m
	strip := string(constraint.ZoneWallStrip)
	list := []Crossing{
		{Pipe: "p1", Kind: strip, ID: "house", Length: 1.2, Says: crossesWall}, {Pipe: "p2", Kind: strip, ID: "house", Length: 1.2, Says: crossesWall},
		{Pipe: "p4", Kind: strip, ID: "house", Length: 1.6, Says: crossesWall}, {Pipe: "p2", Kind: "walk", ID: "walk", Length: 9, Says: "cut"},
		{Pipe: "p1", Kind: strip, ID: "shed", Length: 1.6, Says: crossesWall},
	}
	l.alongWalls(list)
	for k, want := range []string{alongWall, alongWall, crossesWall, "cut", crossesWall} {
		if list[k].Says != want {
			t.Errorf("%s in %s: %q, want %q", list[k].Pipe, list[k].ID, list[k].Says, want)
		}
	}
}

// A lateral is let down into the wye; where it is the main that lies higher, the
// main is what drops.
func TestDrops(t *testing.T) {
	l := &layer{job: &job{criteria: testCriteria()}, net: *forked()}
	n := &l.net
	n.Nodes[4].Kind = network.Wye
	n.Pipes[1].Role, n.Pipes[1].InvertDown = network.Main, 0.2
	n.Pipes[3].InvertDown = 0.5
	l.drops()
	want := []string{
		"main pipe p2 ends 0.200 m above pipe p5, which goes on from e: build the drop with two bends and a riser, or lay the main steeper above it",
		"lateral pipe p4 comes in 0.500 m above pipe p5 at e: a vertical drop into the wye, or lay its last length steeper",
	}
	if got := strings.Join(l.notes, "\n"); got != strings.Join(want, "\n") {
		t.Errorf("got\n%s", got)
	}
}

// By hand, 0.1 m inside, n 0.012, R = 0.025 m, R^(2/3) = 0.085499: at 0.5 % it runs
// 0.0855 x 0.0707107 / 0.012 = 0.504 m/s full, and 0.6 m/s at (0.6 x 0.012 /
// 0.085499)^2 = 0.709 %. It carries 0.504 x 0.00785398 = 3.957 L/s; 5 would ask for
// 0.1 x (5/3.957)^(3/8) = 0.1092 m.
func TestWarnings(t *testing.T) {
	l := &layer{job: &job{criteria: testCriteria()}, net: *forked()}
	l.net.Pipes = l.net.Pipes[:1]
	l.net.Nodes[1].Out = -1
	p := &l.net.Pipes[0]
	p.Size, p.Length, p.InvertUp, p.Flow = constraint.Size{Inside: 0.1, Roughness: 0.012}, 20, 0.1, 0.005
	pipeAt(p)
	l.warnings()
	l.notedOverfull(nil)
	want := `pipe p1: 0.50 m/s flowing full, under 0.60 m/s: it will not scour itself clean, as it would laid at 0.71 %
pipe p1 carries 3.957 L/s of its 5.000 L/s flowing full, for which it would have to be at least 0.110 m wide inside: the hydraulic grade line stays below every rim and leader, so the pressure of the full pipe takes it`
	if got := strings.Join(l.notes, "\n"); got != want {
		t.Errorf("got\n%s", got)
	}
}
