package e2e

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The cockpit timer in its own window. A press is the space key; rests are cut
// short by the pilot's word, which is a hold of two seconds. Its tests run side by side,
// each on a desktop of its own: a timer's window leaves most of a core free.
const timing = `
set -eu
export XDG_DATA_HOME="$DATA"
"$KICKOVER" timer $FLAGS >"$DATA/out" 2>&1 &
program=$!
window=$(timeout 60 xdotool search --sync --onlyvisible --name '^Kickover$' | head -1)
sleep 2
shot() { [ -z "${SHOTS:-}" ] || import -window root "$SHOTS/timer-$1.png"; }
tap() { xdotool key space sleep 0.7; }
hold() { xdotool keydown space sleep "$1" keyup space sleep 0.8; }
look() { tap; tap; tap; tap; sleep 3; }
`

const leaving = `
xdotool key Escape sleep 0.7
for second in 1 2 3 4 5 6 7 8 9 10; do
	kill -0 "$program" 2>/dev/null || break
	sleep 1
done
! kill "$program" 2>/dev/null # it is to have ended by itself
wait "$program"
`

// A hand primer's three strokes, a start, and a note in the pilot's own words.
const timedStart = timing + `
shot ready
hold 1.3
hold 1.3
hold 1.3
shot primed
tap
xdotool keydown space sleep 4
shot held-down-looks-nowhere
xdotool keyup space sleep 0.7
tap; tap; tap
sleep 3
xdotool keydown space sleep 1.5
shot cranking
xdotool keyup space sleep 0.8
tap
shot running
tap; tap; tap; tap
shot quiet
tap
xdotool key Up sleep 0.3 key Up sleep 0.3
shot record
xdotool key t sleep 0.3 type --delay 60 'coughed twice'
xdotool sleep 0.5 key Return sleep 0.7
` + leaving

// Primed too long, and then flooded until the set is used up.
const floodedToTheLongRest = timing + `
hold 6.3
tap
for attempt in 1 2 3 4 5; do
	look
	hold 1.2
	hold 1.4
	shot "no-start-$attempt"
	[ "$attempt" = 5 ] || { tap; tap; tap; hold 2.4; }
done
shot long-rest
` + leaving

func TestATimedStartOfAHandPrimer(t *testing.T) {
	t.Parallel()
	program, data := timed(t, timedStart, "--aircraft brindle-100 --registration SM-101 --oat 12degC", "1280x800")
	start := lastStart(t, program, data)
	for column, want := range map[string]string{
		"registration": "SM-101", "aircraft": "brindle-100", "situation": "cold", "oat_degC": "14",
		"attempts": "1", "outcome": "started", "caution": "practice note, not a maintenance record",
	} {
		if start[column] != want {
			t.Errorf("%s is %q, want %q", column, start[column], want)
		}
	}
	// On a machine that is busy the display server repeats a key that is let go late.
	if note := start["note"]; string(slices.Compact([]rune(note))) != "coughed twice" {
		t.Errorf("the note is %q, want %q", note, "coughed twice")
	}
	var prime float64
	fmt.Sscan(start["prime_s"], &prime)
	// Three waits of 1.3 s, and each time a process that lets go.
	if prime < 3.9 || prime > 5 {
		t.Errorf("three strokes of 1.3 s are kept as %.2f s", prime)
	}
}

func TestFloodedToTheLongRest(t *testing.T) {
	t.Parallel()
	program, data := timed(t, floodedToTheLongRest, "--aircraft brindle-180 --registration SM-180 --dress night", "1024x600")
	start := lastStart(t, program, data)
	if start["attempts"] != "5" || start["outcome"] != "not started" || start["situation"] != "flooded" {
		t.Errorf("kept %v", start)
	}
	ledger, err := os.ReadFile(filepath.Join(data, "kickover", "timer", "SM-180.ledger"))
	if err != nil {
		t.Fatal(err)
	}
	// The Brindle 180's rests: 45 s, and 20 min after the fifth attempt.
	if got := strings.Count(string(ledger), "rest=45.0"); got != 4 {
		t.Errorf("the ledger has %d rests of 45 s, want 4", got)
	}
	if !strings.Contains(string(ledger), "rest=1200.0") {
		t.Error("the ledger has no rest of twenty minutes")
	}
}

// timed runs a script and gives the program and the folder of its data.
func timed(t *testing.T, script, flags, size string) (program, data string) {
	t.Helper()
	data = t.TempDir()
	return act(t, script, size, data, "FLAGS="+flags), data
}

// lastStart is the last real start that the program exports, by column.
func lastStart(t *testing.T, program, data string) map[string]string {
	t.Helper()
	out, err := command(t, data, program, "timer", "starts", "export").Output()
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(out)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%v: %q", err, out)
	}
	start := map[string]string{}
	for i, name := range rows[0] {
		start[name] = rows[len(rows)-1][i]
	}
	return start
}
