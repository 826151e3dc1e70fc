package e2e

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The timer's window is killed in every state of its button and opened again, on
// one ledger all along. The waits are the hand's own and the pause before a pilot
// opens it again; the program is waited for by its first frame and by what it
// writes. Between a kill and the next opening the ledger is asked how it stands.
const killing = `
set -eu
export XDG_DATA_HOME="$DATA" KICKOVER_ANNOUNCE_FIRST_FRAME=1
ledger="$DATA/kickover/timer/SM-9.ledger"
up() { read -r up rest </proc/uptime; echo "$up"; }
shot() { [ -z "${SHOTS:-}" ] || import -window root "$SHOTS/killed-$1.png"; }
until_said() { # what, in which file, how often
	timeout 30 sh -c 'until [ "$(grep -c "$1" "$2" 2>/dev/null)" -ge "$3" ]; do :; done' - "$@"
}
opened() {
	"$KICKOVER" timer --aircraft brindle-180 --registration SM-9 --oat 12degC >"$DATA/out" 2>&1 &
	program=$!
	until_said 'first frame' "$DATA/out" 1
	xdotool sleep 0.3
}
killed() { # in which state: what the ledger says, and how the timer comes back
	kill -KILL "$program"
	wait "$program" 2>/dev/null || true
	xdotool keyup space sleep 1
	echo "$1	$(up)	$("$KICKOVER" timer ledger --aircraft brindle-180 --registration SM-9 --json)	$(up)" >>"$DATA/told"
	opened
	shot "$1"
}
released() { before=$(up); xdotool keyup space; echo "released	$before		$(up)" >>"$DATA/told"; xdotool sleep 0.6; }
tap() { xdotool key space sleep 0.45; }
hold() { xdotool keydown space sleep "$1" keyup space sleep 0.45; }
primed() { hold 0.5; }
looking() { primed; tap; }
vouched() { hold 2.3; xdotool sleep 2.2; } # after which it can no longer be undone
armed() { tap; tap; tap; tap; xdotool sleep 3.2; }
engaged() { before=$(grep -c ^engage "$ledger" || true); xdotool keydown space; until_said ^engage "$ledger" $((before + 1)); }
attempted() { engaged; xdotool sleep "$1"; released; }

opened;                                killed ready
xdotool keydown space sleep 1;         killed priming
primed;                                killed primed
looking; xdotool sleep 0.4;            killed look-left
looking; xdotool sleep 0.4; tap;       killed look-ahead
looking; xdotool sleep 0.4; tap; tap;  killed look-right
looking; xdotool sleep 0.4; tap; tap; tap; killed call-clear
looking; xdotool sleep 0.4; tap; tap; tap; tap; killed listening
looking; xdotool sleep 0.4; armed;     killed armed
looking; xdotool sleep 0.4; armed; engaged; xdotool key u; until_said ^strike "$ledger" 1; killed undone
looking; xdotool sleep 0.4; armed; engaged; xdotool sleep 1.5; killed cranking
looking;                               killed resting
looking; vouched; armed; attempted 1;  killed asking
looking; vouched; armed; attempted 1; hold 1.3; killed no-start
looking; vouched; armed; attempted 1; tap; killed running-could-be-undone
looking; vouched; armed; attempted 1; tap; until_said ^runs "$ledger" 1; killed oil
                                       killed long-rest
kill -KILL "$program"
`

func TestTheTimerIsKilledInEveryState(t *testing.T) {
	t.Parallel()
	_, data := timed(t, killing, "", "1024x600")
	report, err := os.ReadFile(filepath.Join(data, "told"))
	if err != nil {
		t.Fatal(err)
	}
	// The Brindle 180's limits: 45 s of rest, 20 min after the fifth attempt.
	const rest, long = 45, 1200
	want := map[string]struct {
		attempt int
		rest    float64 // from the last release by hand; zero is none owed
		ran     bool
	}{
		"ready": {attempt: 1}, "priming": {attempt: 1}, "primed": {attempt: 1},
		"look-left": {attempt: 1}, "look-ahead": {attempt: 1}, "look-right": {attempt: 1}, "call-clear": {attempt: 1},
		"listening": {attempt: 1}, "armed": {attempt: 1}, "undone": {attempt: 1},
		// The hand lets go of a program that is gone: from then on, at the latest.
		"cranking": {attempt: 2, rest: rest}, "resting": {attempt: 2, rest: rest},
		"asking": {attempt: 3, rest: rest}, "no-start": {attempt: 4, rest: rest},
		"running-could-be-undone": {attempt: 5, rest: rest},
		"oil":                     {attempt: 1, rest: long, ran: true}, "long-rest": {attempt: 1, rest: long, ran: true},
	}
	var let [2]float64 // between which moments the starter was let go last
	for _, line := range strings.Split(strings.TrimSpace(string(report)), "\n") {
		fields := strings.Split(line, "\t")
		if len(fields) != 4 {
			t.Fatalf("%q is no report", line)
		}
		state := fields[0]
		var at [2]float64 // the moments before and after
		fmt.Sscan(fields[1], &at[0])
		fmt.Sscan(fields[3], &at[1])
		if state == "released" || state == "cranking" {
			let = at
		}
		if state == "released" {
			continue
		}
		var said struct {
			Attempt int
			Rest    float64 `json:"rest_owed_seconds"`
			Ran     bool    `json:"engine_ran"`
		}
		if err := json.Unmarshal([]byte(fields[2]), &said); err != nil {
			t.Fatalf("%s: %v in %q", state, err, fields[2])
		}
		w, known := want[state]
		if !known {
			t.Fatalf("%q is no state that was killed", state)
		}
		delete(want, state)
		least, most := 0.0, 0.0
		if w.rest > 0 {
			least, most = w.rest-(at[1]-let[0])-1, w.rest-(at[0]-let[1])+1
		}
		if state == "resting" { // opening the window is what ended the crank that was cut short
			most = w.rest
		}
		if said.Attempt != w.attempt || said.Ran != w.ran || said.Rest < least || said.Rest > most {
			t.Errorf("killed %s: attempt %d, %.1f s owed, engine ran %v; want %d, %.1f to %.1f, %v", state, said.Attempt, said.Rest, said.Ran, w.attempt, least, most, w.ran)
		}
	}
	for state := range want {
		t.Errorf("it was never killed %s", state)
	}
}
