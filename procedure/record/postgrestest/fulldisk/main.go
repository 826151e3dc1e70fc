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

	statuses := make(chan record.Status, 1000)
	j := s.Journal(record.Header{Aircraft: "brindle-180", Flow: "cold"}, record.JournalOptions{OnStatus: func(st record.Status) { statuses <- st }})
	until := func(will func(record.Status) bool) record.Status {
		for st := range statuses {
			if will(st) {
				return st
			}
		}
		panic("the channel is never closed")
	}
	events := invented(400_000)
	if err := j.Append(events[:1000]...); err != nil {
		return err
	}
	until(func(st record.Status) bool { return st.Durable == 1000 })

	ballast, err := fillUp(folder, leave)
	if err != nil {
		return err
	}
	fmt.Println("the disk is full; recording goes on")
	shown := 1000
	for sent := 1000; sent < len(events); sent += 1000 {
		if err := j.Append(events[sent : sent+1000]...); err != nil {
			return err
		}
		st := until(func(st record.Status) bool { return st.Durable == sent+1000 || st.Err != nil })
		shown = st.Durable
		if st.Err != nil {
			fmt.Printf("at %d events of which %d are shown as recorded, the person is told:\n  %s\nbehind it: %v\n", sent+1000, shown, st.Notice, st.Err)
			break
		}
	}
	stored, err := count(s, j)
	fmt.Printf("meanwhile the store gives %d events, %v\n", stored, err)
	if err == nil && stored < shown {
		return fmt.Errorf("%d events are stored, and %d were shown as recorded", stored, shown)
	}
	_, whole := j.Run()
	if _, err := s.Import(strings.NewReader(aRun(invented(50_000)))); err != nil {
		fmt.Println("an import says:", err)
	}

	if err := os.Remove(ballast); err != nil {
		return err
	}
	fmt.Println("there is room again")
	const patience = 15 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := j.Close(ctx); err != nil {
		return asideOf(j, whole, err)
	}
	_, kept, err := s.Run(j.Header().ID)
	if err != nil || !slices.Equal(kept, whole) {
		return fmt.Errorf("%d of %d events are in the records, or others, %v", len(kept), len(whole), err)
	}
	fmt.Printf("all %d events are in the records, as they were given\n", len(kept))
	return nil
}

// asideOf sets a run aside whose server stays away, as one does that found no room
// for its own log: its keeper has to start it again.
func asideOf(j *record.Journal, whole []procedure.Event, why error) error {
	folder, err := os.MkdirTemp(os.TempDir(), "aside")
	if err != nil {
		return err
	}
	l, events := j.Run()
	name, err := record.SetAside(folder, l, events)
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

func count(s *record.Store, j *record.Journal) (int, error) {
	_, events, err := s.Run(j.Header().ID)
	return len(events), err
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
