package grid

import "math"

// Ground returns the ground elevation in metres at a site point: bilinear
// between cell centres, NaN outside them or where one of the four is void.
func (g *Grid) Ground(x, y float64) float64 {
	col, row := g.ToCell(x, y)
	return g.bilinear(col, row)
}

func (g *Grid) bilinear(col, row float64) float64 {
	i, j, ok := g.patch(col, row)
	if !ok {
		return math.NaN()
	}
	p := g.corners(i, j)
	u, v := col-float64(i), row-float64(j)
	// A void corner of weight nothing does not matter: along a cell line the
	// ground is known from the two cells on it.
	if onLine(u) {
		p.ne, p.se = p.nw, p.sw
	} else if onLine(1 - u) {
		p.nw, p.sw = p.ne, p.se
	}
	if onLine(v) {
		p.sw, p.se = p.nw, p.ne
	} else if onLine(1 - v) {
		p.nw, p.ne = p.sw, p.se
	}
	return p.at(u, v)
}

// lineWidth is how near to a line of centres counts as on it, cells: the
// rounding of a coordinate of millions of metres, turned into cells of
// centimetres and back.
const lineWidth = 1e-7

func onLine(share float64) bool { return math.Abs(share) <= lineWidth }

// patch returns the north-west cell of the four whose centres surround a
// point, and whether the point lies among cell centres at all.
func (g *Grid) patch(col, row float64) (i, j int, ok bool) {
	if !(col >= -lineWidth && row >= -lineWidth && col <= float64(g.Cols-1)+lineWidth && row <= float64(g.Rows-1)+lineWidth) || g.Cols < 2 || g.Rows < 2 {
		return 0, 0, false
	}
	return max(0, min(int(col), g.Cols-2)), max(0, min(int(row), g.Rows-2)), true
}

// corners are the four elevations in metres around a patch of ground.
type corners struct{ nw, ne, sw, se float64 }

func (g *Grid) corners(i, j int) corners {
	k := g.Index(i, j)
	m := g.MetresPerZ
	return corners{
		nw: float64(g.Z[k]) * m, ne: float64(g.Z[k+1]) * m,
		sw: float64(g.Z[k+g.Cols]) * m, se: float64(g.Z[k+g.Cols+1]) * m,
	}
}

func (p corners) at(u, v float64) float64 {
	return (p.nw*(1-u)+p.ne*u)*(1-v) + (p.sw*(1-u)+p.se*u)*v
}

// Piece is a stretch of a straight line over one patch of ground, on which the
// ground is a parabola in plan distance.
type Piece struct {
	From, To float64 // plan distance from the line's start, m
	Z, B, C  float64 // ground(From + t) = Z + B t + C t t, m
}

// At returns the ground at plan distance s from the line's start.
func (p Piece) At(s float64) float64 {
	t := s - p.From
	return p.Z + (p.B+p.C*t)*t
}

// sliver is the share of a line under which a piece is dropped: it is below
// the rounding of the crossings it lies between.
const sliver = 1e-12

// Along appends the pieces of ground below the straight line from (ax, ay) to
// (bx, by), in order, and reports false as soon as the line leaves the known
// ground (pieces up to there are appended). A line of no length has no piece.
//
// Over a raster in degrees the line is taken as straight in cell coordinates
// too: over the few metres of a pipe the two differ by less than a micron.
func (g *Grid) Along(pieces []Piece, ax, ay, bx, by float64) ([]Piece, bool) {
	length := math.Hypot(bx-ax, by-ay)
	c0, r0 := g.ToCell(ax, ay)
	c1, r1 := g.ToCell(bx, by)
	dc, dr := c1-c0, r1-r0
	if length == 0 {
		return pieces, true
	}
	nextCol, stepCol := crossings(c0, dc)
	nextRow, stepRow := crossings(r0, dr)
	for t := 0.0; t < 1; {
		end := min(1, min(nextCol, nextRow))
		if nextCol <= end {
			nextCol += stepCol
		}
		if nextRow <= end {
			nextRow += stepRow
		}
		if end-t <= sliver && end < 1 {
			continue
		}
		piece, ok := g.piece(c0, r0, dc, dr, t, end, length)
		if !ok {
			return pieces, false
		}
		pieces = append(pieces, piece)
		t = end
	}
	return pieces, true
}

// crossings returns the first share of a line, above 0, at which a coordinate
// that starts at c and changes by d is whole, and the share between two such.
func crossings(c, d float64) (first, step float64) {
	if d == 0 {
		return math.Inf(1), math.Inf(1)
	}
	step = 1 / math.Abs(d)
	ahead := math.Floor(c) + 1 - c
	if d < 0 {
		ahead = c - (math.Ceil(c) - 1)
	}
	return ahead * step, step
}

func (g *Grid) piece(c0, r0, dc, dr, t0, t1, length float64) (Piece, bool) {
	mid := (t0 + t1) / 2
	i, j, ok := g.patch(c0+dc*mid, r0+dr*mid)
	if !ok {
		return Piece{}, false
	}
	p := g.corners(i, j)
	u, v := c0+dc*t0-float64(i), r0+dr*t0-float64(j)
	// A line along a row or column of centres knows only the cells on it.
	if onLine(dr) && onLine(v) {
		p.sw, p.se = p.nw, p.ne
	} else if onLine(dr) && onLine(1-v) {
		p.nw, p.ne = p.sw, p.se
	}
	if onLine(dc) && onLine(u) {
		p.ne, p.se = p.nw, p.sw
	} else if onLine(dc) && onLine(1-u) {
		p.nw, p.sw = p.ne, p.se
	}
	twist := p.nw - p.ne - p.sw + p.se
	du, dv := dc/length, dr/length // cells per metre of line
	zu := p.ne - p.nw + twist*v
	zv := p.sw - p.nw + twist*u
	piece := Piece{
		From: t0 * length, To: t1 * length,
		Z: p.at(u, v), B: zu*du + zv*dv, C: twist * du * dv,
	}
	return piece, !math.IsNaN(piece.Z + piece.B + piece.C)
}
