// Package classroom has the screens of a class: the instructor's (open, choose
// a drill, board, one station, order, debrief, one machine) and the student's
// (join, wait).
//
// Each screen is made by its own New function from the theme, a small interface
// or functions, and what to do when the person goes on; it has Content for the
// window and Focus for the keyboard. Screens that move have Refresh, to be
// called on the window's goroutine; [Every] calls it.
//
// Promises: what goes on a projector ([Board] with Public set, [Debrief]) shows
// no name, no fault and no hidden condition; nothing here decides anything about
// a drill: that is package procedure/classroom.
package classroom
