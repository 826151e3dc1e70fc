package record_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"kickover/procedure/record"
)

// A run that was cut off from its store half way is set aside whole, and comes
// into the records once, with what was stored of it.
func TestWhatIsSetAsideComesIntoTheRecords(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		path, folder := fresh(), filepath.Join(t.TempDir(), "waiting")
		s := open(t, path)
		r, err := s.Begin(inventedHeader(0))
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Append(inventedEvents(0, 30)...); err != nil {
			t.Fatal(err)
		}
		for n := range 2 {
			l := record.Listing{Header: inventedHeader(n), Finished: true, Summary: inventedSummary}
			for range 2 { // again, as when it was closed twice
				if _, err := record.SetAside(folder, l, inventedEvents(n, 80)); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := s.TakeAside(folder); err != nil {
			t.Fatal(err)
		}
		wantRun(t, s, 0, 80)
		wantRun(t, s, 1, 80)
		if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
			t.Errorf("%d files are left, %v", len(left), err)
		}
		if n := s.Notices(); len(n) != 1 || !strings.Contains(n[0], "in the records now") {
			t.Errorf("notices %q", n)
		}
		if err := s.TakeAside(folder); err != nil || len(s.Notices()) != 1 {
			t.Errorf("with nothing there: %v, %q", err, s.Notices())
		}
	})
}

func TestWhatIsSetAsideAndMakesNoSenseStays(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "RUN.jsonl")
	if err := os.WriteFile(name, []byte("{\"kickover_run\":1,\"id\":\"short\"}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s := open(t, filepath.Join(t.TempDir(), "runs.db"))
	if err := s.TakeAside(folder); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(name); err != nil || !slices.ContainsFunc(s.Notices(), func(n string) bool { return strings.Contains(n, name) }) {
		t.Errorf("%v, notices %q: want the file left, and named", err, s.Notices())
	}
}

// Runs wait for one store each, whichever way it is named, and its password is
// nowhere in the folder's name.
func TestAsideFolderIsOneStores(t *testing.T) {
	same := [][2]string{
		{"postgres://a:secret@h/d", "postgresql://b@h:5432/d?search_path=kickover"},
		{"runs.db", "./runs.db"},
	}
	for _, s := range same {
		if record.AsideFolder(s[0]) != record.AsideFolder(s[1]) {
			t.Errorf("%s and %s are one store", s[0], s[1])
		}
	}
	all := map[string]bool{}
	for _, s := range []string{"postgres://h/d", "postgres://h/e", "postgres://g/d", "postgres://h/d?search_path=x", "runs.db", "/runs.db"} {
		all[record.AsideFolder(s)] = true
	}
	if len(all) != 6 {
		t.Errorf("6 stores have %d folders", len(all))
	}
}
