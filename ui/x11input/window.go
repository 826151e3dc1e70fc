package x11input

import (
	"errors"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver"
)

// ListenWindow is Listen for a window of the toolkit. Call it after the window
// is shown, on the window's goroutine. An error means that the toolkit's own
// keys have to do, which are up to 17 ms late.
func ListenWindow(w fyne.Window, now func() time.Duration, to Keyboard) (stop func(), err error) {
	native, ok := w.(driver.NativeWindow)
	if !ok {
		return nil, errors.New("the window is not one of the desktop's; the toolkit's keys are used, which are up to 17 ms late")
	}
	var id uintptr
	native.RunNative(func(ctx any) {
		if x, ok := ctx.(driver.X11WindowContext); ok {
			id = x.WindowHandle
		}
	})
	if id == 0 {
		return nil, errors.New("the window is not an X11 one; the toolkit's keys are used, which are up to 17 ms late")
	}
	return Listen(uint32(id), now, to)
}
