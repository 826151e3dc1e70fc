package record_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"kickover/procedure"
	"kickover/procedure/record"
)

func export(t testing.TB, s *record.Store, n int) string {
	t.Helper()
	var out strings.Builder
	if err := s.Export(&out, inventedHeader(n).ID); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func importText(t testing.TB, s *record.Store, text string) record.Imported {
	t.Helper()
	got, err := s.Import(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestRunsTravelBetweenStores(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		from := store(t, fresh(), 5, 100)
		var text strings.Builder
		for n := range 5 {
			text.WriteString(export(t, from, n))
		}
		to := open(t, fresh())
		if got := importText(t, to, text.String()); got.Added != 5 || got.Events != 500 || got.Known != 0 || len(got.Problems) > 0 {
			t.Errorf("imported %+v, want 5 runs of 100 events", got)
		}
		for n := range 5 {
			wantRun(t, to, n, 100)
			if l, err := to.Listing(inventedHeader(n).ID); err != nil || !reflect.DeepEqual(l.Summary, inventedSummary) {
				t.Errorf("run %d: summary %+v, %v", n, l.Summary, err)
			}
			if again := export(t, to, n); !strings.Contains(text.String(), again) {
				t.Errorf("run %d is exported differently by the other store", n)
			}
		}
		if got := importText(t, to, text.String()); got.Added != 0 || got.Events != 0 || got.Known != 5 {
			t.Errorf("imported again: %+v, want nothing but 5 unchanged", got)
		}
	})
}

func TestEveryNumberTravels(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		from := open(t, fresh())
		h := inventedHeader(0)
		h.Conditions.OATCelsius, h.Conditions.BatteryCharge = math.NaN(), math.Copysign(0, -1)
		r, err := from.Begin(h)
		if err != nil {
			t.Fatal(err)
		}
		values := []float64{math.Inf(1), math.NaN(), math.Copysign(0, -1), 0.1, math.MaxFloat64, math.SmallestNonzeroFloat64}
		for i, v := range values {
			if err := r.Append(procedure.Event{Seq: i + 1, Kind: procedure.EventReading, Value: v}); err != nil {
				t.Fatal(err)
			}
		}
		to := open(t, fresh())
		importText(t, to, export(t, from, 0))
		header, events, err := to.Run(h.ID)
		if err != nil || len(events) != len(values) {
			t.Fatalf("%d events, %v", len(events), err)
		}
		for i, e := range events {
			if math.Float64bits(e.Value) != math.Float64bits(values[i]) {
				t.Errorf("%v came as %v", values[i], e.Value)
			}
		}
		if c := header.Conditions; !math.IsNaN(c.OATCelsius) || !math.Signbit(c.BatteryCharge) {
			t.Errorf("conditions %+v", c)
		}
		if got := importText(t, to, export(t, from, 0)); got.Known != 1 {
			t.Errorf("again: %+v", got)
		}
	})
}

func TestAnUnfinishedRunIsCompletedLater(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		from := open(t, fresh())
		r, err := from.Begin(inventedHeader(0))
		if err != nil {
			t.Fatal(err)
		}
		events := inventedEvents(0, 10)
		if err := r.Append(events[:4]...); err != nil {
			t.Fatal(err)
		}
		early := export(t, from, 0)
		if err := r.Append(events[4:]...); err != nil {
			t.Fatal(err)
		}
		if err := r.Finish(inventedSummary); err != nil {
			t.Fatal(err)
		}
		late := export(t, from, 0)

		to := open(t, fresh())
		importText(t, to, early)
		if got := importText(t, to, late); got.Events != 6 || len(got.Problems) > 0 {
			t.Errorf("the rest: %+v, want 6 events", got)
		}
		wantRun(t, to, 0, 10)
		if got := importText(t, to, early); got.Events != 0 || got.Known != 1 {
			t.Errorf("the early part again: %+v, want nothing changed", got)
		}
		wantRun(t, to, 0, 10)
	})
}

func TestNonsenseIsRefusedRowByRow(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		text := export(t, store(t, fresh(), 1, 4), 0)
		lines := strings.Split(strings.TrimSpace(text), "\n") // header, four events, summary
		change := func(line int, from, to string) string {
			changed := append([]string{}, lines...)
			if changed[line-1] = strings.Replace(lines[line-1], from, to, 1); changed[line-1] == lines[line-1] {
				t.Fatalf("line %d has no %q", line, from)
			}
			return strings.Join(changed, "\n")
		}
		for _, c := range []struct{ name, text, want string }{
			{"no run", lines[1], "line 1: no run has begun"},
			{"not JSON", change(3, "{", ""), "line 3: this is not a JSON object"},
			{"unknown key", change(3, `"kind"`, `"sort"`), `line 3: this is no event of a run: json: unknown field "sort"`},
			{"a gap", change(3, `"seq":2`, `"seq":7`), "line 3: seq is 7 where 2 is due"},
			{"seq 0", change(2, `"seq":1`, `"seq":0`), "line 2: this is no event of a run: seq must be 1 or more"},
			{"before the run", change(3, `"at_ns":`, `"at_ns":-`), "line 3: at_ns is -"},
			{"a tick", change(3, `"kind":"`, `"kind":"tick`), `line 3: kind "tick`},
			{"a value that is no number", change(3, `"value":`, `"value":"12","x":`), "line 3: this is no event of a run"},
			{"other format", change(1, `"kickover_run":1`, `"kickover_run":2`), "line 1: kickover_run is 2, this version reads 1"},
			{"no id", change(1, `"id":"INVENTEDRUN`, `"id":"","x":"`), "line 1: this header cannot be read"},
			{"short id", change(1, inventedHeader(0).ID, "7"), "line 1: id must have 16 to 64 characters"},
			{"no flow", change(1, `"flow":"cold"`, `"flow":""`), "line 1: aircraft and flow must be named"},
			{"no date", change(1, "2026-", "0001-"), "line 1: started must lie between"},
			{"cut short", strings.Join(lines[:4], "\n"), "line 1: the header promises 4 events and 3 follow"},
			{"an event after the end", strings.Join(append(append([]string{}, lines...), lines[1]), "\n"), "line 7: an event after the summary"},
			{"two ends", text + lines[5], "line 7: a second summary"},
			{"negative attempts", change(6, `"attempts":`, `"attempts":-`), "line 6: a summary's numbers must not be negative"},
			{"something follows", change(6, "}", "} 1"), "line 6: this is not a JSON object"},
		} {
			t.Run(c.name, func(t *testing.T) {
				to := open(t, fresh())
				sound := strings.ReplaceAll(text, inventedHeader(0).ID, inventedHeader(1).ID)
				got := importText(t, to, c.text+"\n"+sound)
				if len(got.Problems) == 0 || !strings.HasPrefix(got.Problems[0].String(), c.want) {
					t.Errorf("problems %v, want %q", got.Problems, c.want)
				}
				if list, err := to.Runs(record.Filter{}, record.Page{}); err != nil || len(list) != 1 || list[0].Header.ID != inventedHeader(1).ID {
					t.Errorf("%d runs are stored, %v; want the sound one only", len(list), err)
				}
			})
		}
	})
}

func TestARunThatAFileHoldsTwiceIsTakenOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		text := export(t, store(t, record.InMemory, 2, 4), 0) + export(t, store(t, record.InMemory, 2, 4), 1)
		to := open(t, fresh())
		if got := importText(t, to, text+text); got.Added != 2 || got.Known != 2 || got.Events != 8 || len(got.Problems) > 0 {
			t.Errorf("%+v, want 2 added and 2 known", got)
		}
		wantRun(t, to, 1, 4)
	})
}

func TestADifferentRunWithTheSameIDIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := store(t, fresh(), 1, 4)
		text := strings.Replace(export(t, s, 0), `"seq":2,"at_ns":`, `"seq":2,"at_ns":1`, 1)
		got := importText(t, s, text)
		if got.Refused != 1 || len(got.Problems) != 1 || !strings.HasPrefix(got.Problems[0].String(), "line 1: a different run with this id") {
			t.Errorf("%+v, want it refused", got)
		}
		wantRun(t, s, 0, 4)
	})
}

// Whatever is imported is exported so that another store takes it as it is.
func FuzzImport(f *testing.F) {
	f.Add(export(f, store(f, record.InMemory, 1, 4), 0))
	f.Add(`{"kickover_run":1,"id":"0123456789abcdef","started":"2026-01-01T00:00:00Z","events":1,"aircraft":"a","flow":"f","seed":"1"}` + "\n" +
		`{"seq":1,"at_ns":0,"kind":"reading","subject":"rpm","value":"7ff8000000000001"}` + "\n" + `{"outcome":"started"}`)
	// One store for all, so that an attempt costs little; each run is deleted.
	a, b := open(f, record.InMemory), open(f, record.InMemory)
	f.Fuzz(func(t *testing.T, text string) {
		if _, err := a.Import(strings.NewReader(text)); err != nil && !strings.Contains(err.Error(), "token too long") {
			t.Fatal(err)
		}
		list, err := a.Runs(record.Filter{}, record.Page{Limit: 1000})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range list {
			var first, second strings.Builder
			if err := a.Export(&first, l.Header.ID); err != nil {
				t.Fatal(err)
			}
			if got := importText(t, b, first.String()); got.Added != 1 {
				t.Fatalf("%s\nis not taken: %+v", first.String(), got)
			}
			if err := b.Export(&second, l.Header.ID); err != nil || second.String() != first.String() {
				t.Fatalf("%s\nbecame\n%s (%v)", first.String(), second.String(), err)
			}
			for _, s := range []*record.Store{a, b} {
				if err := s.Delete(l.Header.ID); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}
