package grading

import "math"

// slopeAlong returns how much values rise per metre along a line, by the straight
// line nearest to them, and its standard error; ok is false for fewer than four.
func slopeAlong(at, z []float64) (slope, spread float64, ok bool) {
	n := float64(len(at))
	if n < 4 {
		return 0, 0, false
	}
	var meanAt, meanZ, ss, sz float64
	for k := range at {
		meanAt += at[k] / n
		meanZ += z[k] / n
	}
	for k := range at {
		ss += (at[k] - meanAt) * (at[k] - meanAt)
		sz += (at[k] - meanAt) * (z[k] - meanZ)
	}
	if ss == 0 {
		return 0, 0, false
	}
	slope = sz / ss
	rest := 0.0
	for k := range at {
		d := z[k] - meanZ - slope*(at[k]-meanAt)
		rest += d * d
	}
	return slope, math.Sqrt(rest / (n - 2) / ss), true
}

// plane is the plane nearest to points of ground.
type plane struct {
	x, y, dx, dy float64 // through the middle x, y; rise per metre east and north
	xx, xy, yy   float64 // sums about the middle
	scatter      float64 // standard deviation of the points off it, m
}

// point is a place with its ground.
type point struct{ x, y, z float64 }

// planeThrough fits a plane to points; ok is false for fewer than six, or where
// they lie on a line.
func planeThrough(points []point) (p plane, ok bool) {
	n := float64(len(points))
	if n < 6 {
		return p, false
	}
	var z float64
	for _, q := range points {
		p.x, p.y, z = p.x+q.x/n, p.y+q.y/n, z+q.z/n
	}
	var xz, yz float64
	for _, q := range points {
		x, y := q.x-p.x, q.y-p.y
		p.xx, p.xy, p.yy = p.xx+x*x, p.xy+x*y, p.yy+y*y
		xz, yz = xz+x*(q.z-z), yz+y*(q.z-z)
	}
	det := p.xx*p.yy - p.xy*p.xy
	if det <= 1e-9*p.xx*p.yy {
		return p, false
	}
	p.dx, p.dy = (xz*p.yy-yz*p.xy)/det, (yz*p.xx-xz*p.xy)/det
	rest := 0.0
	for _, q := range points {
		d := q.z - z - p.dx*(q.x-p.x) - p.dy*(q.y-p.y)
		rest += d * d
	}
	p.scatter = math.Sqrt(rest / (n - 3))
	return p, true
}

// along is the plane's rise per metre in a direction, a unit vector, and its
// standard error.
func (p *plane) along(ux, uy float64) (slope, spread float64) {
	det := p.xx*p.yy - p.xy*p.xy
	variance := (ux*ux*p.yy - 2*ux*uy*p.xy + uy*uy*p.xx) / det
	return p.dx*ux + p.dy*uy, p.scatter * math.Sqrt(variance)
}

// steepest is the plane's fall in its steepest direction, which it tells.
func (p *plane) steepest() (fall, spread, ux, uy float64) {
	fall = math.Hypot(p.dx, p.dy)
	ux, uy = 1, 0
	if fall > 0 {
		ux, uy = -p.dx/fall, -p.dy/fall
	}
	_, spread = p.along(ux, uy)
	return fall, spread, ux, uy
}
