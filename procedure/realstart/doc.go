// Package realstart keeps records of real engine starts: what the cockpit timer
// knows of each, and what the pilot adds.
//
// Call [Open] with a file; [Store.Keep] a start, and again with the same ID when
// more is known of it; read with [Store.Starts]. [Write] and [Read] turn starts
// into CSV (RFC 4180) and back.
//
// Promises:
//
//   - A start that was kept is on the disk when Keep returns.
//   - A file that is torn or damaged is copied aside before anything is written;
//     what can be read of it stays.
//   - Reading CSV reports every mistake at once, each with line, column, value
//     and mend, and then takes nothing.
//
// These records are practice notes. They are nobody's maintenance record, and
// every row that leaves the program says so.
//
// A Store may be used by several goroutines.
package realstart
