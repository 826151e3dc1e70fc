package record_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"kickover/procedure/record"
)

func init() {
	parts["fill the disk"] = fillTheDisk
	parts["read-only folder"] = readOnlyFolder
	parts["open on a full disk"] = openOnFullDisk
}

// limitFiles makes the kernel refuse writes beyond so many bytes of any file,
// as a full disk does, or lifts that.
func limitFiles(bytes uint64) error {
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	limit.Cur = min(bytes, limit.Max)
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit)
}

// fillTheDisk runs a journal into a full disk and out of it again. It is a
// program of its own, since the limit holds for a whole process.
func fillTheDisk(path string) error {
	signal.Ignore(syscall.SIGXFSZ) // the write fails instead
	s, err := record.Open(path)
	if err != nil {
		return err
	}
	j := watch(s, inventedHeader(0))
	events := inventedEvents(0, 20_000)
	if err := j.Append(events[:100]...); err != nil {
		return err
	}
	j.untilDurable(100)

	if err := limitFiles(200 << 10); err != nil {
		return err
	}
	if err := j.Append(events[100:]...); err != nil {
		return err
	}
	for try := range 3 {
		if try > 0 {
			j.retry <- time.Time{}
		}
		status := j.untilFailed()
		if !errors.Is(status.Err, record.ErrFull) || status.Durable != 100 || status.Waiting != 19_900 {
			return fmt.Errorf("on a full disk: %+v", status)
		}
		if !strings.Contains(status.Notice, "disk is full") || !strings.Contains(status.Notice, "kept in memory") {
			return fmt.Errorf("notice %q", status.Notice)
		}
	}
	if l, err := s.Runs(record.Filter{}, record.Page{}); err != nil || len(l) != 1 {
		return fmt.Errorf("a full disk must not keep runs from being read: %d, %v", len(l), err)
	}

	var file strings.Builder
	for n := 1; n < 200; n++ {
		l := record.Listing{Header: inventedHeader(n), Finished: true, Summary: inventedSummary}
		l.Header.Format = record.Format
		if err := record.WriteRun(&file, l, inventedEvents(n, 40)); err != nil {
			return err
		}
	}
	if in, err := s.Import(strings.NewReader(file.String())); !errors.Is(err, record.ErrFull) || in.Added > 0 {
		return fmt.Errorf("import: %+v, %v; want ErrFull", in, err)
	}

	if err := limitFiles(math.MaxUint64); err != nil {
		return err
	}
	j.retry <- time.Time{}
	if status := j.untilDurable(len(events)); status.Notice != "" {
		return fmt.Errorf("there is room again, but the notice is %q", status.Notice)
	}
	if err := j.Close(context.Background()); err != nil {
		return err
	}
	return s.Close()
}

func TestJournalOutlivesAFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	if err := play("fill the disk", path).Run(); err != nil {
		t.Fatal(err)
	}
	wantRun(t, open(t, path), 0, 20_000)
}

// openOnFullDisk opens a store of three runs where nothing can be written, and goes
// on with it when there is room again.
func openOnFullDisk(path string) error {
	signal.Ignore(syscall.SIGXFSZ) // the write fails instead
	if err := limitFiles(1 << 10); err != nil {
		return err
	}
	s, err := record.Open(path)
	if err != nil {
		return err
	}
	defer s.Close()
	three := func(when string) error {
		if list, err := s.Runs(record.Filter{}, record.Page{}); err != nil || len(list) != 3 {
			return fmt.Errorf("%s %d runs can be read, %v; want 3", when, len(list), err)
		}
		return nil
	}
	if err := three("on a full disk"); err != nil {
		return err
	}
	if notices := s.Notices(); !s.ReadOnly() || len(notices) != 1 || !strings.Contains(notices[0], "disk is full") {
		return fmt.Errorf("read-only %v, notices %q", s.ReadOnly(), notices)
	}
	if _, err := s.Begin(inventedHeader(5)); !errors.Is(err, record.ErrFull) {
		return fmt.Errorf("begin: %v, want ErrFull", err)
	}
	if err := three("after that"); err != nil {
		return err
	}
	if err := limitFiles(math.MaxUint64); err != nil {
		return err
	}
	if _, err := s.Begin(inventedHeader(5)); err != nil {
		return fmt.Errorf("there is room again, but: %w", err)
	}
	return nil
}

func TestRunsCanBeReadOnAFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	s := store(t, path, 3, 10)
	// What a killed program leaves behind: runs that are only in the log.
	killed := filepath.Join(t.TempDir(), "runs.db")
	for _, part := range []string{"", "-wal"} {
		text, err := os.ReadFile(path + part)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(killed+part, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for name, path := range map[string]string{"closed": path, "killed": killed} {
		if err := play("open on a full disk", path).Run(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// readOnlyFolder opens a store in a folder that may only be read. It is a
// program of its own, since root may write everywhere and has to step down.
func readOnlyFolder(folder string) error {
	if os.Geteuid() == 0 {
		const nobody = 65534
		if err := syscall.Setuid(nobody); err != nil {
			return err
		}
	}
	s, err := record.Open(filepath.Join(folder, "runs.db"))
	if err != nil {
		return err
	}
	defer s.Close()
	if list, err := s.Runs(record.Filter{}, record.Page{}); err != nil || len(list) != 3 {
		return fmt.Errorf("%d runs can be read, %v; want 3", len(list), err)
	}
	if notices := s.Notices(); !s.ReadOnly() || len(notices) != 1 || !strings.Contains(notices[0], "can still be read") {
		return fmt.Errorf("read-only %v, notices %q", s.ReadOnly(), notices)
	}
	if _, err := s.Begin(record.Header{}); !errors.Is(err, record.ErrReadOnly) {
		return fmt.Errorf("begin: %v, want ErrReadOnly", err)
	}
	j := watch(s, inventedHeader(5))
	if status := j.untilFailed(); !strings.Contains(status.Notice, "cannot be written") {
		return fmt.Errorf("notice %q", status.Notice)
	}
	_, err = record.Open(filepath.Join(folder, "nothing", "here.db"))
	if !errors.Is(err, record.ErrReadOnly) || !strings.Contains(err.Error(), "make the folder writable") {
		return fmt.Errorf("nothing to read: %v, want ErrReadOnly", err)
	}
	return nil
}

func TestReadOnlyFolder(t *testing.T) {
	folder, err := os.MkdirTemp("", "records") // t.TempDir is closed to others
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		os.Chmod(folder, 0o700)
		os.RemoveAll(folder)
	})
	path := filepath.Join(folder, "runs.db")
	if err := store(t, path, 3, 10).Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(folder, 0o555); err != nil {
		t.Fatal(err)
	}
	if err := play("read-only folder", folder).Run(); err != nil {
		t.Fatal(err)
	}
}
