package record

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"kickover/procedure"
)

// Errors about copies.
var (
	ErrThere    = errors.New("there is a file of that name already")
	ErrNotEmpty = errors.New("the records to be restored to are not empty")
)

// Backup writes all there is to a new file, which is a store of its own, while
// runs go on being recorded: the file holds one moment's state. It is on the disk
// when Backup returns, and never takes the place of another (ErrThere).
//
// From PostgreSQL the copy is made run by run, each whole, into SQLite too; a
// school's server has other means besides.
func (s *Store) Backup(path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(fmt.Errorf("%w: %s; name another", ErrThere, path), err)
	}
	folder, err := os.MkdirTemp(filepath.Dir(path), ".backup-")
	if err != nil {
		return classify(path, err)
	}
	defer os.RemoveAll(folder)
	made := filepath.Join(folder, "new.db")
	if err := s.copyToFile(made); err != nil {
		return fmt.Errorf("back up to %s: %w", path, err)
	}
	if err := syncFile(made); err != nil {
		return classify(path, err)
	}
	// A link, unlike a rename, never replaces.
	if err := os.Link(made, path); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("%w: %s; name another", ErrThere, path)
		}
		if err := os.Rename(made, path); err != nil { // a file system without links
			return classify(path, err)
		}
	}
	syncFolder(filepath.Dir(path))
	return nil
}

func (s *Store) copyToFile(made string) error {
	if !s.onServer() {
		// Into a new file by SQLite's own means (sqlite.org/lang_vacuum.html), from
		// one read transaction.
		return s.read(func(f *file) error {
			_, err := f.db.Exec("VACUUM INTO $1", made)
			return err
		})
	}
	to, err := Open(made)
	if err != nil {
		return err
	}
	return errors.Join(s.CopyTo(to), to.Close())
}

// onServer reports whether the store is in PostgreSQL.
func (s *Store) onServer() bool {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.file != nil && s.file.postgres
}

func syncFile(path string) error {
	fd, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(fd.Sync(), fd.Close())
}

// CopyTo stores all there is in another store as well, of whichever kind. What is
// there already is left as it is; a run that is there with another content is an
// error, and everything else is copied.
func (s *Store) CopyTo(to *Store) error {
	people, err := s.People()
	registrations, err2 := s.Registrations()
	starts, err3 := s.RealStarts(StartFilter{})
	signed, err4 := s.SignOffs("")
	if err := errors.Join(err, err2, err3, err4); err != nil {
		return err
	}
	err = to.inTransaction(func(tx *transaction) error {
		if err := tx.alone(); err != nil {
			return err
		}
		return errors.Join(
			putEach(tx, people, putPerson), putEach(tx, registrations, putRegistration),
			putEach(tx, starts, putStart), putEach(tx, signed, putSignOff))
	})
	if err != nil {
		return err
	}
	var different int
	runs := batch{commit: to.inTransaction, conflict: func(wholeRun) { different++ }}
	err = s.eachRun(Filter{}, func(l Listing, events []procedure.Event) error {
		return runs.add(wholeRun{listing: l, events: events})
	})
	if err := errors.Join(err, runs.flush()); err != nil {
		return err
	}
	if different > 0 {
		return fmt.Errorf("%d runs were not copied: %w", different, errConflict)
	}
	return nil
}

func putEach[T any](tx *transaction, list []T, put func(*transaction, T) (change, error)) error {
	for _, v := range list {
		if _, err := put(tx, v); err != nil {
			return err
		}
	}
	return nil
}

// Restore puts a backup in the place of the store at path and says under which
// name what was there is kept, empty when nothing was. The backup itself is only
// read; one that is damaged is refused before anything is moved. A program that
// has the old file open is told that it was replaced, and stores what it records
// in the new one.
//
// A path that is a DSN must name a store with nothing in it (ErrNotEmpty), since
// a database cannot be set aside from here.
func Restore(path, backup string) (aside string, err error) {
	if IsDSN(path) {
		return "", restoreToServer(path, backup)
	}
	if path, err = filepath.Abs(path); err != nil {
		return "", err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", classify(path, err)
	}
	unlock, err := lockRecovery(path)
	if err != nil {
		return "", classify(path, err)
	}
	defer unlock()
	if err := prepareRestored(path, backup); err != nil {
		return "", errors.Join(err, os.RemoveAll(recoveryFolder(path)))
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return "", placeRecovered(path)
	}
	return setAside(path, "replaced", time.Now())
}

// prepareRestored copies a backup to where a recovery leaves its result: from
// there on a kill is finished by the next one that opens the store.
func prepareRestored(path, backup string) error {
	folder := recoveryFolder(path)
	if err := os.RemoveAll(folder); err != nil {
		return classify(path, err)
	}
	if err := os.Mkdir(folder, 0o700); err != nil {
		return classify(path, err)
	}
	made := filepath.Join(folder, "new.db")
	if err := copyBackup(made, backup); err != nil {
		return err
	}
	if err := syncFile(made); err != nil {
		return classify(path, err)
	}
	return os.Rename(made, recoveredFile(path))
}

// copyBackup copies a backup, brings the copy to the present schema and reads all
// of it.
func copyBackup(made, backup string) error {
	if _, err := os.Stat(backup); err != nil {
		return fmt.Errorf("the backup cannot be read: %w", err)
	}
	for _, suffix := range []string{"", "-wal"} {
		if err := copyFile(made+suffix, backup+suffix); err != nil {
			return classify(made, err)
		}
	}
	f, err := openFile(made)
	if err == nil {
		err = errors.Join(f.check(context.Background()), f.db.Close())
	}
	switch {
	case errors.Is(err, ErrDamaged):
		return fmt.Errorf("the backup %s is damaged and was not restored, and everything is as it was; name it with --store to have what can be read recovered into a new file beside it: %w", backup, ErrDamaged)
	case errors.Is(err, ErrForeign):
		return fmt.Errorf("%s is no backup and was not restored, and everything is as it was: %w", backup, ErrForeign)
	case err != nil:
		return fmt.Errorf("the backup %s was not restored, and everything is as it was: %w", backup, err)
	}
	return nil
}

func restoreToServer(dsn, backup string) error {
	folder, err := os.MkdirTemp("", "kickover-restore-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	made := filepath.Join(folder, "new.db")
	if err := copyBackup(made, backup); err != nil {
		return err
	}
	from, err := Open(made)
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := Open(dsn)
	if err != nil {
		return err
	}
	defer to.Close()
	runs, err := to.Runs(Filter{}, Page{Limit: 1})
	people, err2 := to.People()
	if err := errors.Join(err, err2); err != nil {
		return err
	}
	if len(runs)+len(people) > 0 {
		return fmt.Errorf("%w: %s; name an empty database, or another schema of it with ?search_path=NAME", ErrNotEmpty, to.path)
	}
	return from.CopyTo(to)
}
