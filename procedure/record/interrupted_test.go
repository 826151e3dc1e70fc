package record_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kickover/procedure/record"
)

func init() {
	parts["import until killed"] = importUntilKilled
	parts["migrate until killed"] = migrateUntilKilled
}

// importUntilKilled takes in what comes on standard input, and says when all of
// it is on the disk.
func importUntilKilled(path string) error {
	s, err := record.Open(path)
	if err != nil {
		return err
	}
	in, err := s.Import(os.Stdin)
	if err != nil {
		return err
	}
	fmt.Println(in.Added + in.Known)
	select {} // it is killed in any case
}

// A run that was stored before an import stays, what the import had stored is
// right, and the same file again stores the rest.
func TestAnImportThatIsKilledLosesNothing(t *testing.T) {
	const before, imported, events = 5, 100, 250
	file := exportKind(t, store(t, filepath.Join(t.TempDir(), "from.db"), imported, events), record.KindRuns, record.JSONLines)
	onBoth(t, func(t *testing.T, fresh func() string) {
		random := rand.New(rand.NewPCG(20260302, 1))
		path := fresh()
		for n := range (*kills + 1) / 2 {
			if n%8 == 0 { // until then the imports meet what those before them stored
				path = fresh()
				if err := store(t, path, before, events).Close(); err != nil {
					t.Fatal(err)
				}
			}
			shown := importAndKill(t, path, file, random.IntN(len(file)*5/4))
			isGone(t, path)
			s, err := record.Open(path)
			if err != nil {
				t.Fatalf("after kill %d: %v", n+1, err)
			}
			if notices := s.Notices(); len(notices) > 0 {
				t.Fatalf("after kill %d: %q", n+1, notices)
			}
			there := 0
			for run := range imported {
				if _, _, err := s.Run(inventedHeader(run).ID); errors.Is(err, record.ErrNoRun) {
					if run < before || shown > 0 {
						t.Errorf("after kill %d: run %d is gone", n+1, run)
					}
					continue
				}
				wantRun(t, s, run, events)
				there++
			}
			if n%8 == 7 {
				if in, err := s.Import(strings.NewReader(file)); err != nil || in.Added != imported-there || in.Known != there || len(in.Problems) > 0 {
					t.Fatalf("after kill %d with %d runs stored, again: %+v, %v", n+1, there, in, err)
				}
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// importAndKill kills the importing program when it has been given so many bytes
// of the file, or, where those are more than it has, when it has said that all is
// stored; it gives how many runs it had said.
func importAndKill(t *testing.T, path, file string, bytes int) (shown int) {
	t.Helper()
	child := play("import until killed", path)
	in, err := child.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(in, file[:min(bytes, len(file))]); err != nil {
		t.Fatal(err)
	}
	if bytes >= len(file) {
		if err := in.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := fmt.Fscan(bufio.NewReader(out), &shown); err != nil {
			t.Fatal(err)
		}
	}
	if err := child.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := child.Wait(); child.ProcessState.Exited() {
		t.Fatalf("the importing program ended by itself: %v", err)
	}
	return shown
}

// migrateUntilKilled opens a store of an earlier schema.
func migrateUntilKilled(path string) error {
	fmt.Println("begins")
	if _, err := record.Open(path); err != nil {
		return err
	}
	fmt.Println("done")
	select {}
}

// A file of an earlier schema holds the same, at whatever moment its migration is
// killed; the moments are random between its beginning and its end.
func TestAMigrationThatIsKilledLosesNothing(t *testing.T) {
	random := rand.New(rand.NewPCG(20260303, 1))
	takes := 20 * time.Millisecond // how long a migration takes here, once one was seen to end
	for n := range (*kills + 1) / 2 {
		name := []string{"schema-1", "schema-2"}[n%2]
		path, want := storedFile(t, name, func([]byte) {})
		began := time.Now()
		if migrateAndKill(t, path, time.Duration(random.Int64N(int64(takes*5/4)))) {
			takes = max(time.Millisecond, time.Since(began)/2)
		}
		s := open(t, path)
		if notices := s.Notices(); len(notices) > 0 {
			t.Fatalf("after kill %d of %s: %q", n+1, name, notices)
		}
		got := exportKind(t, s, record.KindRuns, record.JSONLines)
		if name == "schema-2" {
			got = everything(t, s)
		}
		if got != want {
			t.Fatalf("after kill %d, %s:\n got %s\nwant %s", n+1, name, got, want)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// migrateAndKill kills the migrating program so long after it began to open the
// store, and reports whether it had ended before.
func migrateAndKill(t *testing.T, path string, after time.Duration) (ended bool) {
	t.Helper()
	child := play("migrate until killed", path)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	said := bufio.NewReader(out)
	if line, err := said.ReadString('\n'); err != nil || line != "begins\n" {
		t.Fatalf("%q, %v", line, err)
	}
	done := make(chan bool, 1)
	go func() {
		line, _ := said.ReadString('\n') // the pipe's end is the kill
		done <- line == "done\n"
	}()
	select {
	case ended = <-done:
	case <-time.After(after):
	}
	if err := child.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if !ended {
		ended = <-done
	}
	if err := child.Wait(); child.ProcessState.Exited() {
		t.Fatalf("the migrating program ended by itself: %v", err)
	}
	return ended
}
