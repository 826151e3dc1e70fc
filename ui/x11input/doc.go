// Package x11input hears the keys of a window by its own connection to the X
// server and stamps them as they arrive, where the toolkit looks for keys sixty
// times a second and stamps nothing.
//
// Call [Listen] with the window's X id; call the func it returns to stop.
//
// Promises: a key that repeats by itself is reported once when it goes down and
// once when it comes up. Keys with Control or Alt are left to the toolkit. The
// toolkit goes on receiving everything. Where there is no X server Listen gives
// an error and nothing is lost but precision.
//
// Source of the two rules about repeats: the X server sends a release and a
// press with one and the same server time for each repeat.
package x11input
