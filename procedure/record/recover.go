package record

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"kickover/procedure"
)

// A damaged file is recovered from in steps that a kill may interrupt anywhere:
// a copy is read into a new file in a folder beside it; the damaged file is
// renamed, its log first, since a log that lies beside another database would be
// played into it; then the new file takes its place. openFile finishes the last
// step if it finds it undone.

// recoveryFolder is where a recovery works.
func recoveryFolder(path string) string { return path + ".recovering" }

// recoveredFile is the finished result of a recovery that has yet to take its
// place.
func recoveredFile(path string) string { return filepath.Join(recoveryFolder(path), "recovered.db") }

// tally is what a recovery found.
type tally struct {
	runs    int // recovered
	short   int // of them, perhaps without their last events
	missing int // known of, but not readable
}

func (t tally) String() string {
	text := fmt.Sprintf("%d runs were recovered", t.runs)
	if t.short > 0 {
		text += fmt.Sprintf(", %d of them perhaps without their last events", t.short)
	}
	if t.missing > 0 {
		text += fmt.Sprintf(", and %d could not be read", t.missing)
	}
	return text
}

// recover sets the damaged file aside and gives the one that takes its place.
// failed is the file that was found damaged while it was in use, closed by now,
// or nil when it could not be opened. It wants mu held.
func (s *Store) recover(failed *file) (*file, error) {
	unlock, err := lockRecovery(s.path)
	if err != nil {
		return nil, classify(s.path, err)
	}
	defer unlock()
	if other, err := recoveredByOther(s.path, failed); other != nil || err != nil {
		return other, err
	}
	found, err := salvage(s.path)
	if err != nil {
		return nil, classify(s.path, fmt.Errorf("recover the records: %w", err))
	}
	aside, err := setAside(s.path, "damaged", time.Now())
	if err != nil {
		return nil, classify(s.path, err)
	}
	f, err := openFile(s.path)
	if err == nil {
		s.notices = append(s.notices, fmt.Sprintf(
			"The record file was damaged: it was set aside as %s, %s, and everything works on in a new file.", aside, found))
	}
	return f, err
}

// recoveredByOther looks, under the lock, whether another program has recovered
// the file meanwhile.
func recoveredByOther(path string, failed *file) (*file, error) {
	if failed != nil {
		if now, err := os.Stat(path); err == nil && os.SameFile(now, failed.opened) {
			return nil, nil
		}
	}
	f, err := openFile(path)
	if errors.Is(err, ErrDamaged) {
		return nil, nil
	}
	return f, err
}

// lockRecovery lets one program at a time recover a file. The lock is SQLite's
// own on a file of its own, so that a kill releases it.
func lockRecovery(path string) (unlock func(), err error) {
	onceForProcess()
	name := path + ".lock"
	f, err := connect(name, forWriting)
	if err != nil {
		return nil, err
	}
	tx, err := f.db.Begin() // immediate: it takes the lock
	if err != nil {
		f.db.Close()
		return nil, err
	}
	return func() {
		tx.Rollback()
		f.db.Close()
		os.Remove(name)
	}, nil
}

// setAside renames a file and its log, with the reason and the date in their name,
// and puts the recovered one in its place. It gives the new name.
func setAside(path, why string, now time.Time) (aside string, err error) {
	ext := filepath.Ext(path)
	stem := path[:len(path)-len(ext)] + "-" + why + "-" + now.UTC().Format("20060102T150405Z")
	aside = stem + ext
	for n := 2; ; n++ {
		if _, err := os.Stat(aside); errors.Is(err, fs.ErrNotExist) {
			break
		}
		aside = fmt.Sprintf("%s-%d%s", stem, n, ext)
	}
	if err := os.Rename(path+"-wal", aside+"-wal"); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	// The log's index is made anew from the log.
	if err := os.Remove(path + "-shm"); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	if err := os.Rename(path, aside); err != nil {
		return "", err
	}
	return aside, placeRecovered(path)
}

// placeRecovered puts a recovered file where it belongs, if there is one and
// nothing is in its place.
func placeRecovered(path string) error {
	if _, err := os.Stat(recoveredFile(path)); err != nil {
		return nil
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err := os.Rename(recoveredFile(path), path); err != nil {
		return err
	}
	syncFolder(filepath.Dir(path))
	return os.RemoveAll(recoveryFolder(path))
}

// salvage reads what can be read of a damaged file, from a copy, into
// recoveredFile.
func salvage(path string) (tally, error) {
	folder := recoveryFolder(path)
	if err := os.RemoveAll(folder); err != nil {
		return tally{}, err
	}
	if err := os.Mkdir(folder, 0o700); err != nil {
		return tally{}, err
	}
	into, err := openFile(filepath.Join(folder, "new.db"))
	if err != nil {
		return tally{}, err
	}
	found, err := salvageInto(into, path, filepath.Join(folder, "copy.db"))
	if err := errors.Join(err, into.db.Close()); err != nil {
		return tally{}, errors.Join(err, os.RemoveAll(folder))
	}
	return found, os.Rename(into.path, recoveredFile(path))
}

func salvageInto(into *file, path, copied string) (tally, error) {
	for _, suffix := range []string{"", "-wal"} {
		if err := copyFile(copied+suffix, path+suffix); err != nil {
			return tally{}, err
		}
	}
	from, err := openDamaged(copied)
	if err != nil {
		// Its tables cannot be reached; its rows may still be found in its pages.
		if from, err = openFile(InMemory); err != nil {
			return tally{}, err
		}
	}
	defer from.db.Close()
	// What only the log holds is to be found in the pages too, as far as it can
	// be played.
	_, _ = from.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	pages, err := collectPages(copied)
	if err != nil {
		return tally{}, err
	}
	defer pages.db.Close()

	var found tally
	batch := batch{commit: into.inTransaction, conflict: func(wholeRun) { found.missing++ }}
	for _, key := range runKeys(from, pages) {
		l, events, whole := from.salvageRun(key)
		header, more, _ := pages.salvageRun(key)
		if l.Header.ID == "" {
			l = header
		}
		if len(more) > len(events) {
			events, whole = more, false
		}
		if l.Header.ID == "" {
			found.missing++
			continue
		}
		if !whole && !ended(events) {
			found.short++
		}
		if err := batch.add(wholeRun{listing: l, events: events}); err != nil {
			return tally{}, err
		}
	}
	err = batch.flush()
	found.runs = batch.tally.runs
	for _, table := range smallTables {
		for _, damaged := range []*file{from, pages} {
			err = errors.Join(err, damaged.salvageTable(table, into))
		}
	}
	return found, err
}

// smallTables are those beside runs and events.
var smallTables = []string{"people", "registrations", "real_starts", "sign_offs"}

// salvageTable copies the rows of a table that can be read and are not there yet.
func (f *file) salvageTable(table string, into *file) error {
	rows, err := f.db.Query("SELECT * FROM " + table)
	if err != nil {
		return nil // as one of schema 1, which has no such table
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil
	}
	return into.inTransaction(func(tx *transaction) error {
		values, pointers := make([]any, len(columns)), make([]any, len(columns))
		for i := range values {
			pointers[i] = &values[i]
		}
		for rows.Next() && rows.Scan(pointers...) == nil {
			_, err := tx.Exec("INSERT INTO "+table+" VALUES ("+places(len(columns))+") ON CONFLICT DO NOTHING", values...)
			if err != nil && kindOf(err) != nil {
				return err
			}
		}
		return nil
	})
}

// collectPages reads a damaged copy page by page into a store beside it.
func collectPages(copied string) (*file, error) {
	pages, err := openFile(copied + "-pages")
	if err != nil {
		return nil, err
	}
	if err := collectRows(copied, pages); err != nil {
		pages.db.Close()
		return nil, err
	}
	return pages, nil
}

// ended reports whether the events are surely all there are.
func ended(events []procedure.Event) bool {
	return len(events) > 0 && events[len(events)-1].Kind == procedure.EventEnd
}

// openDamaged opens a copy as it is; where even its first page cannot be read,
// with the first page of a new store in its place. That page holds the list of
// tables and where each begins, and is the same in every store that began with the
// present schema; in one that was brought to it the tables may begin elsewhere,
// and then its rows are found page by page.
func openDamaged(path string) (*file, error) {
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		if f, err := openAsItIs(path); err == nil {
			return f, nil
		}
	}
	if err := graftFirstPage(path); err != nil {
		return nil, err
	}
	return openAsItIs(path)
}

func openAsItIs(path string) (*file, error) {
	f, err := connect(path, forWriting)
	if err != nil {
		return nil, err
	}
	version, err := f.schema()
	if err != nil {
		f.db.Close()
		return nil, err
	}
	if version == 1 {
		// A whole migration would read the damaged pages; this only changes the
		// list of tables.
		for _, column := range []string{"person TEXT", "running INTEGER", "steps BLOB"} {
			_, _ = f.db.Exec("ALTER TABLE runs ADD COLUMN " + column)
		}
	}
	return f, nil
}

func graftFirstPage(path string) error {
	template := path + "-template"
	f, err := openFile(template)
	if err != nil {
		return err
	}
	if err := f.db.Close(); err != nil {
		return err
	}
	page, err := os.ReadFile(template)
	if err != nil {
		return err
	}
	// Offsets from sqlite.org/fileformat.html, "The Database Header".
	size := int(binary.BigEndian.Uint16(page[16:]))
	page = page[:size]
	fd, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer fd.Close()
	info, err := fd.Stat()
	if err != nil {
		return err
	}
	binary.BigEndian.PutUint32(page[28:], uint32(max(1, info.Size()/int64(size))))
	_, err = fd.WriteAt(page, 0)
	return err
}

// runKeys are the keys of all runs that anything in the files tells of: the
// table and an index of it, and the events, each from both ends.
func runKeys(files ...*file) []int64 {
	seen := map[int64]bool{}
	for _, f := range files {
		for _, order := range []string{"ASC", "DESC"} {
			f.addKeys(seen, "SELECT key FROM runs ORDER BY key "+order)
			f.addKeys(seen, "SELECT key FROM runs INDEXED BY runs_by_start ORDER BY started "+order)
			f.addKeys(seen, fmt.Sprintf("SELECT place >> %d FROM events ORDER BY place %s", seqBits, order))
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

// addKeys adds what a query gives before it meets damage.
func (f *file) addKeys(seen map[int64]bool, query string) {
	rows, err := f.db.Query(query)
	if err != nil {
		return
	}
	defer rows.Close()
	for rows.Next() {
		var key int64
		if rows.Scan(&key) == nil {
			seen[key] = true
		}
	}
}

// salvageRun reads what it can of a run. The header is empty when it is
// unreadable; whole is false when the events may not be all there are.
func (f *file) salvageRun(key int64) (l Listing, events []procedure.Event, whole bool) {
	l, headerErr := readListing(f.db, key)
	events, err := readEvents(f.db, key)
	return l, events, headerErr == nil && err == nil
}

// copyFile copies a file that need not be there.
func copyFile(to, from string) error {
	in, err := os.Open(from)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}
