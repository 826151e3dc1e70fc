// Package record keeps runs: what a run began with, every event of it as it
// happened, and what it came to.
//
// Call [Open] first, with [DefaultPath] unless the user named a file. A live
// run writes through a [Journal] ([Store.Journal]), which never blocks its
// caller; a tool that may wait writes through a [Recorder] ([Store.Begin]).
// Read back with [Store.Runs] and [Store.Run]; move runs between machines with
// [Store.Export] and [Store.Import].
//
// Promises:
//
//   - What is reported as durable is on the disk: it survives a kill of the
//     program at any moment, and a loss of power as far as the disk itself
//     keeps what it has confirmed.
//   - Events come back exactly as they were given, to the bit of every value.
//   - A damaged file is never overwritten. It is set aside under a name with
//     the date, what can be read is brought into a new file, and
//     [Store.Notices] says so in one sentence.
//   - A full disk, a file that went away or a folder that cannot be written
//     stops nobody: a Journal keeps the run in memory, says one sentence and
//     writes it as soon as it can.
//
// The package stores times as nanoseconds and values as IEEE 754 bits. It knows
// nothing of flows: a summary is computed elsewhere, from the same events, and
// can be computed again.
//
// A Store and a Journal may be used from several goroutines, and several
// processes may have one file open. A Recorder belongs to one goroutine.
package record
