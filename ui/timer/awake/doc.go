// Package awake keeps the display on, and lets it go.
//
// Call [New], then [Display.Set] whenever it must be on or need no longer be;
// [Display.Close] at the end. A program that is killed lets go too: the desktop
// takes the request back when its owner is gone.
//
// On Linux and other desktops with a session bus the screen saver's interface is
// asked (org.freedesktop.ScreenSaver, Idle Inhibition Service Draft), then the
// desktop portal's (org.freedesktop.portal.Inhibit). Windows and macOS have
// their own.
//
// A Display may be used by several goroutines; Set may wait for the desktop.
package awake

import "sync"

// inhibitor is one way of keeping a display on.
type inhibitor interface {
	hold(app, reason string) error
	release() error
}

// Display is the display as far as it can be kept on.
type Display struct {
	app, reason string
	mu          sync.Mutex
	on          bool
	by          inhibitor
}

// New prepares to keep the display on for a program and a reason, as the desktop
// may show them. Nothing is asked of the desktop yet.
func New(app, reason string) *Display {
	return &Display{app: app, reason: reason, by: system()}
}

// Set keeps the display on, or lets it go; twice the same does no more than once.
func (d *Display) Set(on bool) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if on == d.on {
		return nil
	}
	if !on {
		d.on = false
		return d.by.release()
	}
	if err := d.by.hold(d.app, d.reason); err != nil {
		return err
	}
	d.on = true
	return nil
}

// Close lets the display go.
func (d *Display) Close() error { return d.Set(false) }
