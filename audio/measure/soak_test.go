package main

import (
	"testing"
	"time"
)

// An hour of a class in the mixer; make bench runs a day. Nothing drifts and
// nothing grows. What is allocated is by those who ask for lines: the stream's
// own callback is held to nothing by a test beside the mixer.
func TestAnHourOfClassUse(t *testing.T) {
	w, err := use(1)
	if err != nil {
		t.Fatal(err)
	}
	if want := 30 * len(spokenStart); w.beats != want {
		t.Errorf("%d of %d lines were said", w.beats, want)
	}
	if w.worst > 50*time.Microsecond {
		t.Errorf("a beat was %v off its time, more than two samples", w.worst)
	}
	if w.growth > 1<<20 {
		t.Errorf("the heap grew by %d kB", w.growth/1024)
	}
	if most := uint64(60 * w.beats); w.made > most {
		t.Errorf("%d allocations for %d lines, tones and captions", w.made, w.beats)
	}
}
