package e2e

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A student is chosen and deleted, once kept when it is asked again and once not.
const erasing = driving + `
press() { xdotool mousemove --window "$window" "$1" "$2" sleep 0.4 mousedown 1 sleep 0.15 mouseup 1 sleep 1.5; }
ask() { press 199 29; press 300 315; press 795 397; }
ask
shot erase-asked
press 1080 470
shot erase-kept
"$KICKOVER" records people >"$DATA/kept"
erase() { ask; press 829 470; sleep 1; }
erased() { ! "$KICKOVER" records people | grep -q 'Student A'; }
until_so erased erase
shot erased
kill "$program"
wait "$program" || true
`

func TestDeletingAPersonByMouse(t *testing.T) {
	t.Parallel()
	const name = "Student A"
	data := t.TempDir()
	invent(t, data, "--person", name)
	id, _, _ := strings.Cut(records(t, build(t), data, "people"), " ")
	act(t, erasing, "1280x800", data, "SEED=1")
	if kept, err := os.ReadFile(filepath.Join(data, "kept")); err != nil || !strings.Contains(string(kept), name) {
		t.Errorf("“Keep” did not keep %s: %q, %v", name, kept, err)
	}
	files, err := filepath.Glob(filepath.Join(data, "kickover", "*"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files of records, %v", err)
	}
	for _, file := range files {
		content, err := os.ReadFile(file)
		if err != nil {
			continue // a folder
		}
		for _, trace := range []string{name, id} {
			if bytes.Contains(content, []byte(trace)) {
				t.Errorf("%s still holds %q", filepath.Base(file), trace)
			}
		}
	}
}
