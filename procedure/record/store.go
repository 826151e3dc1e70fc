package record

import (
	"errors"
	"fmt"
	"path/filepath"
	"sync"

	"github.com/adrg/xdg"
)

// InMemory in place of a path gives a store that lives as long as it is open:
// for a session whose records cannot be opened, so that its runs can still be
// looked at and exported.
const InMemory = ":memory:"

// DefaultPath is where the user's runs are kept: runs.db in this program's own
// folder under XDG_DATA_HOME, or under the platform's own data folder where that
// standard does not apply.
func DefaultPath() string {
	return filepath.Join(xdg.DataHome, "kickover", "runs.db")
}

// Store is one file of runs, or one database of a server's.
type Store struct {
	path string

	// mu is held for reading by every operation, and for writing while one file
	// is exchanged for another. It guards what follows.
	mu      sync.RWMutex
	file    *file
	notices []string
}

// Open opens the store at path, and makes it with its folder if it is not there; a
// path that is a DSN ([IsDSN]) names one in PostgreSQL. A damaged file is set aside
// and recovered from; a file that may only be read, or lies on a full disk, is opened
// for reading. [Store.Notices] tells of all three.
//
// The errors are ErrReadOnly and ErrFull when there is nothing to read and no way to
// write, ErrNewer and ErrForeign for files that are left alone, and ErrUnreachable
// where there is no connection to a server.
func Open(path string) (*Store, error) {
	if IsDSN(path) {
		f, err := openPostgres(path)
		if err != nil {
			return nil, err
		}
		return &Store{path: f.path, file: f}, nil
	}
	if path != InMemory {
		abs, err := filepath.Abs(path)
		if err != nil {
			return nil, fmt.Errorf("open records: %w", err)
		}
		path = abs
	}
	s := &Store{path: path}
	f, err := openFile(path)
	switch {
	case errors.Is(err, ErrDamaged):
		f, err = s.recover(nil)
	case errors.Is(err, ErrFull):
		if ro, roErr := openOnFullDisk(path); roErr == nil {
			s.notices = append(s.notices, (&fault{ErrFull, path, nil}).Sentence())
			f, err = ro, nil
		}
	case errors.Is(err, ErrReadOnly):
		if ro, roErr := openReadOnly(path); roErr == nil {
			s.notices = append(s.notices, (&fault{ErrReadOnly, path, nil}).Sentence())
			f, err = ro, nil
		} else if kindOf(roErr) == ErrReadOnly {
			err = &fault{ErrNoAccess, path, roErr}
		}
	}
	if err != nil {
		return nil, err
	}
	s.file = f
	return s, nil
}

// Path is the file's absolute path, InMemory, or for a server's database words
// that name it without its password.
func (s *Store) Path() string { return s.path }

// ReadOnly reports whether runs can only be read for now. A Journal still takes
// a run and writes it if the file becomes writable.
func (s *Store) ReadOnly() bool {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.file != nil && s.file.readOnly
}

// Notices are the sentences a person should be told about the file since it was
// opened, oldest first: that it was damaged and recovered, replaced, or may only
// be read.
func (s *Store) Notices() []string {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return append([]string(nil), s.notices...)
}

// Close closes the file. Close every Journal first.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.file == nil {
		return nil
	}
	err := s.file.db.Close()
	s.file = nil
	return err
}

// read runs fn on the file. When the file turns out to be damaged it is set
// aside and recovered, and fn runs once more on what was recovered.
func (s *Store) read(fn func(*file) error) error {
	f, err := s.try(fn)
	if !errors.Is(err, ErrDamaged) {
		return err
	}
	if err := s.exchange(f, err); err != nil {
		return err
	}
	_, err = s.try(fn)
	return err
}

// write is read for what changes the file: it also sees to it that the file is
// still where it was opened, so that what it confirms can be found again.
func (s *Store) write(fn func(*file) error) error {
	if s.ReadOnly() {
		if err := s.reopenWritable(); err != nil {
			return err
		}
	}
	kept := func(f *file) error {
		if err := fn(f); err != nil {
			return err
		}
		return f.present()
	}
	f, err := s.try(kept)
	if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrLost) {
		return err
	}
	if err := s.exchange(f, err); err != nil {
		return err
	}
	_, err = s.try(kept)
	return err
}

func (s *Store) try(fn func(*file) error) (*file, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	switch {
	case s.file == nil:
		return nil, ErrClosed
	case s.file.gone:
		return s.file, &fault{kind: ErrLost, path: s.path}
	}
	return s.file, s.file.classify(fn(s.file))
}

// exchange replaces a file that failed, unless somebody else already has. When
// nothing can take its place the store stays without a file, every operation
// fails as ErrLost, and the next write tries again.
func (s *Store) exchange(failed *file, why error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.file != failed || s.path == InMemory || failed.postgres {
		return nil
	}
	again := failed.gone
	failed.gone = true
	failed.db.Close()
	var next *file
	var err error
	if errors.Is(why, ErrDamaged) {
		next, err = s.recover(failed)
	} else if next, err = openFile(s.path); errors.Is(err, ErrDamaged) {
		next, err = s.recover(nil)
	}
	if err != nil {
		return errors.Join(why, err)
	}
	if errors.Is(why, ErrLost) && !again {
		s.notices = append(s.notices, fmt.Sprintf(
			"The record file %s was removed or replaced while it was in use; the run in progress is stored in the one that is there now.", s.path))
	}
	s.file = next
	return nil
}

func (s *Store) reopenWritable() error {
	if taken, err := s.reopenAlone(); taken {
		return err
	}
	f, err := openFile(s.path)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.file == nil {
		f.db.Close()
		return ErrClosed
	}
	s.file.db.Close()
	s.file = f
	return nil
}

// reopenAlone is reopenWritable for a file that this store has to itself, which must
// be closed first; any other is not taken.
func (s *Store) reopenAlone() (taken bool, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.file == nil || !s.file.alone {
		return false, nil
	}
	s.file.db.Close()
	f, err := openFile(s.path)
	if err != nil {
		var again error
		if f, again = openOnFullDisk(s.path); again != nil {
			s.file.gone = true
			return true, errors.Join(err, again)
		}
	}
	s.file = f
	return true, err
}
