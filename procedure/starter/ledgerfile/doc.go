// Package ledgerfile keeps a starter's ledger on disk, one file for each
// aircraft registration.
//
// Call [Open]; work with a copy of [File.Ledger], whose times are counted from
// the moment it was opened; tell it [File.Engaged], [File.Released] and the rest
// as they happen, and [File.Tick] about once a second. [File.Close] it. [Look] says
// how a ledger stands and changes nothing.
//
// Promises:
//
//   - Nothing waits for the disk. Entries are appended and synchronised by a
//     goroutine of the file's own, each as soon as it is told.
//   - An entry that was written survives a kill and a loss of power. A torn or
//     damaged entry is noticed by its checksum, set aside, and counted as an
//     attempt that ended as late as it can have.
//   - On the same boot of the computer, times are right whatever is done to the
//     wall clock, through sleep as well: they are the time since boot. Over a
//     restart there is only the wall clock, with the battery clock as its
//     witness where the machine has one. What cannot be known is said in
//     [File.Notices], and then the rest is taken to be the longer one.
//   - Two programs never keep one ledger: the second gets [ErrInUse].
//   - A disk that is full or away stops nobody: the ledger goes on in memory,
//     says so once, and writes when it can.
//
// The file is plain text, a line an entry: what happened, when by three clocks,
// and a checksum (CRC-32C).
//
// A File may be used by several goroutines.
package ledgerfile
