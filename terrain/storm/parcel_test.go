package storm_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// parcels is a storm poured parcel by parcel, without any hierarchy: ponds
// rise, spill and join as the water comes. For grids without equal elevations.
type parcels struct {
	g     *grid.Grid
	dir   []uint8
	drain map[int]float64 // capacity left
	pond  map[int]*pond   // by wet cell
	lost  float64
}

type pond struct {
	cells map[int]bool
	level float64
}

// pour lets a volume (in depths of a cell) run from a cell until it has found
// its place.
func (p *parcels) pour(at int, v float64) {
	for v > 0 {
		if left := p.drain[at]; left > 0 && p.pond[at] == nil {
			took := math.Min(left, v)
			p.drain[at] -= took
			v -= took
			continue
		}
		switch {
		case p.dir[at] == flow.Out:
			p.lost += v
			return
		case p.pond[at] != nil:
			at, v = p.raise(p.pond[at], v)
		case p.dir[at] == flow.Pit:
			p.pond[at] = &pond{map[int]bool{at: true}, float64(p.g.Z[at])}
		default:
			at = flow.Next(p.g, p.dir, at)
		}
	}
}

// raise lets a pond take water up to its lowest neighbour, and returns where
// what is left goes on.
func (p *parcels) raise(q *pond, v float64) (at int, left float64) {
	next := p.lowestRound(q)
	z := float64(p.g.Z[next])
	n := float64(len(q.cells))
	if room := n * (z - q.level); v <= room {
		q.level += v / n
		return next, 0
	} else {
		v -= room
	}
	q.level = z
	if took := math.Min(p.drain[next], v); took > 0 {
		p.drain[next] -= took
		if v -= took; v == 0 {
			return next, 0
		}
	}
	if p.dir[next] == flow.Out {
		p.lost += v
		return next, 0
	}
	down := p.steepestOut(q, next)
	switch {
	case down < 0:
		p.cover(q, next)
		return next, v
	case p.pond[down] != nil && p.pond[down].level == z:
		for c := range p.pond[down].cells {
			p.cover(q, c)
		}
		return next, v // to be covered once nothing lower is left beside it
	}
	return down, v
}

func (p *parcels) cover(q *pond, cell int) {
	q.cells[cell] = true
	p.pond[cell] = q
}

// lowestRound is the lowest cell beside a pond.
func (p *parcels) lowestRound(q *pond) int {
	best := -1
	for i := range q.cells {
		c, r := p.g.Cell(i)
		for _, s := range grid.Steps {
			j := p.g.Index(c+s.Col, r+s.Row)
			if !q.cells[j] && (best < 0 || p.g.Z[j] < p.g.Z[best]) {
				best = j
			}
		}
	}
	return best
}

// steepestOut is where water over a cell leaves a pond, -1 where it cannot.
func (p *parcels) steepestOut(q *pond, cell int) int {
	best, to := 0.0, -1
	c, r := p.g.Cell(cell)
	for _, s := range grid.Steps {
		j := p.g.Index(c+s.Col, r+s.Row)
		d := (float64(p.g.Z[cell]) - float64(p.g.Z[j])) / math.Hypot(float64(s.Col), float64(s.Row))
		if !q.cells[j] && d > best {
			best, to = d, j
		}
	}
	return to
}

// depthTolerance is what the parcels' many additions may differ by, m.
const depthTolerance = 1e-6

// 500 random grids without equal elevations, with deliveries and drains, some
// clogged: depths, losses and what each drain takes are the parcels'.
func TestAgainstParcels(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	joined, fullDrains, partDrains, overflow := 0, 0, 0, 0
	for n := range 500 {
		g := grid.New(grid.NewFrame(0, 0, 1, 1), 5+rng.IntN(12), 5+rng.IntN(12))
		for i, k := range rng.Perm(len(g.Z)) {
			g.Z[i] = float32(k) / 64
			if c, r := g.Cell(i); c == 0 || r == 0 || c == g.Cols-1 || r == g.Rows-1 {
				g.Z[i] += float32(n%3) + 1.0/128 // between the others: no two are equal
			}
		}
		depth := make([]float64, len(g.Z))
		for i := range depth {
			depth[i] = rng.Float64() * []float64{0.05, 0.5, 2}[n%3]
		}
		w := storm.Water{Runoff: func(i int) float64 { return depth[i] }}
		p := &parcels{g: g, dir: flow.Directions(g), drain: map[int]float64{}, pond: map[int]*pond{}}
		for range rng.IntN(4) {
			c, r := 1+rng.IntN(g.Cols-2), 1+rng.IntN(g.Rows-2)
			w.Deliveries = append(w.Deliveries, storm.Delivery{Cell: g.Index(c, r), Volume: 5 * rng.Float64()})
			c, r = 1+rng.IntN(g.Cols-2), 1+rng.IntN(g.Rows-2)
			if _, twice := p.drain[g.Index(c, r)]; !twice {
				d := storm.Drain{Cell: g.Index(c, r), Capacity: max(0, 4*rng.Float64()-1)}
				w.Drains = append(w.Drains, d)
				p.drain[d.Cell] = d.Capacity
			}
		}
		tree, r := run(t, g, w)
		p.storm(rng, depth, w.Deliveries)
		for i := range g.Z {
			want := 0.0
			if q := p.pond[i]; q != nil {
				want = q.level - float64(g.Z[i])
			}
			if math.Abs(float64(r.Depth[i])-want) > depthTolerance {
				t.Fatalf("grid %d cell %d stands %v deep, by parcels %v", n, i, r.Depth[i], want)
			}
		}
		if math.Abs(r.Lost-p.lost) > depthTolerance {
			t.Fatalf("grid %d lost %v, by parcels %v", n, r.Lost, p.lost)
		}
		for k, d := range w.Drains {
			took := d.Capacity - p.drain[d.Cell]
			if math.Abs(r.Drained[k]-took) > depthTolerance {
				t.Fatalf("grid %d: drain %d took %v, by parcels %v", n, k, r.Drained[k], took)
			}
			if took == d.Capacity && took > 0 {
				fullDrains++
			} else if took > 0 {
				partDrains++
			}
		}
		for _, q := range r.Ponds {
			if !tree.Nodes[q.Node].Leaf() {
				joined++
			}
		}
		if r.Lost > 0 {
			overflow++
		}
	}
	if joined < 200 || fullDrains < 100 || partDrains < 100 || overflow < 400 {
		t.Fatalf("%d joined ponds, %d drains full, %d not, %d grids that spill: the draw has lost its grip", joined, fullDrains, partDrains, overflow)
	}
}

// storm pours all water in parcels, in a random order.
func (p *parcels) storm(rng *rand.Rand, depth []float64, deliveries []storm.Delivery) {
	type parcel struct {
		at int
		v  float64
	}
	var list []parcel
	const parts = 4
	for i, d := range depth {
		for range parts {
			list = append(list, parcel{i, d / parts})
		}
	}
	for _, d := range deliveries {
		for range parts {
			list = append(list, parcel{d.Cell, d.Volume / parts})
		}
	}
	rng.Shuffle(len(list), func(a, b int) { list[a], list[b] = list[b], list[a] })
	for _, q := range list {
		p.pour(q.at, q.v)
	}
}
