package ui

import (
	"testing"
	"time"
)

// Windows are painted after a leap ahead of the wall clock, whatever the monotonic
// one says, and not when it goes on evenly or back.
func TestLeapsOfTheWallClock(t *testing.T) {
	at := time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)
	l := leaps{last: at}
	look := func(ahead time.Duration) bool {
		wait := l.wait()
		at = at.Add(ahead)
		return l.look(at, wait)
	}
	for range 5 {
		if look(1050 * time.Millisecond) {
			t.Error("painted while time went on evenly")
		}
	}
	if look(-time.Hour) {
		t.Error("painted after the clock went back")
	}
	painted := 0
	for _, ahead := range []time.Duration{62 * time.Second, paintedApart, paintedApart, time.Second, time.Second} {
		if look(ahead) {
			painted++
		}
	}
	if painted != paintedAfter {
		t.Errorf("painted %d times after a leap of a minute, want %d", painted, paintedAfter)
	}
}
