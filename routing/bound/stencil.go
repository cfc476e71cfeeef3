package bound

import (
	"cmp"
	"math"
	"slices"
)

// stencil is a set of lattice steps with what it does to lengths.
type stencil struct {
	steps   [][2]int
	lengths []int32
	octant  [][2]float64 // the steps from east to north-east, by angle
	stretch float64      // K: how much longer lattice ways are than straight ones
	strayed float64      // R + 1/sqrt 2: how far the lattice way may lie off, in lattice steps
}

// The stencils: each stretches less than the one before and strays farther. A
// stencil of short steps has its widest gap beside the sides, so the last has long
// ones there.
var narrow, wide, fine = newStencil(2, 2), newStencil(4, 4), newStencil(4, 7)

// newStencil has all steps of at most reach along a side that are not another
// one's multiple, and those of at most far along one side that go one along the other.
func newStencil(reach, far int) stencil {
	var s stencil
	for y := -far; y <= far; y++ {
		for x := -far; x <= far; x++ {
			if short, long := min(max(x, -x), max(y, -y)), max(x, -x, y, -y); gcd(x, y) != 1 || long > reach && short != 1 {
				continue
			}
			s.steps = append(s.steps, [2]int{x, y})
			s.lengths = append(s.lengths, whole(math.Hypot(float64(x), float64(y))))
			if x > 0 && 0 <= y && y <= x {
				s.octant = append(s.octant, [2]float64{float64(x), float64(y)})
			}
		}
	}
	slices.SortFunc(s.octant, func(a, b [2]float64) int { return cmp.Compare(a[1]/a[0], b[1]/b[0]) })
	widest := 0.0
	for k := 1; k < len(s.octant); k++ {
		a, b := s.octant[k-1], s.octant[k]
		widest = max(widest, math.Atan2(b[1], b[0])-math.Atan2(a[1], a[0]))
		s.strayed = max(s.strayed, math.Hypot(a[0], a[1])+math.Hypot(b[0], b[1]))
	}
	s.stretch = 1 / math.Cos(widest/2)
	s.strayed += 1 / math.Sqrt2
	return s
}

// parts is the number of parts a lattice step has in lengths that are summed:
// whole numbers, rounded down, so that no sum comes out too long. A step of the
// lattice is the shorter by one part at most.
const parts = 4096

// whole is a length in lattice steps as whole parts.
func whole(steps float64) int32 { return int32(steps * parts) }

// slack is what ends of ways between joins add for k inflows and so many trees,
// in lattice steps.
func slack(k, trees int) float64 { return float64(3*k-2*trees) / math.Sqrt2 }

// loss is about what a bound on a length loses, both in lattice steps: obstacles
// shrink by as much as the way strays, which shortens each inflow's by about that, and by
// far more where it opens a gap.
func (s *stencil) loss(k, trees int, length float64) float64 {
	return (s.stretch-1)*length + slack(k, trees) + float64(k)*s.strayed
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, -a)
}

// norm is N of a vector given in lattice steps.
func (s *stencil) norm(x, y float64) float64 {
	x, y = math.Abs(x), math.Abs(y)
	if x < y {
		x, y = y, x
	}
	for k := 1; ; k++ {
		a, b := s.octant[k-1], s.octant[k]
		if b[0]*y <= b[1]*x || k == len(s.octant)-1 {
			// Neighbours span an area of 1: the shares are whole determinants.
			u, v := x*b[1]-y*b[0], a[0]*y-a[1]*x
			return u*math.Hypot(a[0], a[1]) + v*math.Hypot(b[0], b[1])
		}
	}
}
