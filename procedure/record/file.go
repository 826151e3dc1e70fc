package record

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"unicode/utf8"

	"modernc.org/sqlite"
)

// file is one opened database.
type file struct {
	db       *sql.DB
	path     string
	readOnly bool
	alone    bool // nobody else can open it meanwhile
	postgres bool
	gone     bool // closed after it was lost, and nothing could take its place

	// What path and its log named when they were opened.
	opened, log fs.FileInfo
}

// onceForProcess sets what SQLite keeps for a whole process, before its first
// file is opened. Locks that belong to the open file survive somebody else in
// the process closing the same file; and fdatasync commits as surely as fsync
// with less to write. Where the platform has neither, the defaults stand.
var onceForProcess = sync.OnceFunc(func() {
	_, _ = sqlite.OFDLocking(true)
	_, _ = sqlite.Fdatasync(true)
})

// openFile opens path for writing, makes it if need be, and brings it to the
// present schema. Its errors are classified.
func openFile(path string) (*file, error) {
	onceForProcess()
	if path != InMemory {
		if err := prepareFile(path); err != nil {
			return nil, classify(path, err)
		}
	}
	f, err := connect(path, forWriting)
	if err != nil {
		return nil, classify(path, err)
	}
	if err := f.settle(); err != nil {
		f.db.Close()
		return nil, classify(path, err)
	}
	return f, nil
}

func openReadOnly(path string) (*file, error) {
	if err := refuseForeign(path); err != nil {
		return nil, err
	}
	return openPresent(path, asItLies)
}

// openOnFullDisk opens path for reading where there is no room for the index that
// SQLite keeps of a log. Without a log the file is all there is; else the index is
// kept in memory, which SQLite does for whoever has the file to itself.
func openOnFullDisk(path string) (*file, error) {
	if err := refuseForeign(path); err != nil {
		return nil, err
	}
	if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 {
		return openPresent(path, byItself)
	}
	return openPresent(path, asItLies)
}

// openPresent opens a file for reading as it is.
func openPresent(path string, how access) (*file, error) {
	f, err := connect(path, how)
	if err != nil {
		return nil, err
	}
	if err := f.requirePresentSchema(); err != nil {
		f.db.Close()
		return nil, err
	}
	return f, nil
}

// prepareFile makes the folder and an empty file that only its owner can read,
// and refuses what SQLite would take for an empty or foreign file.
func prepareFile(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if err := placeRecovered(path); err != nil {
		return err
	}
	made := false
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		made = true
	case err == nil && info.IsDir():
		return &fault{ErrForeign, path, errors.New("it is a folder")}
	case err == nil && !info.Mode().IsRegular():
		return &fault{ErrForeign, path, errors.New("it is a device")}
	}
	fd, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	if err := fd.Close(); err != nil {
		return err
	}
	if made {
		syncFolder(filepath.Dir(path))
	}
	return refuseForeign(path)
}

// syncFolder makes a new file's name durable. Systems that cannot sync a folder
// need no such call.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// refuseForeign looks at the first bytes of a file. One that does not begin as
// a database does is somebody's text, which is left alone, or a damaged store.
// An empty file beside a log that is not lost its contents: SQLite would
// silently drop the log and begin anew.
//
// This is looked at before SQLite opens the file, since opening it in the way a
// store needs would already change it.
func refuseForeign(path string) error {
	fd, err := os.Open(path)
	if err != nil {
		return err
	}
	defer fd.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(fd, head)
	if err != nil && n == 0 && !errors.Is(err, io.EOF) {
		return err
	}
	head = head[:n]
	if n == 0 {
		if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 {
			return &fault{ErrDamaged, path, errors.New("the file is empty but its log is not")}
		}
		return nil
	}
	// Offsets from sqlite.org/fileformat.html, "The Database Header". A new store
	// that was killed has a first page without our mark, and nothing else.
	if strings.HasPrefix(string(head), "SQLite format 3\x00") && n == len(head) {
		mark := binary.BigEndian.Uint32(head[68:])
		version := binary.BigEndian.Uint32(head[60:])
		switch info, err := fd.Stat(); {
		case err != nil:
			return err
		case mark != applicationID && (mark != 0 || info.Size() > 4096):
			return &fault{kind: ErrForeign, path: path}
		case int(version) > len(migrationNames()):
			return &fault{kind: ErrNewer, path: path}
		}
		return nil
	}
	if utf8.Valid(head[:n-n%4]) && !strings.ContainsRune(string(head), 0) {
		return &fault{ErrForeign, path, errors.New("it is text")}
	}
	return &fault{ErrDamaged, path, errors.New("it does not begin as a database does")}
}

// access is how a file is opened.
type access int

const (
	forWriting access = iota
	asItLies          // for reading, whatever is in its log
	byItself          // for reading with its log, by nobody else meanwhile
)

// connect opens the database without touching it yet. A log that is synced at
// each commit survives a kill and a loss of power; deleted rows are overwritten,
// since a person may ask that their runs be gone for good.
func connect(path string, how access) (*file, error) {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)", "fullfsync(ON)",
		"checkpoint_fullfsync(ON)", "secure_delete(ON)", "cell_size_check(ON)",
	}}
	switch how {
	case asItLies:
		// Immutable, since a log's index cannot be made in such a folder.
		q = url.Values{"mode": {"ro"}, "immutable": {"1"}}
	case byItself:
		// Not "ro", with which a file cannot be locked (sqlite.org/wal.html, "Use of
		// WAL Without Shared-Memory").
		q = url.Values{"_pragma": {"busy_timeout(5000)", "locking_mode(EXCLUSIVE)", "query_only(ON)"}}
	}
	name := path
	if path != InMemory {
		slashed := filepath.ToSlash(path)
		if !strings.HasPrefix(slashed, "/") {
			slashed = "/" + slashed // a drive letter
		}
		name = "file://" + (&url.URL{Path: slashed}).EscapedPath()
	}
	db, err := sql.Open("sqlite", name+"?"+q.Encode())
	if err != nil {
		return nil, err
	}
	conns := 4
	if path == InMemory || how == byItself {
		conns = 1 // each connection would be a database of its own, or be locked out
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns) // the log's identity lasts while one is open
	return &file{db: db, path: path, readOnly: how != forWriting, alone: how == byItself}, nil
}

// settle migrates the database, looks it over, and notes which files it is.
func (f *file) settle() error {
	if err := f.migrate(); err != nil {
		return err
	}
	if f.path == InMemory {
		return nil
	}
	var err error
	if f.opened, err = os.Stat(f.path); err != nil {
		return err
	}
	if f.log, err = os.Stat(f.path + "-wal"); err != nil {
		return err
	}
	if f.opened.Size() <= checkedAtOpen {
		return f.check(context.Background())
	}
	return nil
}

// checkedAtOpen is how large a file may be to be checked page by page each time
// it is opened: some 400 runs of 40 events. A check reads every page and every
// entry of an index, so that its cost grows with the file, and is paid at each
// start of the program: about 5 ms at this size (BenchmarkOpenChecked). A larger
// file is checked by [Store.Check], and wherever it is read.
const checkedAtOpen = 2 << 20

// check reads every page. It returns ErrDamaged with what SQLite found.
func (f *file) check(ctx context.Context) error {
	if f.postgres {
		return f.db.PingContext(ctx) // the server looks after its own files
	}
	var found string
	if err := f.db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return &fault{ErrDamaged, f.path, errors.New(found)}
	}
	return nil
}

// present reports ErrLost when path or its log no longer names what was opened:
// a commit would go to a file that nobody can find.
func (f *file) present() error {
	if f.path == InMemory || f.postgres {
		return nil
	}
	if f.gone {
		return &fault{kind: ErrLost, path: f.path}
	}
	for name, was := range map[string]fs.FileInfo{f.path: f.opened, f.path + "-wal": f.log} {
		now, err := os.Stat(name)
		if err != nil || !os.SameFile(was, now) {
			return &fault{ErrLost, f.path, err}
		}
	}
	return nil
}
