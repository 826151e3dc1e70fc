package record_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/proficiency"
	"kickover/procedure/record"
	"kickover/procedure/record/postgrestest"
)

// reportQuantiles adds the median and the 99th percentile to a benchmark.
func reportQuantiles(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	at := func(share float64) float64 {
		return float64(took[int(share*float64(len(took)-1))]) / float64(time.Microsecond)
	}
	b.ReportMetric(at(.5), "µs-p50")
	b.ReportMetric(at(.99), "µs-p99")
}

// How long until one event is on the disk.
func BenchmarkAppendDurable(b *testing.B) {
	s := open(b, filepath.Join(b.TempDir(), "runs.db"))
	r, err := s.Begin(inventedHeader(0))
	if err != nil {
		b.Fatal(err)
	}
	events := inventedEvents(0, b.N)
	took := make([]time.Duration, b.N)
	b.ResetTimer()
	for i, e := range events {
		began := time.Now()
		if err := r.Append(e); err != nil {
			b.Fatal(err)
		}
		took[i] = time.Since(began)
	}
	reportQuantiles(b, took)
}

// How long a live run is held up by handing over an event, and how many events
// a second reach the disk when they come without pause.
func BenchmarkJournalAppend(b *testing.B) {
	s := open(b, filepath.Join(b.TempDir(), "runs.db"))
	j := s.Journal(inventedHeader(0), record.JournalOptions{})
	events := inventedEvents(0, b.N)
	took := make([]time.Duration, b.N)
	b.ResetTimer()
	for i, e := range events {
		began := time.Now()
		if err := j.Append(e); err != nil {
			b.Fatal(err)
		}
		took[i] = time.Since(began)
	}
	if err := j.Close(context.Background()); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "durable-events/s")
	reportQuantiles(b, took)
}

// studentsRuns is how many runs each invented student has: with more runs in a
// store there are more students.
const studentsRuns = 1000

func studentOf(n, runs int) string {
	return fmt.Sprintf("INVENTEDSTUDENT%06d", n%max(1, runs/studentsRuns))
}

// inventedSteps are as many as a cold start has.
func inventedSteps(n int) []record.Step {
	random := rand.New(rand.NewPCG(uint64(n), 2))
	steps := make([]record.Step, 18)
	for i := range steps {
		elapsed := time.Duration(2e9 + 5e8*random.NormFloat64())
		steps[i] = record.Step{
			ID: procedure.StepID(fmt.Sprintf("step-%d", i)), Title: fmt.Sprintf("The title of step %d", i), Kind: procedure.StepSet,
			Criticality: 1 + i%3, Verdict: procedure.OnTime, Window: procedure.Window{Ideal: 2 * time.Second, Max: 5 * time.Second},
			Begin: time.Duration(i) * 4 * time.Second, Elapsed: elapsed, Hesitation: elapsed / 2,
		}
	}
	return steps
}

// writeRuns writes so many runs of 40 events as JSON Lines.
func writeRuns(w io.Writer, runs int) error {
	buffered := bufio.NewWriterSize(w, 1<<20)
	for n := range runs {
		l := record.Listing{Header: inventedHeader(n), Finished: true, Summary: inventedSummary}
		l.Header.Format, l.Header.Person, l.Summary.Steps = record.Format, studentOf(n, runs), inventedSteps(n)
		if n%50 == 0 {
			l.Summary.Outcome = procedure.Abandoned
		}
		if err := record.WriteRun(buffered, l, inventedEvents(n, 40)); err != nil {
			return err
		}
	}
	return buffered.Flush()
}

// filled gives a store with so many runs.
func filled(b *testing.B, path string, runs int) *record.Store {
	b.Helper()
	s := open(b, path)
	out, in := io.Pipe()
	go func() { in.CloseWithError(writeRuns(in, runs)) }()
	got, err := s.Import(out)
	if err != nil || got.Added != runs {
		b.Fatalf("%+v, %v", got, err)
	}
	return s
}

// eachDatabase runs a benchmark on both, the server's with its disk's confirmation.
func eachDatabase(b *testing.B, bench func(b *testing.B, fresh func() string)) {
	postgrestest.Durable = true
	b.Run("SQLite", func(b *testing.B) {
		bench(b, func() string { return filepath.Join(b.TempDir(), "runs.db") })
	})
	b.Run("PostgreSQL", func(b *testing.B) {
		bench(b, func() string { return postgrestest.DSN(b) })
	})
}

// How many events a second are taken in from a file, while others are there.
func BenchmarkImport(b *testing.B) {
	const runs = 2500
	var text bytes.Buffer
	if err := writeRuns(&text, runs); err != nil {
		b.Fatal(err)
	}
	eachDatabase(b, func(b *testing.B, fresh func() string) {
		for b.Loop() {
			s := open(b, fresh())
			if got, err := s.Import(bytes.NewReader(text.Bytes())); err != nil || got.Added != runs {
				b.Fatalf("%+v, %v", got, err)
			}
		}
		b.ReportMetric(float64(b.N)*runs*40/b.Elapsed().Seconds(), "events/s")
	})
}

// What a person waits for, and how it grows with what is stored.
func BenchmarkStore(b *testing.B) {
	eachDatabase(b, func(b *testing.B, fresh func() string) {
		for _, runs := range []int{1000, 10_000, 100_000} {
			b.Run(fmt.Sprint(runs), func(b *testing.B) {
				path := fresh()
				began := time.Now()
				s := filled(b, path, runs)
				b.Logf("filled with %d runs, %.0f events/s", runs, 40*float64(runs)/time.Since(began).Seconds())
				benchLists(b, s)
				benchStudent(b, s, studentOf(0, runs))
				b.Run("load-one", func(b *testing.B) {
					for b.Loop() {
						if _, _, err := s.Run(inventedHeader(runs / 2).ID); err != nil {
							b.Fatal(err)
						}
					}
				})
				b.Run("open", func(b *testing.B) {
					for b.Loop() {
						again, err := record.Open(path)
						if err != nil {
							b.Fatal(err)
						}
						again.Close()
					}
				})
			})
		}
	})
}

// What the check of a file costs that is just small enough for one at each start.
func BenchmarkOpenChecked(b *testing.B) {
	path := filepath.Join(b.TempDir(), "runs.db")
	if err := filled(b, path, 400).Close(); err != nil {
		b.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Size() > 2<<20 {
		b.Fatalf("%v, %v: the file is too large to be checked", info, err)
	}
	for b.Loop() {
		s, err := record.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

func benchLists(b *testing.B, s *record.Store) {
	for _, c := range []struct {
		name   string
		filter record.Filter
	}{
		{"all", record.Filter{}},
		{"one-person", record.Filter{Person: studentOf(0, 1)}},
		{"one-aircraft", record.Filter{Aircraft: "brindle-180"}},
		{"one-flow", record.Filter{Aircraft: "brindle-180", Flow: "warm"}},
		{"flow-of-any-aircraft", record.Filter{Flow: "warm"}},
		{"phase", record.Filter{Phase: procedure.Evaluate}},
		{"rare-outcome", record.Filter{Outcome: procedure.Abandoned}},
		{"phase-that-none-has", record.Filter{Phase: procedure.Explain}},
		{"phase-and-outcome-that-none-has", record.Filter{Phase: procedure.Evaluate, Outcome: procedure.EndUnsafe}},
		{"flow-and-outcome-that-none-has", record.Filter{Flow: "warm", Outcome: procedure.EndUnsafe}},
		{"flow-that-none-has", record.Filter{Flow: "none"}}, // the worst: all of an index is read
	} {
		b.Run("first-page/"+c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Runs(c.filter, record.Page{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A look at all the runs of one student, and at those of one flow with all that
// is made of them.
func benchStudent(b *testing.B, s *record.Store, student string) {
	b.Run("history", func(b *testing.B) {
		for b.Loop() {
			if list, err := s.History(student, record.Filter{}); err != nil || len(list) != studentsRuns {
				b.Fatalf("%d runs, %v", len(list), err)
			}
		}
	})
	b.Run("debrief", func(b *testing.B) {
		for b.Loop() {
			list, err := s.History(student, record.Filter{Aircraft: "brindle-180", Flow: "cold"})
			if err != nil || len(list) < studentsRuns/4 {
				b.Fatalf("%d runs, %v", len(list), err)
			}
			if report := proficiency.Of(observed(list)); len(report.Steps) != 18 {
				b.Fatalf("%d steps", len(report.Steps))
			}
		}
	})
}

func observed(list []record.Listing) []proficiency.Run {
	runs := make([]proficiency.Run, len(list))
	for i, l := range list {
		runs[i] = proficiency.Run{At: l.Header.Started, Aircraft: l.Header.Aircraft, Flow: l.Header.Flow, Phase: l.Header.Phase}
		for _, s := range l.Summary.Steps {
			runs[i].Steps = append(runs[i].Steps, proficiency.Step{
				ID: s.ID, Title: s.Title, Kind: s.Kind, Criticality: s.Criticality, Verdict: s.Verdict, Window: s.Window,
				Elapsed: s.Elapsed, Hesitation: s.Hesitation, TakenFor: s.TakenFor,
			})
		}
	}
	return runs
}
