package e2e

import (
	"fmt"
	"testing"
)

// The program is stopped in the middle of a prime, as by a computer that sleeps,
// for longer than the toolkit remembers what it shows, which is made to be shorter
// than its minute. The hand lets go after it runs again.
const heldUp = `
export FYNE_CACHE=2s KICKOVER_ANNOUNCE_FIRST_FRAME=1` + timing + `
xdotool keydown space sleep 1
kill -STOP "$program"
xdotool sleep 5
kill -CONT "$program"
xdotool sleep 1
import -window root "$DATA/goes-on-1.png"
xdotool sleep 1.2
import -window root "$DATA/goes-on-2.png"
shot held-up
if cmp -s "$DATA/goes-on-1.png" "$DATA/goes-on-2.png"; then
	echo "the clock stands on the screen" >&2
	exit 1
fi
xdotool keyup space sleep 0.8
tap
look
hold 1
hold 1.4
xdotool sleep 2.2 # after which it is kept
` + leaving

func TestHeldUpInThePrime(t *testing.T) {
	t.Parallel()
	program, data := timed(t, heldUp, "--aircraft brindle-180 --registration SM-STOP --windowed", "1280x800")
	start := lastStart(t, program, data)
	var prime float64
	fmt.Sscan(start["prime_s"], &prime)
	// 1 + 5 + 1 + 1.2 s, the pictures and the processes that wait.
	if prime < 8.2 || prime > 11 || start["attempts"] != "1" {
		t.Errorf("a prime of over 8.2 s, held through a stop, is kept as %.2f s, attempts %q", prime, start["attempts"])
	}
}
