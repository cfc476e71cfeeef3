// Package parallel does jobs that do not touch each other on all cores.
package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls job with 0 to n-1, as many at a time as there are processors, and
// returns once all are done.
func Each(n int, job func(k int)) {
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				job(k)
			}
		})
	}
	workers.Wait()
}
