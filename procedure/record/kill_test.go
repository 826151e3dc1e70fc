package record_test

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"kickover/procedure/parttest"
	"kickover/procedure/record"
)

var kills = flag.Int("kills", 40, "how often the recording program is killed")

// What the test binary plays of the other programs.
var parts = map[string]func(argument string) error{
	"record until killed": recordUntilKilled,
	"record some runs":    recordSomeRuns,
}

func TestMain(m *testing.M) { parttest.Main(m, parts) }

var play = parttest.Play

// recordUntilKilled records run n without end, as a window would, and prints
// each sequence number that it has been told is on the disk. Its argument is n
// and the path.
func recordUntilKilled(argument string) error {
	number, path, _ := strings.Cut(argument, ":")
	n, err := strconv.Atoi(number)
	if err != nil {
		return err
	}
	s, err := record.Open(path)
	if err != nil {
		return err
	}
	shown := make(chan int)
	journal := s.Journal(inventedHeader(n), record.JournalOptions{OnStatus: func(status record.Status) {
		fmt.Println(status.Durable)
		shown <- status.Durable
	}})
	<-shown
	events := inventedEvents(n, eventsUntilKilled)
	for sent := 0; sent < len(events); {
		// Batches of every size, so that the kill meets small and large commits.
		size := min(1+sent%37, len(events)-sent)
		if err := journal.Append(events[sent : sent+size]...); err != nil {
			return err
		}
		sent += size
		<-shown
	}
	return fmt.Errorf("all %d events were recorded before the kill came", len(events))
}

const eventsUntilKilled = 100_000

func TestNothingShownAsRecordedIsLostToAKill(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		path := fresh()
		random := rand.New(rand.NewPCG(20260301, 1))
		for n := range *kills {
			shown := recordAndKill(t, path, n, 1+random.IntN(60))
			isGone(t, path)
			s, err := record.Open(path)
			if err != nil {
				t.Fatalf("after kill %d: %v", n+1, err)
			}
			if notices := s.Notices(); len(notices) > 0 {
				t.Fatalf("after kill %d: %q", n+1, notices)
			}
			_, events, err := s.Run(inventedHeader(n).ID)
			if err != nil {
				t.Fatalf("after kill %d: %v", n+1, err)
			}
			if len(events) < shown {
				t.Fatalf("after kill %d: %d events are stored, but %d were shown as recorded", n+1, len(events), shown)
			}
			wantRun(t, s, n, len(events))
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// recordAndKill kills the recording program once it has confirmed so many
// commits, at whatever it is doing then, and gives the last sequence number it
// had shown.
func recordAndKill(t *testing.T, path string, n, commits int) (shown int) {
	t.Helper()
	child := play("record until killed", fmt.Sprintf("%d:%s", n, path))
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	for seen := 0; ; seen++ {
		if seen == commits {
			if err := child.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
		line, err := lines.ReadString('\n')
		if err != nil {
			break // the pipe's end; an unfinished line was not shown
		}
		if shown, err = strconv.Atoi(strings.TrimSpace(line)); err != nil {
			t.Fatal(err)
		}
	}
	if err := child.Wait(); child.ProcessState.Success() || child.ProcessState.Exited() {
		t.Fatalf("the recording program ended by itself: %v", err)
	}
	return shown
}

// recordSomeRuns records ten runs; its argument is the first one's number and
// the path.
func recordSomeRuns(argument string) error {
	number, path, _ := strings.Cut(argument, ":")
	first, err := strconv.Atoi(number)
	if err != nil {
		return err
	}
	s, err := record.Open(path)
	if err != nil {
		return err
	}
	for n := first; n < first+10; n++ {
		journal := s.Journal(inventedHeader(n), record.JournalOptions{})
		for _, e := range inventedEvents(n, 100) {
			if err := journal.Append(e); err != nil {
				return err
			}
		}
		if err := journal.Close(context.Background()); err != nil {
			return err
		}
	}
	return s.Close()
}

func TestSeveralProgramsShareOneStore(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		path := fresh()
		var children []func() error
		for first := 0; first < 40; first += 10 {
			child := play("record some runs", fmt.Sprintf("%d:%s", first, path))
			if err := child.Start(); err != nil { // all make the same new file
				t.Fatal(err)
			}
			children = append(children, child.Wait)
		}
		for _, wait := range children {
			if err := wait(); err != nil {
				t.Error(err)
			}
		}
		s := open(t, path)
		for n := range 40 {
			wantRun(t, s, n, 100)
		}
	})
}
