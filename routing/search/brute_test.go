package search

import (
	"math"
	"math/rand/v2"
	"testing"

	"curbfall/routing/constraint"
)

// randomCase draws a small lattice with prices, blocked cells and utilities,
// its corridor narrow enough to bind.
func randomCase(rng *rand.Rand) *caseFile {
	c := &caseFile{Cell: 1, NX: 3 + rng.IntN(2), NY: 3, Cover: 0.2, OD: 0.1, DMax: 0.4 + rng.Float64()*0.8, SMin: 0.02 + rng.Float64()*0.05}
	for range c.NY {
		var ground, unit []float64
		row := make([]byte, c.NX)
		for i := range row {
			ground = append(ground, 10+rng.Float64()*0.5)
			unit = append(unit, 1+float64(rng.IntN(3))/2)
			row[i] = '.'
			if rng.IntN(7) == 0 {
				row[i] = '#'
			}
		}
		c.Ground, c.Unit, c.Blocked = append(c.Ground, ground), append(c.Unit, unit), append(c.Blocked, string(row))
	}
	c.Start.Cell = [2]int{rng.IntN(c.NX), c.NY - 1}
	for i := range c.NX {
		c.Targets = append(c.Targets, struct {
			Cell      [2]int
			MinInvert float64 `json:"min_invert"`
		}{[2]int{i, 0}, 9.5 + rng.Float64()*0.3})
	}
	for range rng.IntN(4) {
		low := 9.2 + rng.Float64()*0.6
		c.Utilities = append(c.Utilities, struct {
			Cell    [2]int
			Blocked [2]float64
		}{[2]int{rng.IntN(c.NX), rng.IntN(c.NY)}, [2]float64{low, low + 0.1 + rng.Float64()*0.3}})
	}
	if n := len(c.Utilities); n > 1 && rng.IntN(2) == 0 { // two at one place
		c.Utilities[n-1].Cell = c.Utilities[0].Cell
	}
	if rng.IntN(3) == 0 {
		c.DepthCost = rng.Float64()
	}
	if rng.IntN(3) == 0 {
		c.BendCost = rng.Float64()
	}
	return c
}

// exhaustive tries every simple path by the case model's own words.
func exhaustive(c *caseFile) (cost, margin float64) {
	cost, margin = math.Inf(1), math.Inf(-1)
	seen := make([]bool, c.NX*c.NY)
	var visit func(i, j int, y, spent float64, di, dj int)
	visit = func(i, j int, y, spent float64, di, dj int) {
		for _, t := range c.Targets {
			if t.Cell == [2]int{i, j} {
				margin = math.Max(margin, y-t.MinInvert)
				if y >= t.MinInvert-1e-9 {
					cost = math.Min(cost, spent)
				}
			}
		}
		seen[j*c.NX+i] = true
		for dj2 := -1; dj2 <= 1; dj2++ {
			for di2 := -1; di2 <= 1; di2++ {
				k, l := i+di2, j+dj2
				if di2 == 0 && dj2 == 0 || !c.open(k, l) || !c.open(i, l) || !c.open(k, j) || seen[l*c.NX+k] {
					continue
				}
				length := math.Hypot(float64(di2), float64(dj2))
				next, ok := c.down(k, l, y-c.SMin*length)
				if !ok {
					continue
				}
				price := c.price1()*length*(c.price(i, j)+c.price(k, l))/2 +
					c.DepthCost*length*((c.Ground[j][i]-y)+(c.Ground[l][k]-next))/2
				if c.BendCost > 0 && (di != 0 || dj != 0) {
					turn := math.Abs(math.Atan2(float64(di*dj2-dj*di2), float64(di*di2+dj*dj2)))
					if turn > math.Pi/2+1e-9 {
						continue
					}
					price += c.BendCost * turn / (math.Pi / 4)
				}
				visit(k, l, next, spent+price, di2, dj2)
			}
		}
		seen[j*c.NX+i] = false
	}
	i, j := c.Start.Cell[0], c.Start.Cell[1]
	if !c.open(i, j) {
		return cost, margin
	}
	if y, ok := c.down(i, j, c.startMost()); ok {
		visit(i, j, y, 0, 0, 0)
	}
	return cost, margin
}

// The search is the best of all simple paths, and its sweeps agree with them,
// on 3,000 random grids.
func TestExhaustive(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	feasible, infeasible := 0, 0
	for n := range 3000 {
		c := randomCase(rng)
		if !c.open(c.Start.Cell[0], c.Start.Cell[1]) {
			continue
		}
		if n%3 == 0 { // metres cheaper than one
			for _, row := range c.Unit {
				for i := range row {
					row[i] /= 4
				}
			}
			c.cheapestMetre()
		}
		wantCost, wantMargin := exhaustive(c)
		g, targets, margin := c.solved(asFiled())
		_, _, cost, ok := g.cheapest(0, targets, g.reverse(targets, math.Inf(1)))
		cost *= c.price1()
		if ok != !math.IsInf(wantCost, 1) || ok && math.Abs(cost-wantCost) > 1e-9 {
			t.Fatalf("grid %d: cost %v (%v), exhaustive %v\n%+v", n, cost, ok, wantCost, c)
		}
		// A turn that is forbidden can keep the highest invert out of reach: the
		// sweep's margin is then only a bound.
		if c.BendCost == 0 && math.Abs(margin-wantMargin) > 1e-9 && !(math.IsInf(margin, -1) && math.IsInf(wantMargin, -1)) {
			t.Fatalf("grid %d: margin %v, exhaustive %v", n, margin, wantMargin)
		}
		if g.feasible(0, g.reverse(targets, math.Inf(1))) != (margin >= -admit) {
			t.Fatalf("grid %d: the two sweeps disagree", n)
		}
		if ok {
			feasible++
		} else {
			infeasible++
		}
	}
	if feasible < 500 || infeasible < 500 {
		t.Errorf("%d feasible and %d infeasible grids: the draw has lost its grip", feasible, infeasible)
	}
}

// More cover never helps, and moving all ground moves the margin by nothing
// where outlets move along.
func TestCoverNeverHelps(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 17))
	for range 500 {
		c := randomCase(rng)
		c.Utilities = nil // under one, more cover can push the pipe below it and out
		_, _, before := c.solved(asFiled())
		more := asFiled()
		more.cover = 0.05
		if _, _, after := c.solved(more); after > before+1e-12 {
			t.Fatalf("margin %v with more cover, %v before", after, before)
		}
	}
}

// An arc's four numbers say what walking its stations says.
func TestCompress(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 23))
	for range 5000 {
		m, s := rng.Float64()*0.05, 0.0
		var st []constraint.Station
		for range 2 + rng.IntN(6) {
			f := rng.Float64()
			x := constraint.Free(s, f+0.2+rng.Float64(), f)
			if rng.IntN(3) == 0 {
				x.Low = rng.Float64() * 2
				x.High = x.Low + rng.Float64()*0.4
			}
			st = append(st, x)
			s += rng.Float64()
		}
		length := st[len(st)-1].S
		a := compress(st, length, length, m)
		exact := arc{length: length, ok: true, stations: &st}
		for range 5 {
			y := rng.Float64() * 3
			got, ok := a.down(y, m)
			want, ok2 := exact.down(y, m)
			if ok != ok2 || ok && math.Abs(got-want) > 1e-9 {
				t.Fatalf("down %v: %v %v, walked %v %v", y, got, ok, want, ok2)
			}
			got, ok = a.up(y, m)
			want, ok2 = exact.up(y, m)
			if ok != ok2 || ok && math.Abs(got-want) > 1e-9 {
				t.Fatalf("up %v: %v %v, walked %v %v\n%+v", y, got, ok, want, ok2, st)
			}
		}
	}
}
