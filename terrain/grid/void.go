package grid

import (
	"math"
	"slices"
)

// Void is a patch of cells without elevation, joined by sides or corners.
type Void struct {
	Cells []int // positions in Grid.Z, ascending
	// Open tells that the patch reaches the grid's edge. Open voids stay void.
	Open bool
}

// Voids returns the grid's voids in the order of their first cell.
func (g *Grid) Voids() []Void {
	seen := make([]bool, len(g.Z))
	var voids []Void
	for i := range g.Z {
		if g.Void(i) && !seen[i] {
			voids = append(voids, g.spread(i, seen))
		}
	}
	return voids
}

func (g *Grid) spread(first int, seen []bool) Void {
	v := Void{Cells: []int{first}}
	seen[first] = true
	for k := 0; k < len(v.Cells); k++ {
		col, row := g.Cell(v.Cells[k])
		for _, s := range Steps {
			c, r := col+s.Col, row+s.Row
			if !g.Contains(c, r) {
				v.Open = true
				continue
			}
			if i := g.Index(c, r); g.Void(i) && !seen[i] {
				seen[i] = true
				v.Cells = append(v.Cells, i)
			}
		}
	}
	slices.Sort(v.Cells)
	return v
}

// laplaceTolerance is how far a filled void may lie from the exact discrete
// Laplace surface, m: a thousandth of the last digit of a level.
const laplaceTolerance = 1e-6

// FillVoids gives every cell of the closed voids the discrete Laplace surface
// of the cells around them: each filled cell is the mean of its four
// neighbours, to 1e-6 m before rounding to float32. Open voids are left.
// It returns a copy, g itself where nothing is closed; g is not modified.
//
// Cost: conjugate gradients, about O(n sqrt n) for a void of n cells.
func (g *Grid) FillVoids(voids []Void) *Grid {
	if !slices.ContainsFunc(voids, func(v Void) bool { return !v.Open }) {
		return g
	}
	filled := g.Clone()
	for _, v := range voids {
		if !v.Open {
			filled.fillVoid(v)
		}
	}
	return filled
}

// fillVoid solves 4 x(i) - sum of void neighbours x(j) = sum of known
// neighbours, a symmetric positive definite system, by conjugate gradients.
// Elevations are taken about the mean of the rim to keep their digits.
func (g *Grid) fillVoid(v Void) {
	at := make(map[int]int, len(v.Cells))
	for k, i := range v.Cells {
		at[i] = k
	}
	n := len(v.Cells)
	near := make([][4]int, n) // neighbours among the void's cells, -1: known
	rhs := make([]float64, n)
	steps := [4]int{1, g.Cols, -1, -g.Cols} // a closed void never touches the edge
	datum, known := 0.0, 0
	for k, i := range v.Cells {
		for d, step := range steps {
			if m, ok := at[i+step]; ok {
				near[k][d] = m
				continue
			}
			near[k][d] = -1
			rhs[k] += float64(g.Z[i+step])
			datum += float64(g.Z[i+step])
			known++
		}
	}
	datum /= float64(known)
	for k := range rhs {
		for _, m := range near[k] {
			if m < 0 {
				rhs[k] -= datum
			}
		}
	}
	for k, x := range conjugateGradients(near, rhs, laplaceTolerance/g.MetresPerZ) {
		g.Z[v.Cells[k]] = float32(x + datum)
	}
}

// conjugateGradients solves the five-point system of fillVoid. The residual is
// driven below tol over the number of cells, which by the maximum principle
// (the inverse's row sums stay under the cell count) keeps each value within tol.
func conjugateGradients(near [][4]int, rhs []float64, tol float64) []float64 {
	n := len(rhs)
	x, r := make([]float64, n), append([]float64(nil), rhs...)
	p, q := append([]float64(nil), rhs...), make([]float64, n)
	rr := dot(r, r)
	stop := tol / float64(n)
	for range 10 * (n + 10) {
		if maxAbs(r) <= stop {
			break
		}
		for k := range p {
			q[k] = 4 * p[k]
			for _, m := range near[k] {
				if m >= 0 {
					q[k] -= p[m]
				}
			}
		}
		alpha := rr / dot(p, q)
		for k := range x {
			x[k] += alpha * p[k]
			r[k] -= alpha * q[k]
		}
		next := dot(r, r)
		for k := range p {
			p[k] = r[k] + next/rr*p[k]
		}
		rr = next
	}
	return x
}

func dot(a, b []float64) float64 {
	var s float64
	for k := range a {
		s += a[k] * b[k]
	}
	return s
}

func maxAbs(a []float64) float64 {
	var m float64
	for _, v := range a {
		m = math.Max(m, math.Abs(v))
	}
	return m
}
