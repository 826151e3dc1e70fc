// Package ui is the window: which screen is shown, how one leads to the next,
// and how a live run reaches the Rehearse screen.
//
// Call [Run] with what the window is to work with. Everything here belongs to
// the window's goroutine except the bridge, which the owner of a run calls.
//
// Promises: state in, pixels out. No rule of flying lives in any screen; what a
// hand does leaves as an event, stamped before anything else is done with it.
package ui
