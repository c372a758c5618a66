package repair_test

import (
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
)

// BenchmarkReevaluate100000 evaluates an end with a survey and a design a hundred
// thousand times in all its conditions on every core, as a change of the method
// asks of a network of ends that are alike. It is without digests and without the
// database, which work that stores results adds.
func BenchmarkReevaluate100000(b *testing.B) {
	const ends = 100_000
	s := proposed(b)
	r := s.Ends[0]
	s.Basis() // derived once, before the workers share it
	s.Vehicles()
	for b.Loop() {
		var next atomic.Int64
		var all sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			all.Go(func() {
				for next.Add(1) <= ends {
					r.Numbers(s.Scope, nil)
				}
			})
		}
		all.Wait()
	}
	b.ReportMetric(float64(ends)*float64(b.N)/b.Elapsed().Seconds(), "ends/s")
}
