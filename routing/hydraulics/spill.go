package hydraulics

import (
	"cmp"
	"math"
	"slices"
)

// Spill is a rim and the storm at which water leaves it.
type Spill struct {
	Reach int     // the reach whose upper node has the rim
	Scale float64 // of all flows, 1 being the design storm; 0 where it spills at rest
}

// scaleSlack is how exactly a scale is found, relative to the largest asked:
// a tenth of a percent of a rain nobody knows to a percent.
const scaleSlack = 1e-3

// SpillOrder returns the rims over which the grade line comes within a scale of
// all flows up to most, lowest scale first (of equal ones the first reach), each
// as if the rims before it held: what leaves at the first relieves the others.
// tailwater returns the level outside an outlet at a scale; nil keeps the
// reaches' own. Reaches are not modified; errors are those of GradeLine.
func SpillOrder(reaches []Reach, most float64, tailwater func(reach int, scale float64) float64) ([]Spill, error) {
	mustNotBeNegative(most)
	t, err := treeOf(reaches)
	if err != nil {
		return nil, err
	}
	known := map[float64][]Grade{}
	at := func(scale float64) []Grade {
		if g, ok := known[scale]; ok {
			return g
		}
		scaled := slices.Clone(reaches)
		for k := range scaled {
			scaled[k].Flow *= scale
			if tailwater != nil && scaled[k].Next < 0 {
				scaled[k].Tailwater = tailwater(k, scale)
			}
		}
		known[scale] = t.gradeLine(scaled)
		return known[scale]
	}
	var spills []Spill
	for k := range reaches {
		over := func(scale float64) bool { return at(scale)[k].Freeboard < 0 }
		if math.IsNaN(reaches[k].Rim) || !over(most) {
			continue
		}
		lo, hi := 0.0, most
		if over(0) {
			hi = 0
		}
		for hi-lo > scaleSlack*most {
			if mid := (lo + hi) / 2; over(mid) {
				hi = mid
			} else {
				lo = mid
			}
		}
		spills = append(spills, Spill{Reach: k, Scale: hi})
	}
	slices.SortStableFunc(spills, func(a, b Spill) int { return cmp.Compare(a.Scale, b.Scale) })
	return spills, nil
}

// SlowReaches lists the reaches with flow that are slower than velocityMin at
// one of their ends: where silt stays.
func SlowReaches(reaches []Reach, grades []Grade, velocityMin float64) []int {
	var slow []int
	for k := range reaches {
		if reaches[k].Flow > 0 && grades[k].Slowest() < velocityMin {
			slow = append(slow, k)
		}
	}
	return slow
}
