package ui

import (
	"time"

	"fyne.io/fyne/v2"
)

// The toolkit forgets which window its objects are on when none of them was painted
// for a minute by the wall clock: when the computer slept, its clock was set ahead,
// or the program was held up. From then on nothing that changes is shown, until the
// whole window is painted, which makes it know them again. The forgetting comes with
// the first frame after the gap, so that one more painting must follow it.

// How often it is looked whether time has made a leap, how long one is, and how
// often the windows are painted after it.
const (
	lookForLeap  = time.Second
	leap         = time.Second // more than was waited
	paintedAfter = 3
	paintedApart = lookForLeap / 4
)

// leaps notices when the wall clock made a leap ahead.
type leaps struct {
	last time.Time
	left int // how often the windows are still to be painted
}

// look is told the time and how long was waited for it, and says whether the
// windows are to be painted.
func (l *leaps) look(now time.Time, waited time.Duration) bool {
	now = now.Round(0) // the wall clock's alone, as the toolkit reads it
	if now.Sub(l.last) > waited+leap {
		l.left = paintedAfter
	}
	l.last = now
	if l.left == 0 {
		return false
	}
	l.left--
	return true
}

// wait is how long it is until the next look.
func (l *leaps) wait() time.Duration {
	if l.left > 0 {
		return paintedApart
	}
	return lookForLeap
}

// keepShown has every window painted after a leap of time, until stop is called.
func keepShown() (stop func()) {
	stopped := make(chan struct{})
	go func() {
		l := leaps{last: time.Now().Round(0)}
		for {
			wait := l.wait()
			select {
			case <-time.After(wait):
			case <-stopped:
				return
			}
			if l.look(time.Now(), wait) {
				fyne.Do(paintWindows)
			}
		}
	}()
	return func() { close(stopped) }
}

func paintWindows() {
	for _, w := range fyne.CurrentApp().Driver().AllWindows() {
		if w.Content() != nil {
			w.Canvas().Refresh(w.Content())
		}
	}
}
