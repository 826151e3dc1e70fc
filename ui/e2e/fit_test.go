package e2e

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// The window's size once its first frame is painted, on a display that is smaller
// than what the window asks for.
const fitting = `
set -eu
export XDG_DATA_HOME="$DATA" KICKOVER_ANNOUNCE_FIRST_FRAME=1
"$KICKOVER" >"$DATA/out" 2>&1 &
program=$!
timeout 30 sh -c 'until grep -q "first frame" "$DATA/out"; do :; done'
window=$(timeout 30 xdotool search --sync --onlyvisible --name '^Kickover$' | head -1)
xdotool sleep 1
xdotool getwindowgeometry --shell "$window" >"$DATA/geometry"
kill "$program"
wait "$program" || true
`

func TestTheWindowFitsASmallDisplay(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	act(t, fitting, "1024x700", data)
	said, err := os.ReadFile(filepath.Join(data, "geometry"))
	if err != nil {
		t.Fatal(err)
	}
	var window, x, y, width, height int
	if _, err := fmt.Sscanf(string(said), "WINDOW=%d\nX=%d\nY=%d\nWIDTH=%d\nHEIGHT=%d", &window, &x, &y, &width, &height); err != nil {
		t.Fatalf("%q: %v", said, err)
	}
	if width < 900 || width > 1024 || height < 600 || height > 700 {
		t.Errorf("on a display of 1024×700 the window is %d×%d", width, height)
	}
}
