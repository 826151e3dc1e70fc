// Package rehearse is the screen on which a flow is flown: the step strip, the
// instruments, the controls, the stopwatch, the starter's ledger, the
// propeller's area and the captions.
//
// Make one with [New], put [Screen.Content] into a window, call [Screen.Focus],
// then [Screen.Show] for every snapshot. What the student does comes back
// through [Options.Emit] as events that are stamped where they are received.
//
// Promises: state in, pixels out. No rule about flows lives here: the screen
// shows what a snapshot says and tells what hands, eyes and voice did. Only what
// changed is painted, and nothing is painted while nothing changes. Keyboard
// and mouse each suffice alone; what is sprung springs back when its key or
// button is let go, when the pointer is dragged off it, and when the window
// loses the foreground.
//
// Everything but Options.Emit belongs to the window's goroutine. Emit may be
// called from another one, in order of the events' time.
package rehearse
