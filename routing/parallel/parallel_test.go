package parallel

import (
	"runtime"
	"slices"
	"sync/atomic"
	"testing"
)

// Every job is done once, and no more at a time than there are processors.
func TestEach(t *testing.T) {
	for _, procs := range []int{1, 3} {
		before := runtime.GOMAXPROCS(procs)
		for _, n := range []int{0, 1, 2, 50} {
			done := make([]int, n)
			var now, most atomic.Int64
			Each(n, func(k int) {
				most.Store(max(most.Load(), now.Add(1)))
				done[k]++
				runtime.Gosched()
				now.Add(-1)
			})
			if slices.ContainsFunc(done, func(times int) bool { return times != 1 }) {
				t.Errorf("%d jobs on %d processors: done %v times", n, procs, done)
			}
			if most.Load() > int64(procs) {
				t.Errorf("%d jobs on %d processors: %d at a time", n, procs, most.Load())
			}
		}
		runtime.GOMAXPROCS(before)
	}
}
