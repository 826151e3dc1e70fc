package record_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/record"
)

// inventedHeader and inventedEvents make the nth run of an invented student. The
// same n always makes the same run, so that what was stored can be judged.
func inventedHeader(n int) record.Header {
	return record.Header{
		ID:       fmt.Sprintf("INVENTEDRUN%015d", n),
		Started:  time.Date(2026, 3, 1, 9, 0, 0, 123456789, time.UTC).Add(time.Duration(n) * 17 * time.Minute),
		Program:  "test",
		Aircraft: "brindle-180",
		Flow:     []procedure.FlowID{"cold", "warm", "hot"}[n%3],
		FlowHash: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		Phase:    procedure.Evaluate,
		Conditions: record.Conditions{
			OATCelsius: 10.1 + float64(n), PressureAltM: 120, SinceShutdown: 72 * time.Hour, BatteryCharge: 0.1 + 0.2, Hidden: n%2 == 1,
		},
		Faults: []string{"weak-battery", `a "quoted" one`},
		Seed:   math.MaxUint64 - uint64(n),
		Step:   time.Millisecond,
	}
}

func inventedEvents(n, count int) []procedure.Event {
	random := rand.New(rand.NewPCG(uint64(n), 1))
	kinds := []procedure.EventKind{procedure.EventMove, procedure.EventReading, procedure.EventSignal, procedure.EventCall}
	events := make([]procedure.Event, count)
	for i := range events {
		events[i] = procedure.Event{
			Seq: i + 1, At: time.Duration(i+1)*25*time.Millisecond + time.Duration(random.IntN(1e6)),
			Kind: kinds[random.IntN(len(kinds))], Subject: "mixture", Value: random.NormFloat64(),
			Text: []string{"", "ein Tanklöscher fährt vor", "line\nbreak\x00"}[random.IntN(3)],
		}
	}
	return events
}

var inventedSummary = record.Summary{
	Outcome: procedure.Started, Prime: 4137 * time.Millisecond, Attempts: 2, Unsafe: 1, Duration: 97 * time.Second, Running: true,
	Steps: []record.Step{
		{ID: "pump", Title: "Boost pump on", Kind: procedure.StepSet, Criticality: 2, Verdict: procedure.OutOfOrder,
			Begin: 3 * time.Second, Elapsed: 11 * time.Second, Hesitation: -1, TakenFor: "prime"},
		{ID: "prime", Title: "Prime – count", Kind: procedure.StepHold, Criticality: 3, Verdict: procedure.OnTime,
			Window: procedure.Window{Min: 3 * time.Second, Ideal: 4 * time.Second, Max: 5 * time.Second},
			Begin:  14 * time.Second, Elapsed: 4137 * time.Millisecond, Hesitation: 800 * time.Millisecond},
	},
}

func open(t testing.TB, path string) *record.Store {
	t.Helper()
	s, err := record.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// store puts runs 0 to runs-1 into a new store, finished.
func store(t testing.TB, path string, runs, events int) *record.Store {
	t.Helper()
	s := open(t, path)
	for n := range runs {
		r, err := s.Begin(inventedHeader(n))
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Append(inventedEvents(n, events)...); err != nil {
			t.Fatal(err)
		}
		if err := r.Finish(inventedSummary); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// wantRun asserts that run n is stored with its first count events.
func wantRun(t testing.TB, s *record.Store, n, count int) {
	t.Helper()
	header, events, err := s.Run(inventedHeader(n).ID)
	if err != nil {
		t.Fatal(err)
	}
	want := inventedHeader(n)
	want.Format = record.Format
	if !reflect.DeepEqual(header, want) {
		t.Errorf("run %d: header\n got %+v\nwant %+v", n, header, want)
	}
	if !slices.Equal(events, inventedEvents(n, count)) {
		t.Errorf("run %d: %d events differ from the %d that were stored", n, len(events), count)
	}
}

func TestARunComesBackAsItWasStored(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		path := fresh()
		s := store(t, path, 3, 120)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		again := open(t, path)
		for n := range 3 {
			wantRun(t, again, n, 120)
		}
		l, err := again.Listing(inventedHeader(1).ID)
		if err != nil || !l.Finished || !reflect.DeepEqual(l.Summary, inventedSummary) {
			t.Errorf("summary %+v, %v; want %+v", l.Summary, err, inventedSummary)
		}
		if notices := again.Notices(); len(notices) > 0 {
			t.Errorf("a sound store gives notice: %q", notices)
		}
	})
}

// IEEE 754 has values that compare unequal to themselves or equal to others;
// a replay must see the very bits that the run saw.
func TestValuesComeBackToTheBit(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		values := []float64{math.NaN(), math.Float64frombits(0x7ff0000000000001), math.Inf(1), math.Inf(-1), math.Copysign(0, -1),
			math.SmallestNonzeroFloat64, math.MaxFloat64, 0.1, 1, -3, 1 << 53}
		r, err := s.Begin(record.Header{})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range values {
			if err := r.Append(procedure.Event{Seq: i + 1, At: math.MaxInt64, Kind: procedure.EventReading, Value: v}); err != nil {
				t.Fatal(err)
			}
		}
		_, events, err := s.Run(r.Header().ID)
		if err != nil || len(events) != len(values) {
			t.Fatalf("%d events, %v; want %d", len(events), err, len(values))
		}
		for i, e := range events {
			if math.Float64bits(e.Value) != math.Float64bits(values[i]) {
				t.Errorf("%v came back as %x, want %x", values[i], math.Float64bits(e.Value), math.Float64bits(values[i]))
			}
		}
	})
}

func TestEventsMustFollowOneAnother(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		r, err := s.Begin(inventedHeader(0))
		if err != nil {
			t.Fatal(err)
		}
		events := inventedEvents(0, 5)
		if err := r.Append(events[1]); !errors.Is(err, record.ErrSequence) {
			t.Errorf("beginning at 2: %v, want ErrSequence", err)
		}
		if err := r.Append(events[0], events[2]); !errors.Is(err, record.ErrSequence) {
			t.Errorf("1 then 3: %v, want ErrSequence", err)
		}
		if err := r.Append(procedure.Event{Kind: procedure.EventTick}); !errors.Is(err, record.ErrSequence) {
			t.Errorf("a tick: %v, want ErrSequence", err)
		}
		if err := r.Append(events...); err != nil {
			t.Error(err)
		}
		wantRun(t, s, 0, 5)
	})
}

func TestIDs(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		first, err := s.Begin(record.Header{})
		if err != nil {
			t.Fatal(err)
		}
		second, err := s.Begin(record.Header{})
		if err != nil {
			t.Fatal(err)
		}
		if a, b := first.Header().ID, second.Header().ID; a == b || len(a) < 26 {
			t.Errorf("ids %q and %q, want two of 26 letters and digits", a, b)
		}
		if _, err := s.Begin(record.Header{ID: first.Header().ID}); !errors.Is(err, record.ErrExists) {
			t.Errorf("a taken id: %v, want ErrExists", err)
		}
		if _, _, err := s.Run("nobody"); !errors.Is(err, record.ErrNoRun) {
			t.Errorf("an unknown id: %v, want ErrNoRun", err)
		}
	})
}

func TestListPages(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		const runs = 25
		s := store(t, fresh(), runs, 1)
		var seen []string
		page := record.Page{Limit: 10}
		for {
			list, err := s.Runs(record.Filter{}, page)
			if err != nil {
				t.Fatal(err)
			}
			if len(list) == 0 {
				break
			}
			for _, l := range list {
				seen = append(seen, l.Header.ID)
			}
			page.After = seen[len(seen)-1]
		}
		if len(seen) != runs {
			t.Fatalf("%d runs listed, want %d", len(seen), runs)
		}
		for i, id := range seen {
			if want := inventedHeader(runs - 1 - i).ID; id != want {
				t.Errorf("place %d holds %s, want %s: newest first", i, id, want)
			}
		}
	})
}

func TestListFilters(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := store(t, fresh(), 9, 1)
		unfinished := inventedHeader(9)
		unfinished.Aircraft, unfinished.Phase = "brindle-100", procedure.Perform
		if _, err := s.Begin(unfinished); err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			name   string
			filter record.Filter
			want   int
		}{
			{"all", record.Filter{}, 10},
			{"one aircraft", record.Filter{Aircraft: "brindle-180"}, 9},
			{"one flow of it", record.Filter{Aircraft: "brindle-180", Flow: "warm"}, 3},
			{"one phase", record.Filter{Phase: procedure.Perform}, 1},
			{"one outcome", record.Filter{Outcome: procedure.Started}, 9},
			{"from the fourth on", record.Filter{From: inventedHeader(3).Started}, 7},
			{"before the fourth", record.Filter{To: inventedHeader(3).Started}, 3},
			{"nobody's", record.Filter{Aircraft: "none"}, 0},
		} {
			list, err := s.Runs(c.filter, record.Page{})
			if err != nil || len(list) != c.want {
				t.Errorf("%s: %d runs, %v; want %d", c.name, len(list), err, c.want)
			}
		}
	})
}

// A person's runs must be gone for good: not in the file, nor in its log.
func TestDeletedRunLeavesNoTrace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	s := store(t, path, 2, 10)
	r, err := s.Begin(record.Header{Program: "trace-of-a-header"})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Append(procedure.Event{Seq: 1, Kind: procedure.EventInterrupt, Text: "trace-of-an-event"}); err != nil {
		t.Fatal(err)
	}
	if err := s.Delete(r.Header().ID); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path, path + "-wal"} {
		content, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, trace := range []string{"trace-of-a-header", "trace-of-an-event"} {
			if i := bytes.Index(content, []byte(trace)); i >= 0 {
				t.Errorf("%s still holds %q at %d", filepath.Base(name), trace, i)
			}
		}
	}
	if err := s.Delete(r.Header().ID); !errors.Is(err, record.ErrNoRun) {
		t.Errorf("deleted twice: %v, want ErrNoRun", err)
	}
	wantRun(t, s, 0, 10)
	wantRun(t, s, 1, 10)
}

func TestClosedStore(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := store(t, fresh(), 1, 1)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Runs(record.Filter{}, record.Page{}); !errors.Is(err, record.ErrClosed) {
			t.Errorf("list: %v, want ErrClosed", err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("closed twice: %v", err)
		}
	})
}

func TestStartedIsStoredInUTC(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		started := time.Date(2026, 3, 1, 9, 0, 0, 1, time.FixedZone("east", 3600))
		r, err := s.Begin(record.Header{Started: started})
		if err != nil {
			t.Fatal(err)
		}
		h, _, err := s.Run(r.Header().ID)
		if want := time.Date(2026, 3, 1, 8, 0, 0, 1, time.UTC); err != nil || h.Started != want {
			t.Errorf("%v, %v; want %v", h.Started, err, want)
		}
	})
}

func TestWhatCanNeitherBeReadNorWrittenIsNotSaidToBeReadable(t *testing.T) {
	none := filepath.Join(t.TempDir(), "none")
	if err := os.WriteFile(none, []byte("a file where a folder should be"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := record.Open(filepath.Join(none, "runs.db"))
	if !errors.Is(err, record.ErrReadOnly) || !errors.Is(err, record.ErrNoAccess) || strings.Contains(err.Error(), "can still be read") {
		t.Errorf("%v, want ErrNoAccess, which is an ErrReadOnly", err)
	}
}
