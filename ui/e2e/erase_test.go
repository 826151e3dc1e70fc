package e2e

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A student is chosen and deleted, once kept when it is asked again and once not.
const erasing = driving + `
press() { xdotool mousemove --window "$window" "$1" "$2" sleep 0.4 mousedown 1 sleep 0.15 mouseup 1 sleep 1.5; }
press 199 29
press 300 315
press 795 397
shot erase-asked
press 1080 470
shot erase-kept
"$KICKOVER" records people >"$DATA/kept"
press 795 397
press 829 470
sleep 1
shot erased
kill "$program"
wait "$program" || true
`

func TestDeletingAPersonByMouse(t *testing.T) {
	t.Parallel()
	const name = "Student A"
	program, data := build(t), t.TempDir()
	invent := exec.Command(program, "records", "invent", "--runs", "12", "--person", name)
	invent.Env = append(os.Environ(), "XDG_DATA_HOME="+data)
	if out, err := invent.CombinedOutput(); err != nil {
		t.Fatalf("no invented runs: %v\n%s", err, out)
	}
	id, _, _ := strings.Cut(records(t, program, data, "people"), " ")
	c := exec.Command(filepath.Join(root(t), ".ci", "desktop"), "bash", "-c", erasing)
	c.Env = append(os.Environ(), "KICKOVER="+program, "DATA="+data, fmt.Sprintf("SEED=%d", 1), "SHOTS="+os.Getenv("KICKOVER_SHOTS"), "DISPLAY_SIZE=1280x800")
	if out, err := c.CombinedOutput(); err != nil {
		said, _ := os.ReadFile(filepath.Join(data, "out"))
		t.Fatalf("the window could not be driven: %v\n%s\n%s", err, out, said)
	}
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
