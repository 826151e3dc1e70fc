// Package timer is the cockpit's screen: one large button, one large clock, and
// nothing between opening it and timing.
//
// Call [New] with what it works with; put [Screen.Content] into a window, call
// [Screen.Focus], and [Screen.Close] it at the end. Set the toolkit's theme to
// the dress before the window is made, or its first frame is the toolkit's own
// and may be bright.
//
// Everything is decided by procedure/timer: this package stamps presses, draws
// what the machine shows, and carries out what it asks for. The space key and
// any mouse button anywhere are the button.
//
// Who owns what: the machine belongs to one goroutine, the driver's, which also
// talks to the voice, the ledger and the display lock; none of these may make it
// wait. What is drawn belongs to the window's goroutine. Between them go events
// one way and views the other, and of the views only the latest counts.
//
// In night dress nothing is drawn brighter than the dress's own colours, and no
// frame is shown in another dress's colours but the one being left.
package timer
