// Package learner invents students and lets them fly on the simulated engine, so
// that what looks at many runs can be shown and tested on runs that nobody flew.
//
// Make a [Hand], or take the n-th of an improving student from [Improving], and
// call its Fly with what the run begins with.
//
// Promises: the runs are flown and not written down: they go through the same
// flow, engine and faults as anybody's, and are debriefed alike; the same hand
// with the same seed flies the same run.
//
// How an invented student learns is an assumption, named where it is made, and no
// evidence of how people do.
package learner
