package timer

import (
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"kickover/ui/x11input"
)

// Stamp has the space key stamped by the display server's own events, for a hold
// that is right to a few milliseconds where the toolkit's may be 17 out, for as
// long as the window lives or until stop is called. Call it after the window is
// shown, on the window's goroutine. An error means that the toolkit's key is used
// as before; the screen's help says which it is.
func (s *Screen) Stamp(w fyne.Window) (stop func(), err error) {
	k := keyboard{s, time.Now()}
	return x11input.ListenWindow(w, func() time.Duration { return time.Since(k.began) }, k)
}

// keyboard is the screen as a source of stamped keys sees it. Keys are stamped
// by the monotonic clock, which stands while the machine sleeps as the server's
// does, and as the ledger's does not.
type keyboard struct {
	s     *Screen
	began time.Time
}

// Keys says whether the toolkit's space key need not be listened to.
func (k keyboard) Keys(names []fyne.KeyName) {
	k.s.direct.Store(slices.Contains(names, fyne.KeySpace))
}

// Key is a stamped key.
func (k keyboard) Key(name fyne.KeyName, down bool, at time.Duration) {
	if name == fyne.KeySpace && k.s.focused.Load() && !(down && k.s.typing.Load()) {
		k.s.heard.Store(true)
		k.s.driver.button(down, k.s.driver.now()-(time.Since(k.began)-at))
	}
}
