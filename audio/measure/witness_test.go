package main

import (
	"strings"
	"testing"
	"time"
)

// What is told of a gap is what overlaps the moment around it.
func TestWitnessTellsWhatHappenedNearAGap(t *testing.T) {
	began := time.Now()
	w := &witness{began: began, seen: []incident{
		{At: 800 * time.Millisecond, Lasted: 10 * time.Millisecond, What: "long before"},
		{At: 990 * time.Millisecond, Lasted: 40 * time.Millisecond, What: "just before"},
		{At: 3 * time.Second, Lasted: 2 * time.Second, What: "all the while"},
		{At: 1200 * time.Millisecond, Lasted: 5 * time.Millisecond, What: "after"},
	}}
	var out strings.Builder
	w.tellNear(&out, began.Add(time.Second))
	if want := "    just before: 40.0 ms, until -10 ms\n    all the while: 2000.0 ms, until +2000 ms\n"; out.String() != want {
		t.Errorf("%s, want %s", out.String(), want)
	}
	out.Reset()
	w.seen = append(w.seen, incident{At: 5 * time.Second, Lasted: 90 * time.Millisecond, What: "after"})
	w.tellWorst(&out)
	if !strings.Contains(out.String(), "witnessed after: 2 times, 90.0 ms at most\n") {
		t.Errorf("%s", out.String())
	}
}
