// Package timer is one button that takes a pilot through an engine start: it
// times the prime and the crank, stands in the way of a start without a look at
// the propeller's area, keeps the starter's rests, and asks what became of it.
//
// Begin with [New]; give it events with [Machine.Apply] and carry out the
// effects that it answers with; show [Machine.View]; ask [Machine.Next] when it
// next needs a [Tick].
//
// Promises:
//
//   - The package is pure. It knows no clock, file, goroutine or window. Times
//     are offsets from an origin that the caller keeps.
//   - The same events give the same effects. A tick only brings out what is
//     due: with ticks, without them, or with late ones, the same comes out.
//   - A hold is as long as its press and release say, also when they arrive
//     after a tick that is younger than they are.
//   - No order of events makes it panic.
//
// There is no simulated engine behind it: the pilot says what the engine did.
// Limits, windows and reminders come from the aircraft's and the flow's files;
// the aeroplane's own handbook rules.
//
// A Machine belongs to one caller at a time; it does no locking.
package timer
