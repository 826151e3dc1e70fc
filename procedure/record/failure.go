package record

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What can go wrong, for callers that branch on it. Each error that wraps one of
// these begins with a sentence for the person at the screen.
var (
	ErrNoRun    = errors.New("no such run")
	ErrSequence = errors.New("events are not numbered in order")
	ErrExists   = errors.New("a run with this id is already stored")
	ErrFull     = errors.New("disk full")
	ErrReadOnly = errors.New("records cannot be written")
	ErrLost     = errors.New("record file gone")
	ErrDamaged  = errors.New("record file damaged")
	ErrBusy     = errors.New("record file in use")
	ErrNewer    = errors.New("record file written by a newer version")
	ErrForeign  = errors.New("not a record file")
	ErrClosed   = errors.New("records are closed")

	ErrUnreachable = errors.New("database cannot be reached")
	// ErrNoAccess is an ErrReadOnly where reading fails too.
	ErrNoAccess = fmt.Errorf("no access: %w", ErrReadOnly)
)

// sentences say what happened, what still works and what to do. %s is the path.
var sentences = map[error]string{
	ErrFull:     "The disk is full, so nothing more can be stored in %s; what is there can still be read and rehearsing goes on, free some space on that disk.",
	ErrReadOnly: "The records in %s cannot be written; stored runs can still be read, make the folder writable or name another file.",
	ErrNoAccess: "The records in %s can be neither read nor written; rehearsing goes on, make the folder and the file in it yours to read and to write, or name another file.",
	ErrLost:     "The record file %s was removed or replaced while it was in use; put it back, or go on with a new one.",
	ErrDamaged:  "The record file %s is damaged; open it again and what can be read will be recovered.",
	ErrBusy:     "Another program is writing to %s; rehearsing goes on, close the other program if this lasts.",
	ErrNewer:    "The record file %s was written by a newer version of this program and was left as it is; use that version, or name another file.",
	ErrForeign:  "%s is not a record file and was left as it is; name another file.",

	ErrUnreachable: "There is no connection to %s; rehearsing does not need it, look at the network, the server and the name and password it is given.",
}

// fault is a failure of the file: one of the sentinels above, and its cause.
type fault struct {
	kind  error
	path  string
	cause error
}

func (f *fault) Error() string {
	if f.cause == nil {
		return f.Sentence()
	}
	return f.Sentence() + " (" + f.cause.Error() + ")"
}

// Sentence is what the person is told, without the technical cause.
func (f *fault) Sentence() string { return fmt.Sprintf(sentences[f.kind], f.path) }

func (f *fault) Unwrap() []error { return []error{f.kind, f.cause} }

// classify gives an error of the database or the file system its sentence; any
// other error is returned as it is.
func classify(path string, err error) error {
	var known *fault
	if err == nil || errors.As(err, &known) {
		return err
	}
	if kind := kindOf(err); kind != nil {
		return &fault{kind, path, err}
	}
	return err
}

// classify does so for a failure of one file or database.
func (f *file) classify(err error) error {
	var known *fault
	if err == nil || !f.postgres || errors.As(err, &known) {
		return classify(f.path, err)
	}
	if kind := kindOfPostgres(err); kind != nil {
		return &fault{kind, f.path, err}
	}
	return err
}

func kindOf(err error) error {
	var db *sqlite.Error
	if errors.As(err, &db) {
		return kindOfCode(db.Code())
	}
	switch {
	case errors.Is(err, ErrDamaged):
		return ErrDamaged
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return ErrFull
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS), errors.Is(err, syscall.ENOTDIR):
		return ErrReadOnly
	}
	return nil
}

// kindOfCode reads SQLite's result codes (sqlite.org/rescode.html). A failed
// write or sync counts as a full disk: that is what it is nearly always, and
// what to do about it is the same.
func kindOfCode(code int) error {
	switch code {
	case sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_IOERR_TRUNCATE,
		sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMMAP:
		return ErrFull
	case sqlite3.SQLITE_IOERR_SHORT_READ, sqlite3.SQLITE_IOERR_CORRUPTFS, sqlite3.SQLITE_IOERR_DATA:
		return ErrDamaged
	case sqlite3.SQLITE_READONLY_DBMOVED:
		return ErrLost
	}
	switch code & 0xff {
	case sqlite3.SQLITE_FULL:
		return ErrFull
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN:
		return ErrReadOnly
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return ErrDamaged
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return ErrBusy
	}
	return nil
}
