package record_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/record"
)

const pageSize = 4096 // SQLite's default, sqlite.org/pragma.html#pragma_page_size

// damagedStore stores runs, closes the store, damages its file, and gives what
// is then in it.
func damagedStore(t *testing.T, path string, runs int, damage func(content []byte) []byte) []byte {
	t.Helper()
	if err := store(t, path, runs, 60).Close(); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	content = damage(content)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return content
}

// wantSetAside asserts that exactly one file was set aside, with the content it
// had.
func wantSetAside(t *testing.T, path string, content []byte) {
	t.Helper()
	aside, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*-damaged-*.db"))
	if err != nil || len(aside) != 1 {
		t.Fatalf("set aside: %q, %v; want one file", aside, err)
	}
	kept, err := os.ReadFile(aside[0])
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(kept, content) {
		t.Error("the damaged file was changed")
	}
	leftovers, err := filepath.Glob(path + ".*")
	if err != nil || len(leftovers) > 0 {
		t.Errorf("left behind: %q, %v", leftovers, err)
	}
}

// wantWhatIsThereIsRight asserts that each run which is listed is one that was
// stored, its events exactly those or the first of them, and gives how many have
// all.
func wantWhatIsThereIsRight(t *testing.T, s *record.Store, runs int) (whole int) {
	t.Helper()
	listed := 0
	for n := range runs {
		_, events, err := s.Run(inventedHeader(n).ID)
		if errors.Is(err, record.ErrNoRun) {
			continue
		}
		wantRun(t, s, n, len(events))
		listed++
		if len(events) == 60 {
			whole++
		}
	}
	all, err := s.Runs(record.Filter{}, record.Page{Limit: runs + 1})
	if err != nil || len(all) != listed {
		t.Errorf("%d runs are listed, %v; %d of those that were stored are there", len(all), err, listed)
	}
	return whole
}

func TestAFirstPageThatIsLostCostsNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	content := damagedStore(t, path, 30, func(content []byte) []byte {
		clear(content[:pageSize])
		return content
	})
	s := open(t, path)
	for n := range 30 {
		wantRun(t, s, n, 60)
	}
	wantSetAside(t, path, content)
	notices := s.Notices()
	if len(notices) != 1 || !strings.Contains(notices[0], "damaged") || !strings.Contains(notices[0], "30 runs were recovered") {
		t.Errorf("notices %q, want one sentence that says what was done", notices)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if notices := open(t, path).Notices(); len(notices) > 0 {
		t.Errorf("opened again: %q", notices)
	}
}

func TestAFileCutShortGivesItsBeginning(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	content := damagedStore(t, path, 100, func(content []byte) []byte { return content[:len(content)*3/4] })
	s := open(t, path)
	if whole := wantWhatIsThereIsRight(t, s, 100); whole < 50 {
		t.Errorf("%d of 100 runs were recovered whole from three quarters of the file", whole)
	}
	wantSetAside(t, path, content)
}

func TestDamagedPages(t *testing.T) {
	sound := damagedStore(t, filepath.Join(t.TempDir(), "runs.db"), 40, func(content []byte) []byte { return content })
	for seed := range uint64(25) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			random := rand.New(rand.NewPCG(seed, 1))
			path := filepath.Join(t.TempDir(), "runs.db")
			content := bytes.Clone(sound)
			for range 1 + random.IntN(4) {
				at := random.IntN(len(content) - 600)
				for i := range 1 + random.IntN(600) {
					content[at+i] = byte(random.Uint32())
				}
			}
			if err := os.WriteFile(path, content, 0o600); err != nil {
				t.Fatal(err)
			}
			s, err := record.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			if len(s.Notices()) == 0 {
				// The damage lay inside a value or in unused room, where SQLite
				// keeps no check of its own.
				return
			}
			wantSetAside(t, path, content)
			if list, err := s.Runs(record.Filter{}, record.Page{}); err != nil {
				t.Errorf("%d runs, %v", len(list), err)
			}
		})
	}
}

// A file too large to be checked each time it is opened is found to be damaged
// when what is damaged is read.
func TestDamageFoundInUse(t *testing.T) {
	const runs = 700
	path := filepath.Join(t.TempDir(), "runs.db")
	content := damagedStore(t, path, runs, func(content []byte) []byte {
		if len(content) <= 2<<20 {
			t.Fatalf("the file has only %d bytes", len(content))
		}
		clear(content[len(content)/2 : len(content)/2+pageSize])
		return content
	})
	s := open(t, path)
	if notices := s.Notices(); len(notices) > 0 {
		t.Fatalf("found at once: %q", notices)
	}
	if whole := wantWhatIsThereIsRight(t, s, runs); whole < runs-5 {
		t.Errorf("%d of %d runs were recovered whole after one page was lost", whole, runs)
	}
	wantSetAside(t, path, content)
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestCheckFindsAndRecovers(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	content := damagedStore(t, path, 700, func(content []byte) []byte {
		clear(content[len(content)/2 : len(content)/2+pageSize])
		return content
	})
	s := open(t, path)
	if err := s.Check(t.Context()); err != nil {
		t.Fatal(err)
	}
	wantSetAside(t, path, content)
	if notices := s.Notices(); len(notices) != 1 {
		t.Errorf("notices %q, want one", notices)
	}
}

// The database is deleted but its log is left behind: SQLite would drop the log.
func TestALogWithoutItsDatabaseIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	s := store(t, path, 3, 60)
	log, err := os.ReadFile(path + "-wal") // nothing was folded into the database yet
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path+"-wal", log, 0o600); err != nil {
		t.Fatal(err)
	}
	again := open(t, path)
	for n := range 3 {
		wantRun(t, again, n, 60)
	}
}

// A kill between the last two steps of a recovery.
func TestAnInterruptedRecoveryIsFinished(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "runs.db")
	working := path + ".recovering"
	if err := os.Mkdir(working, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := store(t, filepath.Join(working, "recovered.db"), 3, 10).Close(); err != nil {
		t.Fatal(err)
	}
	s := open(t, path)
	for n := range 3 {
		wantRun(t, s, n, 10)
	}
	if _, err := os.Stat(working); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the folder of the recovery is still there: %v", err)
	}
}

func TestFilesThatAreNotOursAreLeftAlone(t *testing.T) {
	database := func(statements string) func(t *testing.T, path string) {
		return func(t *testing.T, path string) {
			db, err := sql.Open("sqlite", path)
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			if _, err := db.Exec(statements); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, c := range []struct {
		name string
		make func(t *testing.T, path string)
		want error
	}{
		{"another program's database", database("CREATE TABLE recipes (name TEXT)"), record.ErrForeign},
		{"another program's mark", database("PRAGMA application_id = 7; CREATE TABLE runs (id TEXT)"), record.ErrForeign},
		{"a newer version's", database("PRAGMA application_id = 0x4b69636b; PRAGMA user_version = 99; CREATE TABLE runs (id TEXT)"), record.ErrNewer},
		{"a text", func(t *testing.T, path string) {
			if err := os.WriteFile(path, []byte("Dear diary,\ntoday it färed well.\n"), 0o600); err != nil {
				t.Fatal(err)
			}
		}, record.ErrForeign},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "runs.db")
			c.make(t, path)
			before, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := record.Open(path); !errors.Is(err, c.want) || !strings.Contains(err.Error(), "name another file") {
				t.Errorf("%v, want %v and what to do", err, c.want)
			}
			if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
				t.Errorf("the file was changed (%v)", err)
			}
		})
	}
}
