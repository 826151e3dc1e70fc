package record_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/record"
)

// storedFile copies a file that an earlier release wrote, and gives the copy's
// path and what was exported from it then.
func storedFile(t *testing.T, name string, change func([]byte)) (path, exported string) {
	t.Helper()
	content, err := os.ReadFile("../../testdata/record/" + name + ".db")
	if err != nil {
		t.Fatal(err)
	}
	change(content)
	path = filepath.Join(t.TempDir(), "runs.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../testdata/record/" + name + ".jsonl")
	if err != nil {
		t.Fatal(err)
	}
	return path, string(text)
}

// A file that an earlier release wrote must open in every later one.
func TestStoresOfEarlierSchemasOpen(t *testing.T) {
	path, want := storedFile(t, "schema-1", func([]byte) {})
	s := open(t, path)
	if got := exportKind(t, s, record.KindRuns, record.JSONLines); got != want {
		t.Errorf("schema 1:\n got %s\nwant %s", got, want)
	}
	// Everything new can be stored in it.
	student, err := s.AddPerson(record.Person{Name: "Imke", Role: record.Student})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.Assign(inventedHeader(0).ID, student.ID), s.Summarise(inventedHeader(0).ID, inventedSummary)); err != nil {
		t.Fatal(err)
	}
	if history, err := s.History(student.ID, record.Filter{}); err != nil || len(history) != 1 || len(history[0].Summary.Steps) != 2 {
		t.Errorf("history %+v, %v; want the run with its steps", history, err)
	}
	path, want = storedFile(t, "schema-2", func([]byte) {})
	s2 := open(t, path)
	if got := everything(t, s2); got != want {
		t.Errorf("schema 2:\n got %s\nwant %s", got, want)
	}
	if notices := append(s.Notices(), s2.Notices()...); len(notices) > 0 {
		t.Errorf("notices %q", notices)
	}
}

// A damaged file of an earlier schema is recovered into the present one, and with
// the runs the people and what names them.
func TestDamagedStoresOfEarlierSchemasAreRecovered(t *testing.T) {
	for _, name := range []string{"schema-1", "schema-2"} {
		t.Run(name, func(t *testing.T) {
			path, want := storedFile(t, name, func(content []byte) { clear(content[200:pageSize]) })
			s := open(t, path)
			if len(s.Notices()) != 1 {
				t.Errorf("notices %q, want one of the damage", s.Notices())
			}
			got := everything(t, s)
			for line := range strings.Lines(want) {
				if !strings.Contains(got, line) {
					t.Errorf("not recovered: %s", line)
				}
			}
		})
	}
}

// Rows are found in the pages of a file whose tables can no longer be reached.
func TestPeopleAreFoundInTheirPages(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	s := open(t, path)
	school(t, s)
	want := exportKind(t, s, record.KindPeople, record.JSONLines) + exportKind(t, s, record.KindSignOffs, record.JSONLines) +
		exportKind(t, s, record.KindStarts, record.JSONLines)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	clear(content[100:pageSize]) // the list of tables
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	again := open(t, path)
	got := exportKind(t, again, record.KindPeople, record.JSONLines) + exportKind(t, again, record.KindSignOffs, record.JSONLines) +
		exportKind(t, again, record.KindStarts, record.JSONLines)
	if got != want {
		t.Errorf("recovered\n%s\nwant\n%s", got, want)
	}
	wantSetAside(t, path, bytes.Clone(content))
}
