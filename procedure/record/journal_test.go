package record_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"kickover/procedure/record"
)

// watched is a journal whose statuses and retries a test follows.
type watched struct {
	*record.Journal
	statuses chan record.Status
	retry    chan time.Time
}

func watch(s *record.Store, h record.Header) watched {
	w := watched{statuses: make(chan record.Status, 100), retry: make(chan time.Time)}
	w.Journal = s.Journal(h, record.JournalOptions{
		OnStatus: func(status record.Status) { w.statuses <- status },
		After:    func(time.Duration) <-chan time.Time { return w.retry },
	})
	return w
}

// until waits for a status that will do.
func (w watched) until(will func(record.Status) bool) record.Status {
	for status := range w.statuses {
		if will(status) {
			return status
		}
	}
	panic("the channel is never closed")
}

func (w watched) untilDurable(seq int) record.Status {
	return w.until(func(s record.Status) bool { return s.Durable == seq && s.Err == nil })
}

func (w watched) untilFailed() record.Status {
	return w.until(func(s record.Status) bool { return s.Err != nil })
}

func TestJournalStoresALiveRun(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		j := s.Journal(inventedHeader(0), record.JournalOptions{})
		for _, e := range inventedEvents(0, 1000) {
			if err := j.Append(e); err != nil {
				t.Fatal(err)
			}
		}
		if err := j.Finish(inventedSummary); err != nil {
			t.Fatal(err)
		}
		if err := j.Close(context.Background()); err != nil {
			t.Fatal(err)
		}
		if err := j.Append(inventedEvents(0, 1)...); !errors.Is(err, record.ErrClosed) {
			t.Errorf("appended after the end: %v, want ErrClosed", err)
		}
		if err := j.Close(context.Background()); err != nil {
			t.Errorf("closed twice: %v", err)
		}
		if status := j.Status(); status.Durable != 1000 || status.Waiting != 0 || !status.Finished || status.Notice != "" {
			t.Errorf("status %+v, want all 1000 events and the summary on the disk", status)
		}
		wantRun(t, s, 0, 1000)
		if l, err := s.Listing(inventedHeader(0).ID); err != nil || !reflect.DeepEqual(l.Summary, inventedSummary) {
			t.Errorf("summary %+v, %v", l.Summary, err)
		}
	})
}

func TestJournalRefusesEventsOutOfOrder(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		j := open(t, fresh()).Journal(inventedHeader(0), record.JournalOptions{})
		defer j.Close(context.Background())
		if err := j.Append(inventedEvents(0, 2)[1]); !errors.Is(err, record.ErrSequence) {
			t.Errorf("%v, want ErrSequence", err)
		}
	})
}

// Somebody tidies the data folder in the middle of a run.
func TestJournalOutlivesTheLossOfItsFile(t *testing.T) {
	for _, gone := range []string{"the folder", "the file", "the log"} {
		t.Run(gone, func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "data")
			path := filepath.Join(folder, "runs.db")
			s := open(t, path)
			j := watch(s, inventedHeader(0))
			events := inventedEvents(0, 200)
			if err := j.Append(events[:100]...); err != nil {
				t.Fatal(err)
			}
			j.untilDurable(100)
			remove := map[string]string{"the folder": folder, "the file": path, "the log": path + "-wal"}[gone]
			if err := os.RemoveAll(remove); err != nil {
				t.Fatal(err)
			}
			if err := j.Append(events[100:]...); err != nil {
				t.Fatal(err)
			}
			j.untilDurable(200)
			if err := j.Close(context.Background()); err != nil {
				t.Fatal(err)
			}
			s.Close()
			wantRun(t, open(t, path), 0, 200)
			if notices := s.Notices(); len(notices) == 0 || !strings.Contains(notices[len(notices)-1], "removed or replaced") {
				t.Errorf("notices %q, want the last to tell what happened", notices)
			}
		})
	}
}

// The file goes away and its place is taken by something that cannot be a
// folder: nothing can be written until that is put right.
func TestJournalKeepsARunThatHasNoFile(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data")
	path := filepath.Join(folder, "runs.db")
	s := open(t, path)
	j := watch(s, inventedHeader(0))
	events := inventedEvents(0, 200)
	if err := j.Append(events[:100]...); err != nil {
		t.Fatal(err)
	}
	j.untilDurable(100)

	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(folder, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := j.Append(events[100:]...); err != nil {
		t.Fatal(err)
	}
	status := j.untilFailed()
	if status.Durable != 0 || status.Waiting != 200 {
		t.Errorf("status %+v: the events that went away with the file must count as not recorded", status)
	}
	if !strings.Contains(status.Notice, "kept in memory") || !strings.Contains(status.Notice, path) {
		t.Errorf("notice %q, want what happened, what still works and what to do", status.Notice)
	}
	j.retry <- time.Time{}
	if status := j.untilFailed(); status.Waiting != 200 {
		t.Errorf("after another try in vain: %+v", status)
	}
	if _, err := s.Runs(record.Filter{}, record.Page{}); !errors.Is(err, record.ErrLost) {
		t.Errorf("list without a file: %v, want ErrLost", err)
	}

	if err := os.Remove(folder); err != nil {
		t.Fatal(err)
	}
	j.retry <- time.Time{}
	if status := j.untilDurable(200); status.Notice != "" {
		t.Errorf("all is well again, but the notice is %q", status.Notice)
	}
	if err := j.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
	wantRun(t, s, 0, 200)
}

func TestJournalGivesUpWhenTold(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data")
	s := open(t, filepath.Join(folder, "runs.db"))
	j := watch(s, inventedHeader(0))
	j.untilDurable(0)
	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(folder, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := j.Append(inventedEvents(0, 7)...); err != nil {
		t.Fatal(err)
	}
	if err := j.Finish(inventedSummary); err != nil {
		t.Fatal(err)
	}
	j.untilFailed()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	err := j.Close(ctx)
	if !errors.Is(err, context.Canceled) || !errors.Is(err, record.ErrLost) || !strings.Contains(err.Error(), "7 events") {
		t.Errorf("%v, want how much is not on the disk, and why", err)
	}

	// What could not be stored can still be taken elsewhere.
	var out strings.Builder
	l, events := j.Run()
	if err := record.WriteRun(&out, l, events); err != nil {
		t.Fatal(err)
	}
	other := open(t, record.InMemory)
	if got, err := other.Import(strings.NewReader(out.String())); err != nil || got.Added != 1 || got.Events != 7 {
		t.Errorf("imported %+v, %v", got, err)
	}
	wantRun(t, other, 0, 7)
}
