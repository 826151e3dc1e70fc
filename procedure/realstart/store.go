package realstart

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Store keeps starts in a CSV file to which rows are added; of the rows with the
// same id the last counts.
type Store struct {
	path    string
	mu      sync.Mutex
	starts  []Start
	notices []string
}

// Open reads the file, which need not exist. A damaged file is no error: it is
// copied aside, and [Store.Notices] says so.
func Open(path string) (*Store, error) {
	s := &Store{path: path}
	data, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		var at *os.PathError
		if errors.As(err, &at) {
			err = at.Err // where they are is nothing to a person in a cockpit
		}
		return nil, fmt.Errorf("the records of real starts cannot be read: %w; look at the file's permissions", err)
	}
	if len(data) == 0 {
		return s, nil
	}
	rows, mistakes, _ := read(bytes.NewReader(data), nil) // bytes give no error of their own
	for _, r := range rows {
		s.put(r)
	}
	if len(mistakes) > 0 || data[len(data)-1] != '\n' {
		return s, s.mendFile(data, mistakes)
	}
	return s, nil
}

// mendFile copies a damaged file aside and writes what could be read anew.
func (s *Store) mendFile(data []byte, mistakes []Mistake) error {
	aside := s.path + ".damaged-" + time.Now().UTC().Format("20060102-150405")
	if err := os.WriteFile(aside, data, 0o644); err != nil {
		return fmt.Errorf("the records of real starts are damaged and cannot be copied aside: %w; make room on the disk", err)
	}
	if err := s.rewrite(); err != nil {
		return err
	}
	if len(mistakes) > 0 {
		s.notices = append(s.notices, fmt.Sprintf("Some records of real starts could not be read (%s). The file is kept as %s.", mistakes[0], filepath.Base(aside)))
	}
	return nil
}

func (s *Store) rewrite() error {
	var b bytes.Buffer
	if err := Write(&b, s.starts); err != nil {
		return err
	}
	temp := s.path + ".new"
	if err := writeSynced(temp, os.O_TRUNC, b.Bytes()); err != nil {
		return err
	}
	return os.Rename(temp, s.path)
}

func writeSynced(path string, how int, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|how, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

// put adds a start or takes it in place of the one with its id.
func (s *Store) put(r Start) {
	for i := range s.starts {
		if s.starts[i].ID == r.ID {
			s.starts[i] = r
			return
		}
	}
	s.starts = append(s.starts, r)
}

// Notices says, in whole sentences, what was wrong with the file.
func (s *Store) Notices() []string { return s.notices }

// Keep keeps a start, in place of the one with its id if there is one. It waits
// for the disk.
func (s *Store) Keep(r Start) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if strings.TrimSpace(r.Registration) == "" {
		return errors.New("a start cannot be kept without the aircraft's registration")
	}
	if r.ID == "" {
		r.ID = NewID(r.Registration, r.At)
	}
	r = r.tidy()
	if err := s.add([]Start{r}); err != nil {
		return err
	}
	s.put(r)
	return nil
}

// add appends rows in one write.
func (s *Store) add(rows []Start) error {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	if info, err := os.Stat(s.path); err != nil || info.Size() == 0 { // or was taken away meanwhile
		out.Write(names())
	}
	for _, r := range rows {
		out.Write(row(r))
	}
	out.Flush()
	if err := os.MkdirAll(filepath.Dir(s.path), 0o755); err != nil {
		return fmt.Errorf("the start cannot be kept: %w; make room on the disk or look at the folder's permissions", err)
	}
	if err := writeSynced(s.path, os.O_APPEND, b.Bytes()); err != nil {
		return fmt.Errorf("the start cannot be kept: %w; make room on the disk", err)
	}
	return nil
}

// Starts lists every start, oldest first. The slice is the caller's.
func (s *Store) Starts() []Start {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := slices.Clone(s.starts)
	slices.SortStableFunc(out, func(a, b Start) int { return a.At.Compare(b.At) })
	return out
}

// Merged is what an import did.
type Merged struct{ Added, Changed, Same int }

// Import takes starts from CSV: all of them, or none when there is a mistake. A
// row with a known id takes its place. Now is the machine's time: what is still to
// come is a mistake, see [Read].
func (s *Store) Import(r io.Reader, now time.Time) (Merged, error) {
	rows, err := Read(r, now)
	if err != nil {
		return Merged{}, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var m Merged
	var news []Start
	for _, r := range rows {
		i := slices.IndexFunc(s.starts, func(k Start) bool { return k.ID == r.ID })
		switch {
		case i < 0:
			m.Added++
		case s.starts[i].same(r):
			m.Same++
			continue
		default:
			m.Changed++
		}
		news = append(news, r)
	}
	if len(news) > 0 {
		if err := s.add(news); err != nil {
			return Merged{}, err
		}
	}
	for _, r := range news {
		s.put(r)
	}
	return m, nil
}

// Export writes every start as CSV.
func (s *Store) Export(w io.Writer) error { return Write(w, s.Starts()) }
