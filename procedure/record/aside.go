package record

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/adrg/xdg"
	"github.com/jackc/pgx/v5"

	"kickover/procedure"
)

// A run that a store did not take by the time the program ends is set aside: kept
// in a file of its own on this machine, until the store of that name takes it.

// AsideFolder is where runs wait for the store of a name: a folder each, so that
// none comes into another's records.
func AsideFolder(store string) string {
	sum := sha256.Sum256([]byte(identity(store)))
	return filepath.Join(xdg.DataHome, "kickover", "waiting", hex.EncodeToString(sum[:8]))
}

// identity is the same text for all names of a store, and holds no password.
func identity(store string) string {
	if !IsDSN(store) {
		if abs, err := filepath.Abs(store); err == nil {
			return abs
		}
		return store
	}
	c, err := pgx.ParseConfig(store)
	if err != nil {
		return store // it cannot be opened either
	}
	return fmt.Sprintf("%s:%d/%s/%s", c.Host, c.Port, c.Database, schemaOfDSN(c))
}

// SetAside keeps a run in a file of a folder, as JSON Lines, and gives its name;
// when it returns, the file is on the disk. The same run again takes the place of
// the one before.
func SetAside(folder string, l Listing, events []procedure.Event) (name string, err error) {
	l.Header = l.Header.prepared()
	name = filepath.Join(folder, filepath.Base(l.Header.ID)+".jsonl")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	half, err := os.CreateTemp(folder, "half")
	if err != nil {
		return "", err
	}
	err = WriteRun(half, l, events)
	if err = errors.Join(err, half.Sync(), half.Close()); err == nil {
		err = os.Rename(half.Name(), name)
	}
	if err != nil {
		return "", errors.Join(err, os.Remove(half.Name()))
	}
	syncFolder(folder)
	return name, nil
}

// TakeAside stores the runs that were set aside in a folder and removes their
// files; [Store.Notices] says how many. A file that makes no sense is left and
// named there. The error is of reading or storing, and what is left is tried again
// the next time.
func (s *Store) TakeAside(folder string) error {
	files, err := filepath.Glob(filepath.Join(folder, "*.jsonl"))
	if err != nil {
		return err
	}
	slices.Sort(files)
	taken := 0
	for _, name := range files {
		added, refused, err := s.takeFile(name)
		switch {
		case errors.Is(err, fs.ErrNotExist): // another program has taken it
		case err != nil:
			return err
		case refused:
			s.notice(fmt.Sprintf("A run that could not be stored before is in %s, and still cannot be: 'kickover records import' says why.", name))
		default:
			taken += added
		}
	}
	switch {
	case taken == 1:
		s.notice("A run that could not be stored before is in the records now.")
	case taken > 1:
		s.notice(fmt.Sprintf("%d runs that could not be stored before are in the records now.", taken))
	}
	return nil
}

// takeFile imports a file and removes it when nothing in it was refused.
func (s *Store) takeFile(name string) (added int, refused bool, err error) {
	file, err := os.Open(name)
	if err != nil {
		return 0, false, err
	}
	defer file.Close()
	in, err := s.Import(file)
	if err != nil || len(in.Problems) > 0 {
		return in.Added, len(in.Problems) > 0, err
	}
	return in.Added, false, os.Remove(name)
}

func (s *Store) notice(sentence string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.notices = append(s.notices, sentence)
}
