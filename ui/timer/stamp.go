package timer

import (
	"errors"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	native "fyne.io/fyne/v2/driver"

	"kickover/ui/x11input"
)

// Stamp has the space key stamped by the display server's own events, for a hold
// that is right to a few milliseconds where the toolkit's may be 17 out, for as
// long as the window lives or until stop is called. Call it after the window is
// shown, on the window's goroutine. An error means that the toolkit's key is used
// as before; the screen's help says which it is.
func (s *Screen) Stamp(w fyne.Window) (stop func(), err error) {
	window, ok := w.(native.NativeWindow)
	if !ok {
		return nil, errors.New("the window is not one of the desktop's; the toolkit's keys are used, which are up to 17 ms late")
	}
	var id uintptr
	window.RunNative(func(ctx any) {
		if x, ok := ctx.(native.X11WindowContext); ok {
			id = x.WindowHandle
		}
	})
	if id == 0 {
		return nil, errors.New("the window is not an X11 one; the toolkit's keys are used, which are up to 17 ms late")
	}
	k := keyboard{s, time.Now()}
	return x11input.Listen(uint32(id), func() time.Duration { return time.Since(k.began) }, k)
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
	if name == fyne.KeySpace && k.s.focused.Load() {
		k.s.driver.button(down, k.s.driver.now()-(time.Since(k.began)-at))
	}
}
