package flow

// Discharge returns the flow that leaves each place of a network once all of
// it runs steadily: its own source and what comes from upstream, less what is
// taken there. next has for each place the one its water goes to, -1 where it
// leaves; it must not lead in a circle. source and takes are flows, by place;
// takes, the most a place can take out, may be nil for none. taken is what each
// place took.
//
// Sums are taken in the order of places, always the same.
//
// Cost: O(n).
func Discharge(next []int32, source, takes []float64) (leaving, taken []float64) {
	wait := make([]int32, len(next))
	for _, n := range next {
		if n >= 0 {
			wait[n]++
		}
	}
	leaving, taken = make([]float64, len(next)), make([]float64, len(next))
	done := make([]bool, len(next))
	for i := range next {
		for j := int32(i); j >= 0 && wait[j] == 0 && !done[j]; j = next[j] {
			done[j] = true
			leaving[j] += source[j]
			if takes != nil {
				taken[j] = min(leaving[j], takes[j])
				leaving[j] -= taken[j]
			}
			if n := next[j]; n >= 0 {
				leaving[n] += leaving[j]
				wait[n]--
			}
		}
	}
	return leaving, taken
}
