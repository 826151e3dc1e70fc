package e2e

import (
	"strings"
	"testing"
)

// Nothing but the pointer and its buttons, as for somebody with one hand free.
const pointing = opening + `
to() { xdotool mousemove --window "$window" "$1" "$2" sleep 0.15; }
press() { to "$1" "$2"; xdotool click 1 sleep "${3:-0.7}"; }
`

// The whole cold start of a newcomer: who one is, Begin, and every step. While the
// pointer holds START, and trembles, the other button moves the mixture.
const coldStartByMouse = pointing + `
press 238 400 1.5
press 940 623 1.5
press 530 508; press 348 508; press 373 340
press 470 508; press 752 569 1
shot mouse-before-the-prime
press 904 462 3.4
press 904 628 0.8
press 752 606 1
shot mouse-brief
press 97 669
press 515 258; press 620 205; press 725 258
press 836 355 3.5
to 606 647
xdotool mousedown 1 sleep 0.8 mousemove_relative 6 3 sleep 0.8 click 3 sleep 0.3 mouseup 1 sleep 0.3
shot mouse-caught
xdotool sleep 9
press 620 340; press 409 508 2.5; press 470 508; press 500 340 1.5
press 815 342 2
` + closing

func TestColdStartByMouseAlone(t *testing.T) {
	t.Parallel()
	if strings.Contains(coldStartByMouse, "xdotool key") {
		t.Fatal("the script presses keys")
	}
	run := drive(t, coldStartByMouse, 1)
	if run.Flow != "cold" || run.Phase != "perform" || run.Outcome != "started" {
		t.Errorf("the store holds a %s run of %q that ended %q", run.Phase, run.Flow, run.Outcome)
	}
	if len(run.Attempts) != 1 || !run.Attempts[0].Fired {
		t.Errorf("START was not held through the catch: %d attempts", len(run.Attempts))
	}
	for _, s := range run.Steps {
		if s.Verdict != "on time" {
			t.Errorf("step %s came out %q", s.ID, s.Verdict)
		}
	}
}
