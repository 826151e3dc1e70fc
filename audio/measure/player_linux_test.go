package main

import (
	"os/exec"
	"strings"
	"testing"
	"time"

	"kickover/audio"
)

// The whole way: real player, real driver, a sound server, its output recorded.
// How exact it is belongs to the bench; here every call-out must be heard, unless
// the machine kept the sound itself from being made: then it is tried again. Other
// systems than Linux have no such server.
func TestCallOutsAreHeard(t *testing.T) {
	for _, program := range []string{"pulseaudio", "pactl", "parec"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Fatalf("%s is not installed, and this test plays and records with it; install the packages pulseaudio and pulseaudio-utils (.ci/setup test does)", program)
		}
	}
	s, err := startServer()
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	for range 5 {
		var out strings.Builder
		h, err := timing(&out, s, 30, 300*time.Millisecond, audio.DefaultBuffer, false)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(out.String())
		switch {
		case h.asked != 40:
			t.Fatalf("%d call-outs were asked for, not 40", h.asked)
		case h.missed == 0:
			return
		case h.gaps == 0:
			t.Fatalf("of %d call-outs %d were not heard within 150 ms of their time, and the sound had no gap", h.asked, h.missed)
		}
	}
	t.Fatal("five times running this machine left the sound with gaps that swallowed a call-out; nothing can be said of the player")
}
