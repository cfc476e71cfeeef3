package bound

import "math"

// length is what ways are measured in: parts of lattice steps, or metres.
type length interface{ ~int32 | ~float64 }

// ways gives, by set of terminals and two of them, the shortest way from one to
// the other past all of the set; far where there is none. apart[a][b] is the way
// from a to b.
func ways[T length](apart [][]T, far T) [][][]T {
	n := len(apart)
	past := make([][][]T, 1<<n)
	for m := range past {
		past[m] = make([][]T, n)
		for a := range n {
			past[m][a] = make([]T, n)
			for b := range n {
				past[m][a][b] = pastAll(past, apart, m, a, b, far)
			}
		}
	}
	return past
}

// overOutlets shortens ways between terminals to those by the outlets, the last:
// several trees hang together there, and a way along them may come by the
// outlets more than once.
func overOutlets[T length](apart [][]T) {
	out := apart[len(apart)-1]
	for a := range out {
		for b := range out {
			if a != b {
				apart[a][b] = min(apart[a][b], apart[a][len(out)-1]+out[b])
			}
		}
	}
}

// pastAll is one of ways, given those of smaller sets.
func pastAll[T length](past [][][]T, apart [][]T, m, a, b int, far T) T {
	rest := m &^ (1 << b)
	switch {
	case m&(1<<a) == 0 || m&(1<<b) == 0 || a == b && rest != 0:
		return far
	case a == b:
		return 0
	}
	way := far
	for c := range apart {
		if rest&(1<<c) != 0 {
			way = min(way, past[rest][a][c]+apart[c][b])
		}
	}
	return way
}

// roundTrip is the shortest way from a place past all terminals of a set, not
// empty, and back: away are the ways from there to each.
func roundTrip[T length](away []T, past [][]T, set int) T {
	var least T
	found := false
	for a := range away {
		for b := range a + 1 {
			if set&(1<<a) == 0 || set&(1<<b) == 0 || a == b && set != 1<<a {
				continue
			}
			if way := away[a] + past[a][b] + away[b]; !found || way < least {
				least, found = way, true
			}
		}
	}
	return least
}

// halfTours is, by set of inflows, half the shortest way from the outlets past all of
// them and back: the length of one tree, m, is no less. It is nothing where it is not
// known how far they are apart.
func (x *Trees) halfTours() []float64 {
	k := len(x.Inflows)
	half := make([]float64, 1<<k)
	if x.Apart == nil {
		return half
	}
	past := ways(x.Apart, math.Inf(1))
	for m := 1; m < len(half); m++ {
		half[m] = roundTrip(x.Apart[k], past[m], m) / 2
	}
	return half
}
