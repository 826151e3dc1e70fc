package rehearse

import (
	"time"

	"fyne.io/fyne/v2"

	"kickover/ui/x11input"
)

// Stamp has the screen's keys stamped by the display server's own events, which
// is a thousand times finer than the toolkit's, for as long as the window lives
// or until stop is called. Call it after the window is shown, on the window's
// goroutine. An error means that the toolkit's keys are used as before.
func (s *Screen) Stamp(w fyne.Window) (stop func(), err error) {
	return x11input.ListenWindow(w, s.opts.Now, keyboard{s})
}

// keyboard is the screen as a source of stamped keys sees it.
type keyboard struct{ s *Screen }

// Keys says which keys the toolkit need not be listened to for.
func (k keyboard) Keys(names []fyne.KeyName) {
	told := make(map[fyne.KeyName]bool, len(names))
	for _, n := range names {
		told[n] = true
	}
	k.s.stamped.Store(&told)
}

// turns reports whether a key turns to another page or holds the run. Nobody times
// that, and the toolkit has such a key first: its event for one that the display
// server told already would come to the next page, and press a button there.
func (s *Screen) turns(name fyne.KeyName) bool {
	switch keymap[name].act {
	case actPause, actLeave, actEscape:
		return true
	case actReady:
		n := s.latest.Load()
		return n != nil && n.Done
	}
	return false
}

// Key does what a key does.
func (k keyboard) Key(name fyne.KeyName, down bool, at time.Duration) {
	if !k.s.focused.Load() || k.s.turns(name) {
		return
	}
	if down {
		k.s.keyDown(name, at)
	} else {
		k.s.keyUp(name, at)
	}
}
