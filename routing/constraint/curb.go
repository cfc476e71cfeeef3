package constraint

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/terrain/grid"
)

// The gutter is looked for between these distances from the face of curb, m,
// and the street's side judged from levels this far apart across and along.
const (
	gutterNear  = 0.3
	gutterFar   = 1.0
	acrossSteps = 7 // 0.3, 0.4 ... 1.0 m
	frontStep   = 0.5
	tableStep   = 0.1  // spacing of the gutter levels kept along a curb
	squareSlack = 1e-9 // rounding of a unit vector's dot product
)

// pointAt returns the point of a line at plan distance s and the unit vector
// along it there.
func pointAt(line orb.LineString, s float64) (p orb.Point, ux, uy float64) {
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		l := planar.Distance(a, b)
		if s <= l || k == len(line)-1 {
			if l == 0 {
				continue
			}
			return along(a, b, s/l), (b[0] - a[0]) / l, (b[1] - a[1]) / l
		}
		s -= l
	}
	return line[len(line)-1], 1, 0
}

// stationOf returns the plan distance along a line of its point nearest to p,
// and that point.
func stationOf(line orb.LineString, p orb.Point) (s float64, at orb.Point) {
	best, on := math.Inf(1), 0
	for k := 1; k < len(line); k++ {
		q := nearestOnSegment(p, line[k-1], line[k])
		if d := planar.Distance(p, q); d < best {
			best, on, at = d, k, q
		}
	}
	if on == 0 {
		return 0, at
	}
	for k := 1; k < on; k++ {
		s += planar.Distance(line[k-1], line[k])
	}
	return s + planar.Distance(line[on-1], at), at
}

// Face is a curb with its street side and gutter levels settled.
type Face struct {
	*Curb
	Length float64 // m
	Height float64 // curb height m; 0 where the curb is not vertical
	Street Side
	ground *grid.Grid
	table  []float64 // gutter elevation every tableStep, m
}

// normal is the unit vector square to the curb toward the street, at plan
// distance s.
func (f *Face) normal(s float64) (nx, ny float64) {
	_, ux, uy := pointAt(f.Line, s)
	if f.Street == Left {
		return -uy, ux
	}
	return uy, -ux
}

// Off is the point so far toward the street at plan distance s, m.
func (f *Face) Off(s, away float64) orb.Point {
	p, _, _ := pointAt(f.Line, s)
	nx, ny := f.normal(s)
	return orb.Point{p[0] + nx*away, p[1] + ny*away}
}

// Gutter is the gutter elevation at plan distance s along the curb, m: as
// given, else the lowest ground between 0.3 and 1.0 m on the street side. NaN
// where that ground is unknown.
func (f *Face) Gutter(s float64) float64 {
	if n := len(f.Curb.Gutter); n == 1 {
		return f.Curb.Gutter[0]
	} else if n > 1 {
		return interpolateVertices(f.Line, f.Curb.Gutter, s)
	}
	p, _, _ := pointAt(f.Line, s)
	nx, ny := f.normal(s)
	pieces, ok := f.ground.Along(nil, p[0]+nx*gutterNear, p[1]+ny*gutterNear, p[0]+nx*gutterFar, p[1]+ny*gutterFar)
	if !ok {
		return math.NaN()
	}
	low := math.Inf(1)
	for _, q := range pieces {
		low = min(low, min(q.At(q.From), q.At(q.To)))
		if q.C > 0 {
			if t := q.From - q.B/(2*q.C); t > q.From && t < q.To {
				low = min(low, q.At(t))
			}
		}
	}
	return low
}

func interpolateVertices(line orb.LineString, v []float64, s float64) float64 {
	for k := 1; k < len(line); k++ {
		l := planar.Distance(line[k-1], line[k])
		if s <= l && l > 0 {
			return v[k-1] + (v[k]-v[k-1])*s/l
		}
		s -= l
	}
	return v[len(v)-1]
}

// tabled returns the gutter elevation from the table, linear between.
func (f *Face) tabled(s float64) float64 {
	k := int(s / tableStep)
	k = max(0, min(k, len(f.table)-2))
	t := max(0, min(1, s/tableStep-float64(k)))
	return f.table[k]*(1-t) + f.table[k+1]*t
}

func (f *Face) fillTable() {
	n := int(math.Ceil(f.Length/tableStep)) + 1
	f.table = make([]float64, max(2, n))
	for k := range f.table {
		f.table[k] = f.Gutter(min(f.Length, float64(k)*tableStep))
	}
}

// newFace settles a curb for a lot. from..to is the stretch along the lot's
// frontage, over which levels tell the street's side; lotSide is the side of
// the curb the lot lies on. disagrees tells that the ground falls toward the
// lot, so that the street seems to be there. Levels on either side closer than
// step do not tell.
func newFace(c *Curb, ground *grid.Grid, height, step float64, from, to float64, lotSide Side) (f *Face, disagrees bool) {
	f = &Face{Curb: c, Length: planar.Length(c.Line), ground: ground, Street: c.StreetSide}
	if c.Type == VerticalCurb {
		f.Height = height
		if Given(c.Height) {
			f.Height = c.Height
		}
	}
	away := Left
	if lotSide == Left {
		away = Right
	}
	if f.Street == SideUnknown {
		f.Street = away
		left, right := f.meanSide(Left, from, to), f.meanSide(Right, from, to)
		if left < right-step {
			f.Street = Left
		} else if right < left-step {
			f.Street = Right
		}
	}
	f.fillTable()
	return f, f.Street != away
}

func (f *Face) meanSide(side Side, from, to float64) float64 {
	probe := *f
	probe.Street = side
	sum, n := 0.0, 0
	for s := from; s <= to; s += frontStep {
		p, _, _ := pointAt(f.Line, s)
		nx, ny := probe.normal(s)
		for k := 0; k <= acrossSteps; k++ {
			d := gutterNear + (gutterFar-gutterNear)*float64(k)/acrossSteps
			if z := f.ground.Ground(p[0]+nx*d, p[1]+ny*d); !math.IsNaN(z) {
				sum += z
				n++
			}
		}
	}
	return sum / float64(n) // NaN where nothing is known
}

// sideOf tells on which side of the curb a point lies.
func sideOf(line orb.LineString, p orb.Point) Side {
	s, at := stationOf(line, p)
	_, ux, uy := pointAt(line, s)
	if ux*(p[1]-at[1])-uy*(p[0]-at[0]) > 0 {
		return Left
	}
	return Right
}

// StreetSide tells on which side of the k-th curb the street lies, for all lots
// whose curb it is: as given, else by the levels along each lot. It is SideUnknown
// where those have the street on a lot's side, or lots lie on both, and where there
// is no lot to judge by. Levels on either side closer than step (m) do not tell.
func (s *Site) StreetSide(k int, ground *grid.Grid, step float64) (side Side) {
	c := &s.Curbs[k]
	if c.StreetSide != SideUnknown {
		return c.StreetSide
	}
	for _, l := range s.Lots {
		if nearestCurb(l.Area, s.Curbs) != k {
			continue
		}
		from, to := math.Inf(1), math.Inf(-1)
		for _, p := range l.Area[0] {
			at, _ := stationOf(c.Line, p)
			from, to = min(from, at), max(to, at)
		}
		middle, _ := planar.CentroidArea(l.Area)
		f, disagrees := newFace(c, ground, 0, step, from, to, sideOf(c.Line, middle))
		if disagrees || side != SideUnknown && side != f.Street {
			return SideUnknown
		}
		side = f.Street
	}
	return side
}
