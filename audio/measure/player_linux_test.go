package main

import (
	"os/exec"
	"strings"
	"testing"
	"time"

	"kickover/audio"
)

// The whole way: real player, real driver, a sound server, its output recorded.
// How exact it is belongs to the bench; here every call-out must be heard. Other
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
	var out strings.Builder
	if err := timing(&out, s, 30, 300*time.Millisecond, audio.DefaultBuffer, false); err != nil {
		t.Fatal(err)
	}
	t.Log(out.String())
	if !strings.Contains(out.String(), "40 call-outs asked for, 0 not found") {
		t.Error("a call-out was not heard within 150 ms of its time")
	}
}
