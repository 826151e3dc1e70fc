// Package procedure is the flow engine: it knows an aircraft's controls and
// instruments, the flow of steps that starts its engine, and what becomes of
// each step while somebody flies it.
//
// Start with [NewRun]. Give it events with [Run.Apply], in order of their
// time; it answers with effects. Read where it stands with [Run.State].
// [Replay] does all of that for a stored run.
//
// Promises:
//
//   - The package is pure. It knows no clock, no file, no goroutine and no
//     window. Time comes in as an offset from the run's beginning.
//   - The same events always give the same verdicts. A tick between two events
//     never changes what the second one means, so ticks need not be stored.
//   - The student is never blocked. A real aeroplane does not refuse a hand;
//     the engine says what was wrong about it instead.
//
// Words: a flow is an ordered list of steps; a step is one thing to do, check
// or confirm; a window is the shortest and the longest acceptable time for a
// step with the ideal between; a hold is timed from the moment a control leaves
// its rest until it comes back; an attempt is one engagement of the starter; a
// verdict is what became of a step.
//
// A Run belongs to one caller at a time; it does no locking.
package procedure
