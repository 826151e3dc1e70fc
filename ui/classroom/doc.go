// Package classroom has the screens of a class: the instructor's (open, sequence,
// board, one station, orders, debrief, sign-off, one machine), the room's
// (invitation, board, debrief, replay) and the student's (join, wait).
//
// A program makes a [Desk] for the instructor's side and a [Place] for the
// student's, and calls their Start; they know which screen leads to which and
// need a [Stage] to show them on. Each screen is also made by its own New
// function from the theme, a small interface or functions, and what to do when
// the person goes on; it has Content for the window and Focus for the keyboard.
// Screens that move have Refresh, to be called on the window's goroutine;
// [Every] calls it.
//
// Promises: what goes to the room ([Board] with Public set, [Invitation],
// [Debrief]) shows no name, no fault and no hidden condition; nothing here
// decides anything about a drill: that is package procedure/classroom.
package classroom
