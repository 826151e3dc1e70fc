// Package debrief says what became of a run and why: each step against its
// window, each attempt, and what was in the cylinders.
//
// Call [Of] with what a run began with and its events. It replays the run; it
// simulates nothing, since what it needs to know of the engine was recorded.
//
// Promises: the package is pure; the same run gives the same report; every
// reason carries a number that stands elsewhere in the report too.
package debrief
