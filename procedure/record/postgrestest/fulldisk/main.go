// Command fulldisk fills the disk under a real PostgreSQL while a run is recorded,
// frees it again, and says what became of the run. It ends with 1 when anything
// was lost. The server is made in the system's temporary folder, which must lie on
// a small file system of its own. As root:
//
//	go build -o fulldisk ./procedure/record/postgrestest/fulldisk
//	mkdir small && mount -t tmpfs -o size=160m,mode=1777 tmpfs small
//	TMPDIR=$PWD/small ./fulldisk; umount small
//
// With -leave 12000000 so many bytes are left, which the server's log fills and not
// its tables: then the server itself goes down.
//
// Mounting needs rights that tests may not have, so that the tests have the server
// only say that its disk is full.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"kickover/procedure"
	"kickover/procedure/record"
	"kickover/procedure/record/postgrestest"
)

func main() {
	leave := flag.Int64("leave", 0, "bytes of room that are left to the server")
	flag.Parse()
	if err := fill(os.TempDir(), *leave); err != nil {
		fmt.Fprintln(os.Stderr, "fulldisk:", err)
		os.Exit(1)
	}
}

// mostRoom keeps the ballast from filling somebody's own disk.
const mostRoom = 1 << 30

func fill(folder string, leave int64) error {
	var room syscall.Statfs_t
	if err := syscall.Statfs(folder, &room); err != nil {
		return err
	}
	if room.Blocks*uint64(room.Bsize) > mostRoom {
		return fmt.Errorf("%s is on a large file system; mount a small one and name it in TMPDIR", folder)
	}
	dsn, err := postgrestest.Place()
	if err != nil {
		return err
	}
	s, err := record.Open(dsn)
	if err != nil {
		return err
	}
	defer s.Close()
	r := begin(s)
	if err := r.record(r.events[:atOnce]); err != nil {
		return err
	}
	ballast, err := fillUp(folder, leave)
	if err != nil {
		return err
	}
	fmt.Println("the disk is full; recording goes on")
	if err := r.untilRefused(s); err != nil {
		return err
	}
	if _, err := s.Import(strings.NewReader(aRun(invented(50_000)))); err != nil {
		fmt.Println("an import says:", err)
	}
	if err := os.Remove(ballast); err != nil {
		return err
	}
	fmt.Println("there is room again")
	return r.settle(s)
}

// running is a run that is being recorded.
type running struct {
	journal  *record.Journal
	statuses chan record.Status
	events   []procedure.Event // all that there may be
	sent     int
}

// atOnce is how many events come together.
const atOnce = 1000

func begin(s *record.Store) *running {
	r := &running{statuses: make(chan record.Status, 1000), events: invented(400_000)}
	r.journal = s.Journal(record.Header{Aircraft: "brindle-180", Flow: "cold"},
		record.JournalOptions{OnStatus: func(st record.Status) { r.statuses <- st }})
	return r
}

// record hands events over and waits until they are on the disk; the error says why
// they are not.
func (r *running) record(events []procedure.Event) error {
	if err := r.journal.Append(events...); err != nil {
		return err
	}
	r.sent += len(events)
	for st := range r.statuses {
		if st.Err != nil {
			return st.Err
		}
		if st.Durable == r.sent {
			return nil
		}
	}
	panic("the channel is never closed")
}

// untilRefused records until the server takes no more, and looks whether what was
// shown as recorded is there.
func (r *running) untilRefused(s *record.Store) error {
	var refused error
	for refused == nil && r.sent < len(r.events) {
		refused = r.record(r.events[r.sent : r.sent+atOnce])
	}
	st := r.journal.Status()
	fmt.Printf("of %d events %d are shown as recorded, and the person is told:\n  %s\nbehind it: %v\n", r.sent, st.Durable, st.Notice, refused)
	_, stored, err := s.Run(r.journal.Header().ID)
	fmt.Printf("meanwhile the store gives %d events, %v\n", len(stored), err)
	if err == nil && len(stored) < st.Durable {
		return fmt.Errorf("%d events are stored, and %d were shown as recorded", len(stored), st.Durable)
	}
	return nil
}

// settle waits for the rest to be stored, and compares.
func (r *running) settle(s *record.Store) error {
	const patience = 15 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := r.journal.Close(ctx); err != nil {
		return asideOf(r.journal, err)
	}
	_, kept, err := s.Run(r.journal.Header().ID)
	if err != nil || !slices.Equal(kept, r.events[:r.sent]) {
		return fmt.Errorf("%d of %d events are in the records, or others, %v", len(kept), r.sent, err)
	}
	fmt.Printf("all %d events are in the records, as they were given\n", len(kept))
	return nil
}

// asideOf sets a run aside whose server stays away, as one does that found no room
// for its own log: its keeper has to start it again.
func asideOf(j *record.Journal, why error) error {
	folder, err := os.MkdirTemp(os.TempDir(), "aside")
	if err != nil {
		return err
	}
	l, whole := j.Run()
	name, err := record.SetAside(folder, l, whole)
	if err != nil {
		return err
	}
	another, err := record.Open(record.InMemory)
	if err != nil {
		return err
	}
	defer another.Close()
	if err := another.TakeAside(folder); err != nil {
		return err
	}
	_, kept, err := another.Run(l.Header.ID)
	if err != nil || !slices.Equal(kept, whole) {
		return fmt.Errorf("%d of %d events were set aside, or others, %v", len(kept), len(whole), err)
	}
	fmt.Printf("the server stays away (%v)\nall %d events waited in %s, as they were given\n", why, len(kept), name)
	return nil
}

// fillUp takes all the room there is but for what is to be left.
func fillUp(folder string, leave int64) (name string, err error) {
	name = filepath.Join(folder, "ballast")
	file, err := os.Create(name)
	if err != nil {
		return "", err
	}
	defer file.Close()
	for size := 1 << 20; size > 0; size /= 2 {
		for err == nil {
			_, err = file.Write(make([]byte, size))
		}
		if !errors.Is(err, syscall.ENOSPC) {
			return "", err
		}
		err = nil
	}
	info, err := file.Stat()
	if err != nil {
		return "", err
	}
	return name, file.Truncate(max(0, info.Size()-leave))
}

func invented(n int) []procedure.Event {
	events := make([]procedure.Event, n)
	for i := range events {
		events[i] = procedure.Event{Seq: i + 1, At: time.Duration(i) * time.Millisecond, Kind: procedure.EventReading, Subject: "fuel_flow", Value: float64(i)}
	}
	return events
}

func aRun(events []procedure.Event) string {
	var text strings.Builder
	l := record.Listing{Header: record.Header{ID: record.NewID(), Format: record.Format, Started: time.Now(), Aircraft: "brindle-180", Flow: "cold"}}
	if err := record.WriteRun(&text, l, events); err != nil {
		panic(err) // it is written to memory
	}
	return text.String()
}
