package x11input

import (
	"testing"
	"time"
)

func TestStrokeReadInTimeKeepsItsStamp(t *testing.T) {
	var s stamps
	for i := range 200 {
		read := time.Duration(i)*17*time.Millisecond + 300*time.Microsecond
		server := uint32(5000 + i*17)
		if got := s.mend(server, read); got != read {
			t.Fatalf("stroke %d read at %v was moved to %v", i, read, got)
		}
	}
}

func TestStrokeReadLateIsPutBackToWithinATick(t *testing.T) {
	var s stamps
	s.mend(1000, 2*time.Second)
	happened := 2*time.Second + 350*time.Millisecond
	got := s.mend(1350, happened+80*time.Millisecond)
	if d := got - happened; d < 0 || d > tick {
		t.Errorf("it happened at %v, was read 80 ms late and is put at %v", happened, got)
	}
}

func TestServersTimeMayWrapRound(t *testing.T) {
	var s stamps
	s.mend(0xffffffff-99, time.Second)
	happened := time.Second + 300*time.Millisecond
	got := s.mend(200, happened+50*time.Millisecond)
	if d := got - happened; d < 0 || d > tick {
		t.Errorf("across the wrap it is put at %v, it happened at %v", got, happened)
	}
}

func TestServerThatDriftsIsFollowed(t *testing.T) {
	var s stamps
	// Its clock gains a millisecond in a second, against ours.
	for i := range 300 {
		read := time.Duration(i) * time.Second
		if got := s.mend(uint32(i*1001), read); read-got > tick*memory {
			t.Fatalf("after %v it is put %v early", read, read-got)
		}
	}
	var slow stamps
	for i := range 300 {
		read := time.Duration(i) * time.Second
		if got := slow.mend(uint32(i*999), read); read-got > tick*(memory+1) {
			t.Fatalf("after %v it is put %v early", read, read-got)
		}
	}
}

// A program that was stopped for half a minute while a key was held reads all the
// repeats at once when it goes on, and then the release.
func TestReleaseIsMendedAfterAStopWithManyRepeats(t *testing.T) {
	var s stamps
	s.mend(1000, at(1))
	const stopped = 30_000
	for i := range 700 {
		s.mend(uint32(1660+40*i), at(stopped))
	}
	if got := s.mend(7000, at(stopped+1)); got < at(6000) || got > at(6002) {
		t.Errorf("a key let go 6 s after it was pressed is stamped %v, want 6.001 s to a tick", got)
	}
}
