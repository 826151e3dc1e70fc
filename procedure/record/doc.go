// Package record keeps runs: what a run began with, every event of it as it
// happened, what it came to and whose it was; and beside them people, real
// aeroplanes and their starts, and what an instructor signed.
//
// Call [Open] first, with [DefaultPath] unless the user named a file of SQLite's
// or a database of PostgreSQL's ([IsDSN]). A live run writes through a [Journal]
// ([Store.Journal]), which never blocks its caller; a tool that may wait writes
// through a [Recorder] ([Store.Begin]). Read back with [Store.Runs] and
// [Store.Run], and many runs of one person with [Store.History], which needs no
// replay. [Store.AddPerson], [Store.Sign] and [Store.KeepStarts] store the rest.
// Move things between machines with [Store.ExportKind] and [Store.Import], whose
// columns [Columns] describes; keep copies with [Store.Backup] and [Restore].
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
//   - Somebody who is erased is gone: in a file their rows are overwritten.
//     Names leave the store only when people are exported, or with a backup.
//   - The same file imported twice changes nothing, and a row that makes no sense
//     is refused and named without the others.
//   - A full disk, a file that went away, a folder that cannot be written or a
//     server that does not answer stops nobody: a Journal keeps the run in memory,
//     says one sentence and writes it as soon as it can. What it could not write
//     by the program's end waits in a file ([SetAside]) for [Store.TakeAside].
//
// The package stores times as nanoseconds and values as IEEE 754 bits. It knows
// nothing of flows: a summary is computed elsewhere, from the same events, and
// can be computed again.
//
// Both databases get the same statements and the same migrations, and pass the
// same tests; postgres.go and postgresbulk.go are all that differs. What a damaged
// file needs is SQLite's alone: a server looks after its own.
//
// A Store and a Journal may be used from several goroutines, and several
// processes may have one file open. A Recorder belongs to one goroutine.
package record
