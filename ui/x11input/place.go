package x11input

import (
	"errors"
	"fmt"
	"io"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver"
	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// handle is the X id of a window of the toolkit.
func handle(w fyne.Window) (xproto.Window, error) {
	native, ok := w.(driver.NativeWindow)
	if !ok {
		return 0, errors.New("the window is not one of the desktop's")
	}
	var id uintptr
	native.RunNative(func(ctx any) {
		if x, ok := ctx.(driver.X11WindowContext); ok {
			id = x.WindowHandle
		}
	})
	if id == 0 {
		return 0, errors.New("the window is not an X11 one")
	}
	return xproto.Window(id), nil
}

// Place is where a window stands on the display, in pixels, without the frame that
// the desktop draws around it. Call it on the window's goroutine.
func Place(w fyne.Window) (x, y int, err error) {
	err = onDisplay(w, func(conn *xgb.Conn, id, root xproto.Window) error {
		at, err := xproto.TranslateCoordinates(conn, id, root, 0, 0).Reply()
		if err == nil {
			x, y = int(at.DstX), int(at.DstY)
		}
		return err
	})
	return x, y, err
}

// Move asks the desktop to put a window where Place found it, so that some of it
// can be seen; the toolkit's windows have static gravity, which means the window
// and not its frame. Call it on the window's goroutine once the window is shown.
func Move(w fyne.Window, x, y int) error {
	return onDisplay(w, func(conn *xgb.Conn, id, root xproto.Window) error {
		g, err := xproto.GetGeometry(conn, xproto.Drawable(root)).Reply()
		if err != nil {
			return err
		}
		const seen = 160 // pixels: enough to take hold of
		x = max(-seen, min(x, int(g.Width)-seen))
		y = max(0, min(y, int(g.Height)-seen))
		return xproto.ConfigureWindowChecked(conn, id, xproto.ConfigWindowX|xproto.ConfigWindowY, []uint32{uint32(int32(x)), uint32(int32(y))}).Check()
	})
}

// onDisplay does something over a connection of its own.
func onDisplay(w fyne.Window, do func(conn *xgb.Conn, id, root xproto.Window) error) error {
	id, err := handle(w)
	if err != nil {
		return fmt.Errorf("placing the window: %w", err)
	}
	xgb.Logger.SetOutput(io.Discard)
	conn, err := xgb.NewConn()
	if err != nil {
		return fmt.Errorf("placing the window: %w", err)
	}
	defer conn.Close()
	if err := do(conn, id, xproto.Setup(conn).DefaultScreen(conn).Root); err != nil {
		return fmt.Errorf("placing the window: %w", err)
	}
	return nil
}
