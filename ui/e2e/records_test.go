package e2e

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A student is named and flies from then on, another's progress is looked at, and a
// strip of marks is saved where it was typed.
const filing = driving + `
press() { xdotool mousemove --window "$window" "$1" "$2" sleep 0.4 mousedown 1 sleep 0.15 mouseup 1 sleep 1.2; }
name() {
	press 199 29
	xdotool type --delay 60 'Anna Peel'
	xdotool key Return sleep 1.5
}
named() { "$KICKOVER" records people | tr -s a-z | grep -q 'Ana Pel'; }
until_so named name
shot people
press 874 29
shot progress-of-nobody
press 350 95
xdotool key Down sleep 0.3 key Return sleep 2.5
shot progress
press 959 29
sleep 1
press 380 145
sleep 1
shot paper
save() {
	press 250 686
	xdotool key ctrl+a sleep 0.3
	xdotool type --delay 40 "$DATA/marks.pdf"
	sleep 0.5
	press 250 738
	sleep 1.5
}
saved() { [ -s "$DATA/marks.pdf" ]; }
until_so saved save
shot paper-saved
kill "$program"
wait "$program" || true
`

func TestFilingByMouseAndKeys(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	invent(t, data)
	program := act(t, filing, "1280x800", data, "SEED=1")
	people := records(t, program, data, "people")
	// On a machine that is busy the display server repeats a key that is let go late.
	if !strings.Contains(string(slices.Compact([]rune(people))), "Ana Pel") || !strings.Contains(people, "Student A") {
		t.Errorf("the records name %q", people)
	}
	pdf, err := os.ReadFile(filepath.Join(data, "marks.pdf"))
	if err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("the strip of marks that was saved: %d bytes, %v", len(pdf), err)
	}
}
