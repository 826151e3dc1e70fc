package record_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/record"
	"kickover/procedure/record/postgrestest"
)

// everything is a store's whole content as text.
func everything(t testing.TB, s *record.Store) string {
	t.Helper()
	var text strings.Builder
	for _, kind := range record.Kinds() {
		text.WriteString(exportKind(t, s, kind, record.JSONLines))
	}
	return text.String()
}

// A backup taken in the middle of a run is a whole store, and can be restored to
// either kind of database.
func TestBackupAndRestore(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		school(t, s)
		j := s.Journal(inventedHeader(7), record.JournalOptions{})
		if err := j.Append(inventedEvents(7, 10)...); err != nil {
			t.Fatal(err)
		}
		if err := j.Close(context.Background()); err != nil {
			t.Fatal(err)
		}
		want := everything(t, s)
		backup := filepath.Join(t.TempDir(), "backup.db")
		if err := s.Backup(backup); err != nil {
			t.Fatal(err)
		}
		content, err := os.ReadFile(backup)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Backup(backup); !errors.Is(err, record.ErrThere) {
			t.Errorf("onto a file that is there: %v, want ErrThere", err)
		}
		to := fresh()
		if aside, err := record.Restore(to, backup); err != nil || aside != "" {
			t.Fatalf("restored to nothing: set aside %q, %v", aside, err)
		}
		if got := everything(t, open(t, to)); got != want {
			t.Errorf("restored\n%s\nwant\n%s", got, want)
		}
		if after, err := os.ReadFile(backup); err != nil || !bytes.Equal(after, content) {
			t.Errorf("the backup was changed (%v)", err)
		}
		if left, err := filepath.Glob(filepath.Join(filepath.Dir(backup), ".*")); err != nil || len(left) > 0 {
			t.Errorf("left behind: %q", left)
		}
	})
}

func TestRestoreSetsAsideWhatWasThere(t *testing.T) {
	folder := t.TempDir()
	path, backup := filepath.Join(folder, "runs.db"), filepath.Join(folder, "backup.db")
	s := store(t, path, 3, 10)
	if err := s.Backup(backup); err != nil {
		t.Fatal(err)
	}
	r, err := s.Begin(inventedHeader(3)) // after the backup, and the file stays open
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Append(inventedEvents(3, 10)...); err != nil {
		t.Fatal(err)
	}
	aside, err := record.Restore(path, backup)
	if err != nil || !strings.Contains(aside, "-replaced-") {
		t.Fatalf("set aside as %q, %v", aside, err)
	}
	again := open(t, path)
	for n := range 3 {
		wantRun(t, again, n, 10)
	}
	if _, _, err := again.Run(inventedHeader(3).ID); !errors.Is(err, record.ErrNoRun) {
		t.Errorf("a run younger than the backup: %v, want ErrNoRun", err)
	}
	// The program that had the old file open goes on in the new one.
	r, err = s.Begin(inventedHeader(4))
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Append(inventedEvents(4, 10)...); err != nil {
		t.Fatal(err)
	}
	wantRun(t, again, 4, 10)
	s.Close()
	wantRun(t, open(t, aside), 3, 10)
}

func TestADamagedBackupIsNotRestored(t *testing.T) {
	folder := t.TempDir()
	path, backup := filepath.Join(folder, "runs.db"), filepath.Join(folder, "backup.db")
	s := store(t, path, 40, 60)
	if err := s.Backup(backup); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(backup)
	if err != nil {
		t.Fatal(err)
	}
	clear(content[len(content)/2 : len(content)/2+3*pageSize])
	if err := os.WriteFile(backup, content, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Restore(path, backup); !errors.Is(err, record.ErrDamaged) || !strings.Contains(err.Error(), "everything is as it was") {
		t.Errorf("%v, want ErrDamaged", err)
	}
	if _, err := record.Restore(path, filepath.Join(folder, "none.db")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a backup that is not there: %v", err)
	}
	wantRun(t, s, 39, 60)
	if left, err := filepath.Glob(path + ".*"); err != nil || len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

func TestRestoreToAServerThatHasRecordsIsRefused(t *testing.T) {
	dsn := postgrestest.DSN(t)
	school(t, open(t, dsn))
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := store(t, backup, 1, 1).Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Restore(dsn, backup); !errors.Is(err, record.ErrNotEmpty) {
		t.Errorf("%v, want ErrNotEmpty", err)
	}
}
