package main

import (
	"math"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"testing/synctest"
	"time"
)

// collector tells how the garbage collector is set, as the runtime says; off is the
// greatest percentage there is.
func collector() (percent, limit uint64) {
	s := []metrics.Sample{{Name: "/gc/gogc:percent"}, {Name: "/gc/gomemlimit:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64(), s[1].Value.Uint64()
}

// The collector is back with the first frame, and where none ever comes.
func TestAStartGoesWithoutTheCollectorForAWhileOnly(t *testing.T) {
	const limit = 8 << 30
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(limit))
	defer debug.SetGCPercent(debug.SetGCPercent(100))
	// The waits are of a bubble of testing/synctest, whose clock jumps: nothing waits.
	for name, comes := range map[string]func(begun func()){
		"a first frame":       func(begun func()) { begun() },
		"a slow one":          func(begun func()) { time.Sleep(startPatience + time.Second); begun() },
		"no frame":            func(func()) { time.Sleep(startPatience + time.Second) },
		"a frame told thrice": func(begun func()) { begun(); begun(); begun() },
	} {
		synctest.Test(t, func(t *testing.T) {
			debug.SetGCPercent(100)
			begun := startQuickly()
			if percent, most := collector(); percent != math.MaxUint64 || most != startMemory {
				t.Errorf("%s: before it the collector is at %d %%, and works beyond %d bytes", name, percent, most)
			}
			comes(begun)
			synctest.Wait()
			if percent, most := collector(); percent > 100 || most != limit {
				t.Errorf("%s: after it the collector is at %d %%, and works beyond %d bytes", name, percent, most)
			}
		})
	}
}

// Somebody who gives the program less memory than that has it kept.
func TestAStartKeepsToALimitOfMemory(t *testing.T) {
	const limit = 64 << 20
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(limit))
	defer startQuickly()()
	if _, most := collector(); most != limit {
		t.Errorf("of %d bytes a start makes %d", uint64(limit), most)
	}
}
