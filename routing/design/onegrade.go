package design

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/routing/constraint"
)

// onOneGrade is the law for a pipe to the curb that falls at least at a slope to
// an invert of end or more, m. The search lets a pipe bend at every station, which
// between ceilings costs nothing: one grade finds the height wherever any does. Over
// a utility and down behind it one grade does not go, so what is over it is left
// to pipes that start high enough for one that does.
func onOneGrade(line constraint.Line, slope, end float64) constraint.Line {
	return func(to []constraint.Station, a, b orb.Point) ([]constraint.Station, float64, bool) {
		list, priced, ok := line(to, a, b)
		if own := list[len(to):]; ok {
			for from := 0; from < len(own); from++ {
				past := from
				for past < len(own) && own[past].High > own[past].Low {
					past++
				}
				if past == from {
					continue
				}
				start := startOver(own, from, past, slope, end)
				for k := from; k < past; k++ {
					own[k].High = math.Max(own[k].High, start-slope*own[k].S)
				}
				from = past
			}
		}
		return list, priced, ok
	}
}

// startOver is the lowest first invert of a pipe of one grade, at least slope, that
// keeps over the utility at stations from to past and comes to end or higher; +Inf
// where there is none. Other utilities are passed as may be.
func startOver(list []constraint.Station, from, past int, slope, end float64) float64 {
	length := list[len(list)-1].S
	// least is the lowest first invert at a grade, most the highest.
	bounds := func(grade float64) (least, most float64) {
		least, most = end+grade*length, math.Inf(1)
		for k, st := range list {
			low := st.Floor
			if from <= k && k < past {
				low = math.Max(low, st.High)
			}
			least, most = math.Max(least, low+grade*st.S), math.Min(most, st.Ceiling+grade*st.S)
		}
		return least, most
	}
	// What a grade lacks is convex in it, and least rises with it: the answer is
	// the flattest grade that lacks nothing.
	lacks := func(grade float64) float64 {
		least, most := bounds(grade)
		return least - most
	}
	flat, steep := slope, slope+steepest
	for range gradeRounds {
		a, b := flat+(steep-flat)/3, steep-(steep-flat)/3
		if lacks(a) <= lacks(b) {
			steep = b
		} else {
			flat = a
		}
	}
	if lacks(flat) > constraint.Tolerance {
		return math.Inf(1)
	}
	low, high := slope, flat
	if lacks(low) > constraint.Tolerance {
		for range gradeRounds {
			if mid := (low + high) / 2; lacks(mid) > constraint.Tolerance {
				low = mid
			} else {
				high = mid
			}
		}
		low = high
	}
	least, _ := bounds(low)
	return least
}

const (
	steepest    = 1.0 // grade that no outlet pipe is steeper than by more
	gradeRounds = 60  // narrow a grade down to rounding
)
