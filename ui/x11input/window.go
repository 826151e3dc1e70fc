package x11input

import (
	"fmt"
	"time"

	"fyne.io/fyne/v2"
)

// ListenWindow is Listen for a window of the toolkit. Call it after the window
// is shown, on the window's goroutine. An error means that the toolkit's own
// keys have to do, which are up to 17 ms late.
func ListenWindow(w fyne.Window, now func() time.Duration, to Keyboard) (stop func(), err error) {
	id, err := handle(w)
	if err != nil {
		return nil, fmt.Errorf("%w; the toolkit's keys are used, which are up to 17 ms late", err)
	}
	return Listen(uint32(id), now, to)
}
